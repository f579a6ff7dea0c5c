"""The sheet for the terminal, and as values."""

from __future__ import annotations

from typing import Any

from fleetcare.show.sheet import Sheet, SheetJob, Visit
from fleetcare.show.sheet_view import JobText, SheetText, VisitText
from fleetcare.show.sheet_why import BoxText
from fleetcare.show.table import wrapped
from fleetcare.show.values import hours, iso
from fleetcare.show.words import ENGLISH, Words

HEAD = (
    "sheet", "on", "engine", "boat", "place", "task", "title", "who", "minutes", "part",
    "conditions", "access", "parts", "cautions", "status", "due_on", "last_done_on",
    "last_done_hours",
)  # fmt: skip


def sheet_text(sheet: SheetText, width: int, words: Words = ENGLISH) -> str:
    """The sheet in lines: what to mind, then engine by engine what to open and what to do."""
    lines = [sheet.title, f"{sheet.summary}. {sheet.as_of}", "", words("For every job")]
    lines += [f"  - {caution}" for caution in sheet.cautions]
    lines += [f"  {sheet.before_all}"]
    if len(sheet.visits) > 1 and sheet.parts:
        lines += ["", f"{words('Fetch first')}: {', '.join(sheet.parts)}"]
    if sheet.left_out:
        lines += ["", words("Planned, and left out"), *(f"  {line}" for line in sheet.left_out)]
    for visit in sheet.visits:
        lines += ["", *_visit(visit, words)]
    return "\n".join(wrapped(line, width) for line in lines)


def _visit(visit: VisitText, words: Words) -> list[str]:
    lines = [
        f"{visit.engine}, {visit.place}: {visit.day}",
        f"  {words('Sheet')} {visit.number}. {visit.work}. {visit.last_read}",
    ]
    if visit.parts:
        lines.append(f"  {words('Fetch first')}: {visit.parts}")
    for hold in visit.holds:
        lines += [f"  {hold.title}", *(f"    {line}" for line in hold.lines)]
    if visit.steps:
        lines.append(f"  {words('To reach it, in this order')}")
    for at, step in enumerate(visit.steps, 1):
        lines.append(f"    {at}. {step.name}, {step.minutes}{'. ' if step.uses else ''}{step.uses}")
        lines += [f"       ! {caution}" for caution in step.cautions]
    if visit.steps:
        lines.append(f"    {visit.closing}")
    lines.append(f"  {words('Jobs, in this order')}")
    for at, job in enumerate(visit.jobs, 1):
        lines += _job(at, job, words)
    if visit.looks:
        lines.append(f"  {words('Before it goes out, and at every start')}")
        lines += [f"    [ ] {look}" for look in visit.looks]
    return lines


def _job(at: int, job: JobText, words: Words) -> list[str]:
    lines = [f"    {at}. [ ] {job.title} ({job.task})", f"       {job.who}, {job.minutes}"]
    lines += [f"       ! {caution}" for caution in job.cautions]
    extra = ". ".join(filter(None, (job.parts, job.torque)))
    lines += [f"       {extra}"] if extra else []
    lines += [f"       {line}" for line in job.why]
    if job.boxes:
        boxes = "  ".join(_box(box) for box in job.boxes)
        lines.append(f"       {words('As found: {part} (tick one)', part=job.part)}:  {boxes}")
    lines += [f"       ! {line}" for line in job.stops]
    return [*lines, *(f"       {line}" for line in job.follow_ups)]


def _box(box: BoxText) -> str:
    mark = f" ({box.mark})" if box.mark else ""
    return f"[ ] {box.word}{mark}".replace(" ", "\u00a0")


def sheet_rows(sheet: Sheet) -> list[dict[str, Any]]:
    """The jobs as plain values, in working order."""
    return [_values(sheet, visit, job) for visit in sheet.visits for job in visit.jobs]


def _values(sheet: Sheet, visit: Visit, job: SheetJob) -> dict[str, Any]:
    rule, row = job.rule, job.row
    return {
        "sheet": visit.number,
        "on": sheet.on.isoformat(),
        "engine": visit.engine.name,
        "boat": visit.boat,
        "place": visit.place or None,
        "task": rule.name,
        "title": rule.title,
        "who": rule.who,
        "minutes": rule.minutes,
        "part": rule.part or None,
        "conditions": [item.word for item in job.conditions],
        "access": list(rule.access),
        "parts": [f"{part.count} x {part.item}" for part in rule.parts],
        "cautions": list(rule.cautions),
        "status": None if row is None else row.status,
        "due_on": None if row is None else iso(row.due_on),
        "last_done_on": None if row is None else iso(row.last_done_on),
        "last_done_hours": None if row is None else hours(row.last_done_hours),
    }


def sheet_more(sheet: Sheet) -> dict[str, Any]:
    """What JSON has beside the jobs: the visits with their steps, and what was left out."""
    return {
        "minutes": sheet.minutes,
        "visits": [
            {
                "sheet": visit.number,
                "engine": visit.engine.name,
                "boat": visit.boat,
                "minutes": visit.minutes,
                "access": [step.access.name for step in visit.steps],
                "at_risk": [step.access.name for step in visit.steps if step.at_risk],
                "parts": [{"item": item, "count": count} for item, count in visit.parts],
                "looks": [rule.name for rule in visit.looks],
                "held": any(item.holds for item in visit.standing),
            }
            for visit in sheet.visits
        ],
        "left_out": [
            {"engine": item.engine, "task": item.task, "why": item.why, "on": iso(item.day)}
            for item in sheet.left_out
        ],
    }
