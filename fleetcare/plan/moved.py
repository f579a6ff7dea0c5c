"""What moved against the plan that was kept, job by job, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from fleetcare.due.records import Due
from fleetcare.fleet.days import spoken
from fleetcare.plan.current import is_fulfilled
from fleetcare.plan.load import BOATS, FULL, HOLD, PARTS, Load
from fleetcare.plan.making import Made
from fleetcare.plan.problem import Answer
from fleetcare.plan.records import Moved

Key = tuple[str, str]
NOT_IN_TIME = "its day went by and nothing was logged"
NEW = "came into these days since"
NOT_DUE = "not due any more within these days"
_HINDERED = {
    "closed": "the workshop is closed that day",
    "booked": "the boat is taken that day",
    FULL: "others need the minutes of that day",
    BOATS: "others need the boat places of that day",
    PARTS: "the part is not there that day",
    HOLD: "what holds the engine comes first",
}


def moved_since(
    made: Made, answer: Answer, kept: Mapping[Key, int], rows: Iterable[Due], since: int | None
) -> tuple[Moved, ...]:
    """Every job whose day is another one than in the kept plan, or that is new or gone.

    `kept` are the days (ordinals) of the plan that was made on the day `since`; `rows` the whole
    due list, which tells what was done since then. Without a kept plan (None) nothing moved.
    """
    if since is None:
        return ()
    first, load = made.calendar.first, Load(made.problem, answer)
    found = []
    for number, demand in enumerate(made.demands):
        day, before = answer[number], kept.get(demand.key)
        now = None if day is None else first + day
        if before is not None and is_fulfilled(demand.row, since, before):
            before = None
        if before != now:
            found.append(Moved(*demand.key, before, now, _why(made, load, number, before)))
    planned = {demand.key for demand in made.demands}
    by_key = {(row.engine, row.task): row for row in rows}
    put_off = {(row.engine, row.task) for row in made.put_off}
    for key, before in kept.items():
        if key not in planned and before >= first:
            found.append(
                Moved(*key, before, None, _why_gone(by_key.get(key), key in put_off, since))
            )
    return tuple(found)


def _why(made: Made, load: Load, number: int, before: int | None) -> str:
    if before is None:
        return NEW
    day = before - made.calendar.first
    if day < 0:
        return NOT_IN_TIME
    if day >= made.calendar.days:
        return "its day lies after these days"
    hindered = load.hinders(number, day)
    if hindered == "not allowed":
        return _barred(made, number, day)
    return _HINDERED.get(hindered, "it costs less that way")


def _barred(made: Made, number: int, day: int) -> str:
    """Why a day open and unbooked may not have it: too short for it, or without the part."""
    problem, job = made.problem, made.problem.jobs[number]
    bench = problem.benches[job.engine]
    minutes = sum(step for bit, step in enumerate(bench.steps) if job.access >> bit & 1)
    if job.minutes + minutes > problem.places[bench.place].minutes[day]:
        return "it takes more minutes than that day has"
    return _HINDERED[PARTS]


def _why_gone(row: Due | None, is_put_off: bool, since: int) -> str:
    if row is None:
        return "the engine has no such job any more"
    if row.last_done_on is not None and row.last_done_on >= since:
        return f"done on {spoken(date.fromordinal(row.last_done_on))}"
    if is_put_off:
        return "put off"
    return NOT_DUE
