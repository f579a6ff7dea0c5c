"""The list of a lay-up or launch as text, to read on a phone or to print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from fleetcare.due.records import NO_RECORD, OVERDUE
from fleetcare.flags.season import AFTER_RUNS, BY_CALENDAR, LAY_UP, OF_SEASON, SeasonJob, Work
from fleetcare.fleet.days import spoken
from fleetcare.show.table import NO_BREAK, wrapped

HANDBOOK = "The engine's own handbook, local codes and licensed practice come before this list."


def season_text(
    jobs: Sequence[SeasonJob], engines: Sequence[str], mark: str, on: date, end: date | None,
    total: Work, width: int,
) -> str:  # fmt: skip
    """The whole list: a numbered paragraph a job, then the work, the parts and the cautions."""
    count = len(engines)
    title = "Lay-up" if mark == LAY_UP else "Launch"
    head = f"{title}, {spoken(on)}: {count} {'engine' if count == 1 else 'engines'}"
    if not jobs:
        return wrapped(f"{head}. No job belongs to it that is not done.", width)
    lines = [wrapped(f"{head}, {len(jobs)} {'job' if len(jobs) == 1 else 'jobs'}", width)]
    for at, job in enumerate(jobs, 1):
        lines += ["", *_job_lines(at, job, engines, mark, end, on, width)]
    in_all = f"Work in all: {_hours(total.minutes)}, opening what is to open once"
    lines += ["", wrapped(in_all, width)]
    if total.parts:
        listed = ", ".join(f"{number} × {item}" for item, number in sorted(total.parts.items()))
        lines.append(wrapped(f"Parts in all: {listed}", width))
    lines += ["", "Cautions", *(wrapped(f"- {text}", width) for text in total.cautions)]
    lines.append(wrapped(f"- {HANDBOOK}", width))
    return "\n".join(lines)


def _job_lines(
    at: int, job: SeasonJob, engines: Sequence[str], mark: str, end: date | None, on: date,
    width: int,
) -> list[str]:  # fmt: skip
    harm = f" (leads to {job.leads_to})" if job.leads_to else ""
    lines = [
        wrapped(f"{at:>2} {job.task}{harm}", width),
        wrapped(f"   {job.rule.title}", width),
        wrapped(f"   {_for_whom(job, engines)}", width),
    ]
    more = [_why(job, mark, end, on), *_minutes(job), *_parts(job)]
    lines.append(wrapped(f"   {'; '.join(filter(None, more))}", width))
    return lines


def _for_whom(job: SeasonJob, engines: Sequence[str]) -> str:
    """The engines; all of them in a word, and those that stand badly by name."""
    states = {OVERDUE: "overdue", NO_RECORD: "no record"}
    if len(job.rows) < len(engines) or len(engines) == 1:
        named = [
            f"{row.engine} ({states[row.status]})" if row.status in states else row.engine
            for row in job.rows
        ]
        return _names(named)
    text = f"all {len(engines)}"
    for status, word in states.items():
        badly = [row.engine for row in job.rows if row.status == status]
        if len(badly) == len(engines):
            return f"{text}, {word}"
        if badly:
            text += f"; {word}: {_names(badly)}"
    return text


def _names(names: Iterable[str]) -> str:
    return ", ".join(name.replace(" ", NO_BREAK) for name in names)


def _why(job: SeasonJob, mark: str, end: date | None, on: date) -> str:
    """Why it stands on the list."""
    by = f"due by {spoken(end, on)}" if end is not None else "due"
    words = {OF_SEASON: f"at every {mark}", AFTER_RUNS: "open since its runs", BY_CALENDAR: by}
    return " or ".join(words[kind] for kind in job.kinds)


def _minutes(job: SeasonJob) -> list[str]:
    each = sorted({row.rule.minutes for row in job.rows} - {0})
    if not each:
        return []
    span = str(each[0]) if len(each) == 1 else f"{each[0]}–{each[-1]}"
    access = list(dict.fromkeys(name for row in job.rows for name in row.rule.access))
    opened = f" after {', '.join(access)}" if access else ""
    return [f"{span} min{' each' if len(job.rows) > 1 else ''}{opened}"]


def _parts(job: SeasonJob) -> list[str]:
    parts = [f"{part.count} × {part.item}" for part in job.rule.parts]
    each = " each" if len(job.rows) > 1 else ""
    return [f"parts{each}: {', '.join(parts)}"] if parts else []


def _hours(minutes: int) -> str:
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest} min" if whole and rest else f"{whole} h" if whole else f"{rest} min"
