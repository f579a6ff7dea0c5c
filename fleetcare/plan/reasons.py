"""Why a job has no day, or is late: which limit stands in its way, and whether that is proved."""

from __future__ import annotations

from datetime import date

from fleetcare.fleet.days import spoken
from fleetcare.plan.evaluate import items_of, minutes_of
from fleetcare.plan.load import BOATS, FULL, HOLD, PARTS, Load
from fleetcare.plan.making import Made
from fleetcare.plan.problem import Problem
from fleetcare.plan.records import HELD_FIRST, KEPT
from fleetcare.plan.solve import Solution
from fleetcare.plan.why_late import why_late

OVERDUE = "overdue already"
FIRST_DAY = "this is its first open, unbooked day"
CHEAPER = "sooner would cost more than being late"
FINDABLE = "a longer search may find it an earlier day (--effort)"


def why_unplaced(made: Made, load: Load, number: int) -> str:
    """Which limit leaves a job without a day, in words that tell what could be done about it."""
    problem, answer = made.problem, load.answer
    job = problem.jobs[number]
    held = [
        other.task
        for at, other in enumerate(problem.jobs)
        if other.first and other.engine == job.engine and at != number and answer[at] is None
    ]
    if held and not job.first:
        return f"held: {', '.join(held)} must come first and found no day"
    return _why_never(made, number) or _no_room(made, load, number)


def _why_never(made: Made, number: int) -> str:
    """Why no day at all may have it; nothing where one may."""
    problem, job = made.problem, made.problem.jobs[number]
    if job.allowed:
        return ""
    bench = problem.benches[job.engine]
    place = problem.places[bench.place]
    where = f" at {place.name}" if place.name else ""
    if not any(place.minutes):
        return f"the workshop{where} is closed on every day planned"
    if bench.boat is not None and not place.boats_out:
        return f"no boat may come in{where} (setting boats_out)"
    needed = job.minutes + minutes_of(problem, job.engine, job.access)
    longest = max(place.minutes)
    if needed > longest:
        return f"takes {needed} min with its access, and the longest day{where} has {longest}"
    taken = problem.busy[bench.boat] if bench.boat is not None else frozenset()
    free = [day for day, minutes in enumerate(place.minutes) if minutes and day not in taken]
    if not free:
        return f"{problem.boats[bench.boat or 0]} is taken on every open day"
    if all(place.minutes[day] < needed for day in free):
        return f"takes {needed} min, and no day has so many on which the boat is free"
    return _no_part(made, number)


def _no_part(made: Made, number: int) -> str:
    last = made.problem.days - 1
    short = [
        made.problem.supplies[item].item
        for item, count in items_alone(made.problem, number).items()
        if made.problem.supplies[item].by_day[last] < count
    ]
    day = spoken(date.fromordinal(made.calendar.last))
    return f"no {' and no '.join(short)} by {day}" if short else "too early on every day planned"


def items_alone(problem: Problem, number: int) -> dict[int, int]:
    """What a job uses up of each counted item when it stands alone, its access opened for it."""
    counts: dict[int, int] = {}
    for item, count in items_of(problem, number, problem.jobs[number].access):
        counts[item] = counts.get(item, 0) + count
    return counts


def _no_room(made: Made, load: Load, number: int) -> str:
    """What its days lack: what others took of them, or what no day would better."""
    problem, job = made.problem, made.problem.jobs[number]
    place = problem.places[problem.benches[job.engine].place]
    where = f" at {place.name}" if place.name else ""
    hinders = {load.hinders(number, day) for day in job.allowed}
    told = []
    if FULL in hinders:
        told.append(f"no minutes left{where}")
    if BOATS in hinders:
        told.append(f"no boat place left{where}")
    if PARTS in hinders:
        wanted = items_alone(problem, number)
        names = " or ".join(problem.supplies[item].item for item in wanted)
        told.append(f"no {names} left")
    if HOLD in hinders:
        told.append("what holds the engine comes first")
    return "; ".join(told) or FINDABLE


def why_is_late(made: Made, solution: Solution, load: Load, number: int) -> tuple[str, bool]:
    """Why a job is late, and whether it is proved that it must be.

    Proved is a job with no day in time, and every late precursor where no plan has fewer.
    """
    problem, job = made.problem, made.problem.jobs[number]
    in_time = [day for day in job.allowed if day <= (job.due or 0)]
    row = made.demands[number].row
    if not in_time and (row.due_on is None or row.due_on < made.calendar.first):
        return _overdue(load, number), True
    if any(not load.hinders(number, day) for day in in_time) and not _stays(load, number):
        return (FINDABLE if job.precursor else CHEAPER), False
    why = why_late(problem, solution.answer, number, solution.least_late)
    return why.reason, why.proved


def _stays(load: Load, number: int) -> bool:
    """Whether the job keeps the near day that the kept plan has for it."""
    kept = load.problem.kept[number] if load.problem.kept else None
    return kept is not None and kept < load.problem.frozen and kept == load.answer[number]


def _overdue(load: Load, number: int) -> str:
    """Of a job that was overdue, or without record, before the plan began: why on this day."""
    job, on = load.problem.jobs[number], load.answer[number]
    earlier = [day for day in job.allowed if on is None or day < on]
    if not job.allowed or on is None:
        return OVERDUE
    if _stays(load, number):
        return f"{OVERDUE}; {KEPT}"
    if not earlier:
        return f"{OVERDUE}; {FIRST_DAY}"
    hinders = {load.hinders(number, day) for day in earlier}
    if "" in hinders:
        return f"{OVERDUE}; {FINDABLE if job.precursor else CHEAPER}"
    if HOLD in hinders:
        return f"{OVERDUE}; {HELD_FIRST}"
    lacking = (("minutes", FULL), ("boat place", BOATS), ("part", PARTS))
    names = " or ".join(name for name, hinder in lacking if hinder in hinders)
    return f"{OVERDUE}; no {names} left on the days before"
