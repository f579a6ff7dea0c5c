"""One place's share of a problem, in the form that the search reads fast.

Jobs and engines have numbers of their own here, in an order that depends on their names and not
on the order of rows. Everything that is to be made small (the late precursors, their days, the
jobs left out, the cost, and last the days themselves, so that of equal plans the earlier stands)
is folded into one whole number, each weighing more than all after it together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleetcare.plan.evaluate import days_late, items_of, minutes_of, name_of
from fleetcare.plan.problem import Answer, Problem

NEVER = -1


@dataclass(frozen=True, slots=True)
class Weights:
    """What one unit of each aim weighs: of cost, of jobs left out, of days late, of lateness."""

    cost: int
    left_out: int
    day: int
    late: int

    def unfold(self, folded: int) -> Worth:
        """The aims apart again."""
        late, rest = divmod(folded, self.late)
        days, rest = divmod(rest, self.day)
        left_out, rest = divmod(rest, self.left_out)
        return Worth(late, days, left_out, rest // self.cost)


@dataclass(frozen=True, slots=True)
class Worth:
    """What stands in a folded number: late precursors, their days, jobs left out, the cost."""

    late: int
    days: int
    left_out: int
    cost: int


@dataclass(frozen=True, slots=True)
class Case:
    """What may be placed where, what it costs, and what there is of minutes, boats and supplies.

    By job: its engine, access, minutes, `choices` (cost and day, dearest last), `at` (cost by day,
    NEVER where barred), `leaving` (the cost of no day), `uses` of scarce items, `tied` (supplies or
    a hold must be asked), `stays` (its day, or NEVER). By boat: its `engines`. By engine: `boat`
    (-1 without), `jobs`, `first` (those that hold it), `opening` (minutes by access), `opens`
    (scarce items by bit). `slack` is what is left of scarce items by day; `numbers` are the jobs'
    in the problem.
    """

    days: int
    numbers: tuple[int, ...]
    engine: tuple[int, ...]
    access: tuple[int, ...]
    minutes: tuple[int, ...]
    choices: tuple[tuple[tuple[int, int], ...], ...]
    at: tuple[tuple[int, ...], ...]
    leaving: tuple[int, ...]
    uses: tuple[tuple[tuple[int, int], ...], ...]
    tied: tuple[bool, ...]
    stays: tuple[int, ...]
    precursor: tuple[bool, ...]
    boat: tuple[int, ...]
    engines: tuple[tuple[int, ...], ...]
    jobs: tuple[tuple[int, ...], ...]
    first: tuple[tuple[int, ...], ...]
    opening: tuple[tuple[int, ...], ...]
    opens: tuple[tuple[tuple[tuple[int, int], ...], ...], ...]
    capacity: tuple[int, ...]
    room: int
    slack: tuple[tuple[int, ...], ...]
    boat_day: int
    minute: int
    weights: Weights


def weights_of(problem: Problem) -> Weights:
    """Weights under which each aim outweighs all that come after it."""
    jobs = problem.jobs
    dearest = sum(
        max((*job.costs, job.unplaced))
        + problem.boat_day
        + problem.moving
        + 100 * sum(problem.benches[job.engine].steps)
        for job in jobs
    )
    cost = len(jobs) * problem.days + 1
    left_out = cost * (dearest + 1)
    day = left_out * (len(jobs) + 1)
    return Weights(cost, left_out, day, day * (len(jobs) * problem.days + 1))


def places_apart(problem: Problem) -> list[tuple[int, ...]]:
    """The jobs of each place, by name of place; within it by engine and task."""
    jobs = sorted(range(len(problem.jobs)), key=lambda job: _order(problem, job))
    by_place: dict[int, list[int]] = {}
    for job in jobs:
        by_place.setdefault(problem.benches[problem.jobs[job].engine].place, []).append(job)
    places = sorted(by_place, key=lambda place: problem.places[place].name)
    return [tuple(by_place[place]) for place in places]


def slack_beside(problem: Problem, answer: Answer) -> dict[int, tuple[int, ...]]:
    """What jobs with a day leave of each item by day, for uses on that day or later."""
    left = {item: list(supply.by_day) for item, supply in enumerate(problem.supplies)}
    opened: dict[tuple[int, int], int] = {}
    for job, day in enumerate(answer):
        if day is None:
            continue
        access = problem.jobs[job].access
        before = opened.get((problem.jobs[job].engine, day), 0)
        opened[problem.jobs[job].engine, day] = before | access
        for item, count in items_of(problem, job, access & ~before):
            for later in range(day, problem.days):
                left[item][later] -= count
    for by_day in left.values():
        for day in range(problem.days - 2, -1, -1):
            by_day[day] = min(by_day[day], by_day[day + 1])
    return {item: tuple(by_day) for item, by_day in left.items()}


def case_of(problem: Problem, numbers: Sequence[int], beside: Answer, stay: frozenset[int]) -> Case:
    """The case of all jobs of one place, at least one of them.

    `beside` are the days of jobs at other places, whose supplies are not there for these; `stay`
    the jobs that stay on their kept day.
    """
    slack = slack_beside(problem, beside) if problem.supplies else {}
    scarce = _scarce(problem, numbers, slack)
    engines = list(dict.fromkeys(problem.jobs[number].engine for number in numbers))
    engine_of = {engine: place for place, engine in enumerate(engines)}
    boats = [problem.benches[engine].boat for engine in engines]
    hulls = (boat for boat in dict.fromkeys(boats) if boat is not None)
    boat_of = {boat: place for place, boat in enumerate(hulls)}
    weights = weights_of(problem)
    at = tuple(_costs(problem, number, weights) for number in numbers)
    place = problem.places[problem.benches[engines[0]].place]
    held = {problem.jobs[number].engine for number in numbers if problem.jobs[number].first}
    opens = tuple(_opens(problem, engine, scarce) for engine in engines)
    uses = tuple(_kept(problem.jobs[number].uses, scarce) for number in numbers)
    by_engine: list[list[int]] = [[] for _ in engines]
    for job, number in enumerate(numbers):
        by_engine[engine_of[problem.jobs[number].engine]].append(job)
    tables: dict[tuple[int, ...], tuple[int, ...]] = {}
    return Case(
        days=problem.days,
        numbers=tuple(numbers),
        engine=tuple(engine_of[problem.jobs[number].engine] for number in numbers),
        access=tuple(problem.jobs[number].access for number in numbers),
        minutes=tuple(problem.jobs[number].minutes for number in numbers),
        choices=_choices(at),
        at=at,
        leaving=tuple(_leaving(problem, number, weights) for number in numbers),
        uses=uses,
        tied=tuple(
            bool(uses[job])
            or problem.jobs[number].engine in held
            or any(opens[engine_of[problem.jobs[number].engine]])
            for job, number in enumerate(numbers)
        ),
        stays=_stays(problem, numbers, stay),
        precursor=_precursors(problem, numbers),
        boat=tuple(-1 if boat is None else boat_of[boat] for boat in boats),
        engines=tuple(
            tuple(engine for engine, boat in enumerate(boats) if boat == hull) for hull in boat_of
        ),
        jobs=tuple(map(tuple, by_engine)),
        first=tuple(
            tuple(job for job in jobs if problem.jobs[numbers[job]].first) for jobs in by_engine
        ),
        opening=tuple(_opening(problem, engine, tables) for engine in engines),
        opens=opens,
        capacity=place.minutes,
        room=place.boats_out,
        slack=tuple(slack[item] for item in scarce),
        boat_day=problem.boat_day * weights.cost,
        minute=100 * weights.cost,
        weights=weights,
    )


def _choices(at: Sequence[Sequence[int]]) -> tuple[tuple[tuple[int, int], ...], ...]:
    """The cost and day of every day a job may stand on, cheapest first."""
    return tuple(
        tuple(sorted((cost, day) for day, cost in enumerate(costs) if cost != NEVER))
        for costs in at
    )


def _stays(problem: Problem, numbers: Sequence[int], stay: frozenset[int]) -> tuple[int, ...]:
    """The day each job stays on, NEVER where it may move."""
    return tuple(
        day if number in stay and (day := problem.kept[number]) is not None else NEVER
        for number in numbers
    )


def _precursors(problem: Problem, numbers: Sequence[int]) -> tuple[bool, ...]:
    """Which jobs are precursors that can be late."""
    return tuple(
        problem.jobs[number].precursor and problem.jobs[number].due is not None
        for number in numbers
    )


def _order(problem: Problem, job: int) -> tuple[object, ...]:
    what = problem.jobs[job]
    due = problem.days if what.due is None else what.due
    boat = problem.benches[what.engine].boat
    hull = "" if boat is None else problem.boats[boat]
    rest = (what.first, what.precursor, what.minutes, what.access, what.allowed, what.costs)
    kept = problem.kept[job] if problem.kept else None
    return (hull, *name_of(problem, job), due, *rest, what.uses, -1 if kept is None else kept)


def _costs(problem: Problem, number: int, weights: Weights) -> tuple[int, ...]:
    job = problem.jobs[number]
    bench = problem.benches[job.engine]
    minutes = problem.places[bench.place].minutes
    alone = job.minutes + minutes_of(problem, job.engine, job.access)
    busy = problem.busy[bench.boat] if bench.boat is not None else frozenset()
    found = [NEVER] * problem.days
    for day in job.allowed:
        if minutes[day] and alone <= minutes[day] and day not in busy:
            cost = job.costs[day] + _moved(problem, number, day)
            found[day] = cost * weights.cost + day + _lateness(problem, number, day, weights)
    return tuple(found)


def _leaving(problem: Problem, number: int, weights: Weights) -> int:
    cost = problem.jobs[number].unplaced + _moved(problem, number, None)
    return cost * weights.cost + weights.left_out + _lateness(problem, number, None, weights)


def _lateness(problem: Problem, number: int, day: int | None, weights: Weights) -> int:
    after = days_late(problem, number, day)
    if not problem.jobs[number].precursor or not after:
        return 0
    return weights.late + after * weights.day


def _moved(problem: Problem, number: int, day: int | None) -> int:
    kept = problem.kept[number] if problem.kept else None
    return 0 if kept is None or kept == day else problem.moving


def _opening(
    problem: Problem, engine: int, tables: dict[tuple[int, ...], tuple[int, ...]]
) -> tuple[int, ...]:
    steps = problem.benches[engine].steps
    if steps not in tables:
        tables[steps] = tuple(
            minutes_of(problem, engine, access) for access in range(1 << len(steps))
        )
    return tables[steps]


def _scarce(
    problem: Problem, numbers: Iterable[int], slack: dict[int, tuple[int, ...]]
) -> dict[int, int]:
    """The items that could run out, numbered in the order of their names."""
    most: dict[int, int] = {}
    for number in numbers:
        for item, count in items_of(problem, number, problem.jobs[number].access):
            most[item] = most.get(item, 0) + count
    short = [item for item, count in most.items() if count > slack[item][0]]
    short.sort(key=lambda item: problem.supplies[item].item)
    return {item: place for place, item in enumerate(short)}


def _kept(
    pairs: tuple[tuple[int, int], ...], scarce: dict[int, int]
) -> tuple[tuple[int, int], ...]:
    counts: dict[int, int] = {}
    for item, count in pairs:
        if item in scarce and count:
            counts[scarce[item]] = counts.get(scarce[item], 0) + count
    return tuple(sorted(counts.items()))


def _opens(
    problem: Problem, engine: int, scarce: dict[int, int]
) -> tuple[tuple[tuple[int, int], ...], ...]:
    opening = problem.opening[engine] if problem.opening else ()
    return tuple(_kept(pairs, scarce) for pairs in opening)
