"""Every answer of a small problem tried in turn, with arithmetic that shares nothing.

`least` gives the best key that any answer has which keeps all limits.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from itertools import product

from fleetcare.plan.problem import Problem

Key = tuple[int, int, int, int]


def stays(problem: Problem) -> dict[int, int]:
    """The near days of a kept plan that still fit together: what holds first, then by day, name."""
    chosen: dict[int, int] = {}
    wishes = []
    for number, day in enumerate(problem.kept):
        if day is not None and day < problem.frozen and day in problem.jobs[number].allowed:
            one = problem.jobs[number]
            wishes.append((not one.first, day, problem.benches[one.engine].name, one.task, number))
    for later, day, _, _, number in sorted(wishes):
        holders = [
            other
            for other, one in enumerate(problem.jobs)
            if one.first and one.engine == problem.jobs[number].engine
        ]
        if later and any(chosen.get(other, problem.days) > day for other in holders):
            continue
        if _room_for(problem, {**chosen, number: day}):
            chosen[number] = day
    return chosen


def _room_for(problem: Problem, days: dict[int, int]) -> bool:
    work: Counter[tuple[int, int]] = Counter()
    hulls: dict[tuple[int, int], set[int]] = defaultdict(set)
    for number, day in days.items():
        one = problem.jobs[number]
        bench = problem.benches[one.engine]
        work[bench.place, day] += one.minutes
        if bench.boat is not None:
            hulls[bench.place, day].add(bench.boat)
    for engine, day, bit in _open(problem, days):
        bench = problem.benches[engine]
        work[bench.place, day] += bench.steps[bit]
    return (
        all(taken <= problem.places[at].minutes[day] for (at, day), taken in work.items())
        and all(len(inside) <= problem.places[at].boats_out for (at, _), inside in hulls.items())
        and _supplied(problem, days)
    )


def _open(problem: Problem, days: dict[int, int]) -> set[tuple[int, int, int]]:
    return {
        (problem.jobs[number].engine, day, bit)
        for number, day in days.items()
        for bit in range(8)
        if problem.jobs[number].access & 1 << bit
    }


def _supplied(problem: Problem, days: dict[int, int]) -> bool:
    taken: list[tuple[int, int, int]] = []
    for number, day in days.items():
        taken += [(day, item, count) for item, count in problem.jobs[number].uses]
    for engine, day, bit in _open(problem, days):
        pairs = problem.opening[engine][bit] if problem.opening else ()
        taken += [(day, item, count) for item, count in pairs]
    return all(
        sum(count for on, what, count in taken if what == item and on <= day) <= supply.by_day[day]
        for item, supply in enumerate(problem.supplies)
        for day in range(problem.days)
    )


def _lawful(problem: Problem, days: dict[int, int]) -> bool:
    for number, one in enumerate(problem.jobs):
        if one.first:
            on = days.get(number)
            for other, day in days.items():
                if problem.jobs[other].engine != one.engine or problem.jobs[other].first:
                    continue
                if on is None or day < on:
                    return False
    return _room_for(problem, days)


def key_of(problem: Problem, days: dict[int, int]) -> Key:
    """The key of an answer given as the days of those that have one."""
    late = after = out = 0
    paid = 0
    for number, one in enumerate(problem.jobs):
        day = days.get(number)
        stands = problem.days if day is None else day
        if one.precursor and one.due is not None and stands > one.due:
            late += 1
            after += stands - one.due
        if day is None:
            out += 1
            paid += one.unplaced
        else:
            paid += one.costs[day]
        if problem.kept and problem.kept[number] not in (None, day):
            paid += problem.moving
    in_days = {(problem.benches[problem.jobs[n].engine].boat, day) for n, day in days.items()}
    paid += problem.boat_day * sum(boat is not None for boat, _ in in_days)
    opened = _open(problem, days)
    paid += 100 * sum(problem.benches[engine].steps[bit] for engine, _, bit in opened)
    return late, after, out, paid


def least(problem: Problem) -> Key:
    """The least key of all answers."""
    fixed = stays(problem)
    choices = [
        (fixed[number],) if number in fixed else (None, *one.allowed)
        for number, one in enumerate(problem.jobs)
    ]
    best: Key | None = None
    for answer in product(*choices):
        days = {number: day for number, day in enumerate(answer) if day is not None}
        key = key_of(problem, days)
        if (best is None or key < best) and _lawful(problem, days):
            best = key
    assert best is not None
    return best
