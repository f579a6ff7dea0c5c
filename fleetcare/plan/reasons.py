"""Why a job has no day, or is late: which limit stands in its way, and whether that is proved."""

from __future__ import annotations

from datetime import date

from fleetcare.fleet.days import spoken
from fleetcare.plan.evaluate import evaluate, minutes_of
from fleetcare.plan.load import HOLD, PARTS, Load
from fleetcare.plan.making import Made
from fleetcare.plan.problem import Answer
from fleetcare.plan.records import HELD_FIRST, NO_DAY, NO_PART, NO_ROOM, TOO_LONG
from fleetcare.plan.solve import Solution

OVERDUE = "overdue already"
FIRST_DAY = "this is its first open, unbooked day"
FULL_BEFORE = "the days before are full"
CHEAPER = "sooner would cost more than being late"


def why_unplaced(made: Made, answer: Answer, number: int) -> str:
    """Which limit leaves a job without a day, in words that tell what could be done about it."""
    problem = made.problem
    job = problem.jobs[number]
    held = [
        other.task
        for at, other in enumerate(problem.jobs)
        if other.first and other.engine == job.engine and at != number and answer[at] is None
    ]
    if held and not job.first:
        return f"held: {', '.join(held)} must come first and found no day"
    return _why_never(made, number) or _no_room(made, number)


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
    problem, job = made.problem, made.problem.jobs[number]
    counts = dict(job.uses)
    opening = problem.opening[job.engine] if problem.opening else ()
    for bit, used in enumerate(opening):
        for item, count in used if job.access >> bit & 1 else ():
            counts[item] = counts.get(item, 0) + count
    short = [
        problem.supplies[item].item
        for item, count in counts.items()
        if problem.supplies[item].by_day[-1] < count
    ]
    last = spoken(date.fromordinal(made.calendar.last))
    return f"no {' and no '.join(short)} by {last}" if short else "too early on every day planned"


def _no_room(made: Made, number: int) -> str:
    place = made.problem.places[made.problem.benches[made.problem.jobs[number].engine].place]
    where = f" at {place.name}" if place.name else ""
    return f"no minutes, boat place or part left{where} on the days it could have"


def why_late(made: Made, solution: Solution, load: Load, number: int) -> tuple[str, bool]:
    """Why a job is late, and whether it is proved that it must be.

    Proved is a job with no day in time, and every late precursor where no plan has fewer.
    """
    problem, job, answer = made.problem, made.problem.jobs[number], solution.answer
    due = job.due or 0
    if not any(day <= due for day in job.allowed):
        return _none_in_time(made, load, number, due), True
    proved = job.precursor and solution.least_late == evaluate(problem, answer).late
    hinders = [load.hinders(number, day) for day in job.allowed if day <= due]
    if "" in hinders:
        return CHEAPER, False
    if HOLD in hinders:
        return HELD_FIRST, proved
    return (NO_PART if PARTS in hinders else NO_ROOM), proved


def _none_in_time(made: Made, load: Load, number: int, due: int) -> str:
    """Why no day in time may have it; of what is overdue already, why not sooner."""
    problem, job = made.problem, made.problem.jobs[number]
    bench = problem.benches[job.engine]
    place = problem.places[bench.place]
    taken = problem.busy[bench.boat] if bench.boat is not None else frozenset()
    is_open = [
        place.minutes[day] for day in range(due + 1) if place.minutes[day] and day not in taken
    ]
    row = made.demands[number].row
    if row.due_on is None or row.due_on < made.calendar.first:
        return _overdue(load, number)
    if not is_open:
        return NO_DAY
    needed = job.minutes + minutes_of(problem, job.engine, job.access)
    return TOO_LONG if needed > max(is_open) else NO_PART


def _overdue(load: Load, number: int) -> str:
    """Of a job that was overdue, or without record, before the plan began: why on this day."""
    job, on = load.problem.jobs[number], load.answer[number]
    earlier = [day for day in job.allowed if on is None or day < on]
    if not job.allowed or on is None:
        return OVERDUE
    if not earlier:
        return f"{OVERDUE}; {FIRST_DAY}"
    hinders = {load.hinders(number, day) for day in earlier}
    if "" in hinders:
        return f"{OVERDUE}; {CHEAPER}"
    return f"{OVERDUE}; {HELD_FIRST if HOLD in hinders else FULL_BEFORE}"
