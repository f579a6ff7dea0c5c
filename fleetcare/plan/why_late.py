"""Why a job is late in an answer, and whether it is proved that it has to be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fleetcare.plan.evaluate import breaks, days_late, evaluate, items_of, minutes_of, staying
from fleetcare.plan.problem import Answer, Problem
from fleetcare.plan.records import HELD_FIRST, KEPT, NO_DAY, NO_PART, NO_ROOM, TOO_LONG


@dataclass(frozen=True, slots=True)
class Why:
    """A reason of `records.py`; `proved` that no plan has this job, or fewer like it, in time."""

    reason: str
    proved: bool


def why_late(problem: Problem, answer: Answer, job: int, least_late: int | None = None) -> Why:
    """The reason of a job that is late in an answer.

    Proved where no day in time may be had at all, and for precursors where the answer has no more
    late ones than `least_late`, the proven least. Raises ValueError for a job that is not late.
    """
    if not days_late(problem, job, answer[job]):
        raise ValueError(f"{problem.jobs[job].task} is not late")
    if job in staying(problem):
        return Why(KEPT, True)
    in_time = [day for day in problem.jobs[job].allowed if day <= (problem.jobs[job].due or 0)]
    if not in_time:
        return Why(_without(problem, job), True)
    least = least_late is not None and evaluate(problem, answer).late == least_late
    proved = problem.jobs[job].precursor and least
    if all(_held(problem, answer, job, day) for day in in_time):
        return Why(HELD_FIRST, proved)
    tried = [breaks(problem, _with(answer, job, day)) for day in in_time]
    parts = {supply.item for supply in problem.supplies}
    short = [any(one.split(": ")[0] in parts for one in found) for found in tried]
    return Why(NO_PART if all(short) else NO_ROOM, proved)


def _without(problem: Problem, job: int) -> str:
    """Why none of the days in time may be had, whatever else is planned."""
    what = problem.jobs[job]
    bench = problem.benches[what.engine]
    minutes = problem.places[bench.place].minutes
    alone = what.minutes + minutes_of(problem, what.engine, what.access)
    if alone > max(minutes, default=0):
        return TOO_LONG
    busy = frozenset() if bench.boat is None else problem.busy[bench.boat]
    free = [
        day
        for day in range(min((what.due or 0) + 1, problem.days))
        if minutes[day] and day not in busy
    ]
    if not free:
        return NO_DAY
    if all(minutes[day] < alone for day in free):
        return NO_ROOM
    return NO_PART if not any(_supplied(problem, job, day) for day in free) else NO_DAY


def _supplied(problem: Problem, job: int, day: int) -> bool:
    counts: dict[int, int] = {}
    for item, count in items_of(problem, job, problem.jobs[job].access):
        counts[item] = counts.get(item, 0) + count
    return all(problem.supplies[item].by_day[day] >= count for item, count in counts.items())


def _held(problem: Problem, answer: Answer, job: int, day: int) -> bool:
    return any(on is None or on > day for on in _firsts(problem, answer, job))


def _firsts(problem: Problem, answer: Answer, job: int) -> Iterator[int | None]:
    what = problem.jobs[job]
    for other, on in zip(problem.jobs, answer, strict=True):
        if other.first and other.engine == what.engine and not what.first:
            yield on


def _with(answer: Answer, job: int, day: int) -> Answer:
    return [day if number == job else on for number, on in enumerate(answer)]
