"""Why a visit stands where it stands: words and values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from fleetcare.fleet.days import spoken
from fleetcare.plan.elsewhere import Elsewhere, VisitWhy
from fleetcare.plan.load import BOATS, FULL, HOLD, PARTS
from fleetcare.plan.making import Made
from fleetcare.show.plan import counted, weekday
from fleetcare.show.table import wrapped
from fleetcare.show.values import iso, percent

NEAR = 3  # days shown before and after the visit's own
HEAD = (
    "engine", "on", "task", "other_day", "hindered", "late_more", "late_days_more", "cost_more",
    "boat_days_more", "access_more", "life_more", "moving_more",
)  # fmt: skip
_WORDS = {
    "booked": "the boat is taken",
    "closed": "closed",
    "not allowed": "too short for it, or a part is not there",
    FULL: "others fill the day",
    BOATS: "no boat place left",
    PARTS: "a part is not there",
    HOLD: "what holds the engine comes first",
}


def why_text(made: Made, visits: Sequence[VisitWhy], width: int) -> str:
    """Each visit: its jobs with their dates, then the days it could have had, and their cost."""
    lines: list[str] = []
    for visit in visits:
        lines += [*_visit(made, visit, width), ""]
    lines += [
        wrapped(line, width)
        for line in (
            "Costs are workshop minutes beside this plan's, all other visits staying where they "
            "are: boat-days, access opened again, life thrown away or run over.",
        )
    ]
    return "\n".join(lines)


def _visit(made: Made, visit: VisitWhy, width: int) -> list[str]:
    bench = made.benches[visit.engine]
    boat = bench.boat or "in store"
    lines = [
        wrapped(
            f"{weekday(visit.on, made.calendar.first)}: {boat}, {bench.engine}, "
            f"{counted(len(visit.jobs), 'job')}",
            width,
        )
    ]
    lines += [wrapped(f"  {_job(made, job, visit.on)}", width) for job in visit.jobs]
    lines.append("  The whole visit on another day:")
    lines += [wrapped(f"    {line}", width) for line in _days(made, visit)]
    alone = [item for item in visit.apart if item[1] is not None]
    if alone and len(visit.jobs) > 1:
        lines.append("  One job of it on its own best day:")
        for job, best in alone:
            assert best is not None
            task = made.problem.jobs[job].task
            lines.append(wrapped(f"    {task}: {_words(best, made.calendar.first)}", width))
    return lines


def _job(made: Made, job: int, on: int) -> str:
    demand, what = made.demands[job], made.problem.jobs[job]
    used = percent(demand.life(on))
    due = demand.row.due_on
    if demand.row.status == "no record":
        when = "no record of when it was done"
    elif due is None:
        when = "no due day within ten years"
    else:
        beside = date.fromordinal(made.calendar.first)
        when = f"due {spoken(date.fromordinal(due), beside)}"
    holds = "; holds the engine" if what.first else ""
    return f"{what.task}: {when}, {used} of its life used by then{holds}"


def _days(made: Made, visit: VisitWhy) -> Iterable[str]:
    """The best other day, those around its own, and what the others have against them."""
    best = visit.best
    before = [day for day in visit.days if day.on < visit.on][-NEAR:]
    after = [day for day in visit.days if day.on > visit.on][:NEAR]
    near = [*before, *after]
    if best is not None and best not in near:
        near = sorted([*near, best], key=lambda day: day.on)
    if not near:
        yield "there is no other open day"
    for day in near:
        mark = " (the best other day)" if day == best else ""
        yield f"{_words(day, made.calendar.first)}{mark}"
    sides = (("before", visit.on.__gt__), ("after", visit.on.__lt__))
    for side, lies in sides:
        rest = [day for day in visit.days if lies(day.on) and day not in near]
        if rest:
            whys = [_WORDS.get(day.hindered, day.hindered) or "no better" for day in rest]
            many = counted(len(rest), "other day")
            yield f"{many} {side} it: {', '.join(dict.fromkeys(whys))}"


def _words(day: Elsewhere, first: int) -> str:
    on = weekday(day.on, first)
    if day.hindered:
        return f"{on}: {_WORDS.get(day.hindered, day.hindered)}"
    told = []
    if day.late > 0:
        told.append(f"{counted(day.late, 'precursor')} more late")
    if day.late < 0:
        told.append(f"{counted(-day.late, 'precursor')} fewer late")
    if day.late_days:
        side = "more" if day.late_days > 0 else "fewer"
        told.append(f"late by {counted(abs(day.late_days), 'day')} {side} in all")
    told.append(f"{_signed(day.cost)} min")
    parts = [
        f"{name} {_signed(value)}"
        for name, value in (
            ("boat-days", day.boat_days), ("access", day.access), ("life", day.jobs),
            ("moving", day.moving),
        )
        if value
    ]  # fmt: skip
    tail = f" ({', '.join(parts)})" if len(parts) > 1 else ""
    return f"{on}: {', '.join(told)}{tail}"


def _signed(hundredths: int) -> str:
    whole = (abs(hundredths) + 50) // 100
    return f"{'-' if hundredths < 0 and whole else '+'}{whole:,}"


def why_rows(made: Made, visits: Sequence[VisitWhy]) -> list[dict[str, Any]]:
    """A row for every other day of each visit, and for each job its best one alone."""
    rows = []
    for visit in visits:
        engine = made.benches[visit.engine].engine
        rows += [_row(engine, visit.on, None, day) for day in visit.days]
        for job, best in visit.apart:
            if best is not None:
                rows.append(_row(engine, visit.on, made.problem.jobs[job].task, best))
    return rows


def _row(engine: str, on: int, task: str | None, day: Elsewhere) -> dict[str, Any]:
    known = not day.hindered
    return {
        "engine": engine,
        "on": iso(on),
        "task": task,
        "other_day": iso(day.on),
        "hindered": _WORDS.get(day.hindered, day.hindered) or None,
        "late_more": day.late if known else None,
        "late_days_more": day.late_days if known else None,
        "cost_more": day.cost / 100 if known else None,
        "boat_days_more": day.boat_days / 100 if known else None,
        "access_more": day.access / 100 if known else None,
        "life_more": day.jobs / 100 if known else None,
        "moving_more": day.moving / 100 if known else None,
    }
