"""What a plan saves on the three invented fleets, against two plain ways of planning.

(a) each job on its due date, its own access opened for it alone; (b) each engine whole on a
weekday of its own, at its shortest interval: by the day its first job is due. Both keep the plan's
own limits (minutes, boats, bookings, holds): where their day is full they take the nearest one that
is not. All three are judged by the one evaluator; (a) is charged the access of every job, though
its days were filled as if it were shared. Bookings are drawn by seed.

`python -m tests.benchmarks.plan_savings` prints it.
"""

from __future__ import annotations

import csv
import random
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

from fleetcare.due.rows import due_and_standing
from fleetcare.log.history import history
from fleetcare.plan.evaluate import Score, breaks, evaluate
from fleetcare.plan.load import Load
from fleetcare.plan.making import Made, Wishes, problem_of
from fleetcare.plan.problem import Answer, Problem
from fleetcare.plan.solve import solve
from fleetcare.plan.workshop import Calendar
from fleetcare.rules.shipped import all_texts, examples_folder, read_book
from fleetcare.usage.outlooks import Forecast
from tests.built import Tables, fleet_of

FLEETS = ("ondrel", "tavvik", "pim")
TODAY = date(2026, 7, 18)  # the invented fleets' today
HORIZON = 60
SEEDS = (1, 2, 3)
BOOKED = 0.35  # the share of days on which a boat is booked: our choice


@dataclass(frozen=True)
class Figures:
    """What a plan comes to: minutes with access, boat-days, late precursors and its whole worth."""

    minutes: int
    boat_days: int
    late: int
    late_days: int
    left_out: int
    cost: int


@cache
def tables(which: str) -> Tables:
    """The four tables of an invented fleet."""
    folder = examples_folder() / which
    return {name: _rows(folder / f"{name}.csv") for name in ("settings", "boats", "engines", "log")}


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@cache
def made(which: str, seed: int, horizon: int = HORIZON) -> Made:
    """The problem of a fleet on its today, boats booked in spells drawn by seed."""
    fleet, entries = fleet_of(tables(which))
    book = read_book(None, set(all_texts(None)))
    past, forecast = history(entries, TODAY), Forecast(book.uses)
    rows, stands = due_and_standing(fleet, past, book, TODAY, None, forecast)
    first = TODAY.toordinal()
    dice = random.Random(f"{which} {seed}")
    taken = {boat: _booked(dice, first, horizon + 1) for boat in sorted(fleet.boats)}
    wishes = Wishes(Calendar(first, horizon + 1, taken))
    return problem_of(fleet, past, book, rows, stands, forecast, wishes)


def _booked(dice: random.Random, first: int, days: int) -> frozenset[int]:
    """Spells of one to five days with free ones between."""
    found: list[int] = []
    day = 0
    while day < days:
        spell = 1 + int(dice.random() * 5)
        if dice.random() < BOOKED * 1.2:
            found += range(first + day, first + min(days, day + spell))
            day += spell
        else:
            day += 1 + int(dice.random() * 3)
    return frozenset(found)


# -- the two plain ways ---------------------------------------------------------------------------


def on_due_dates(problem: Problem) -> tuple[int | None, ...]:
    """Each job on the day it is due, else the nearest that is free, sooner before later."""

    def wish(job: int) -> Sequence[int]:
        due = problem.jobs[job].due
        target = problem.days - 1 if due is None else due
        return sorted(problem.jobs[job].allowed, key=lambda day: (abs(day - target), day > target))

    return _placed(problem, _by_due(problem), wish)


def whole_engines(problem: Problem) -> tuple[int | None, ...]:
    """Each engine whole on its own weekday, the last one before its first job is due."""
    dues: dict[int, int] = {}
    for job in problem.jobs:
        due = problem.days - 1 if job.due is None else job.due
        dues[job.engine] = min(due, dues.get(job.engine, problem.days))

    def wish(job: int) -> Sequence[int]:
        what = problem.jobs[job]
        engine, target = what.engine, dues[what.engine]
        mine = [day for day in what.allowed if _weekday(problem, engine, day)]
        before = sorted((day for day in mine if day <= target), reverse=True)
        after = [day for day in mine if day > target]
        others = [day for day in what.allowed if day not in mine]
        return [*before[:1], *after, *before[1:], *others]

    order = sorted(range(len(problem.jobs)), key=lambda job: (problem.jobs[job].engine,
                   not problem.jobs[job].first, job))  # fmt: skip
    return _placed(problem, order, wish)


def _weekday(problem: Problem, engine: int, day: int) -> bool:
    """Whether a day is the engine's own: the open days of a week go round the engines."""
    place = problem.places[problem.benches[engine].place]
    week = sorted({at % 7 for at, minutes in enumerate(place.minutes) if minutes})
    return bool(week) and day % 7 == week[engine % len(week)]


def _by_due(problem: Problem) -> list[int]:
    """Jobs by the day they are due, what holds an engine before the rest of it."""
    held = {job.engine for job in problem.jobs if job.first}

    def key(number: int) -> tuple[bool, int, int]:
        job = problem.jobs[number]
        waits = job.engine in held and not job.first
        return waits, problem.days if job.due is None else job.due, number

    return sorted(range(len(problem.jobs)), key=key)


def _placed(
    problem: Problem, order: Iterable[int], wish: Callable[[int], Sequence[int]]
) -> tuple[int | None, ...]:
    """One job after another on the first day it wishes for that still takes it."""
    answer: list[int | None] = [None] * len(problem.jobs)
    for job in order:
        load = Load(problem, answer)
        answer[job] = next((day for day in wish(job) if not load.hinders(job, day)), None)
    return tuple(answer)


def alone(problem: Problem) -> Problem:
    """The same problem with every job on a bench of its own, so that no access is shared."""
    benches = tuple(problem.benches[job.engine] for job in problem.jobs)
    jobs = tuple(replace(job, engine=at) for at, job in enumerate(problem.jobs))
    opening = tuple(problem.opening[job.engine] for job in problem.jobs) if problem.opening else ()
    return replace(problem, benches=benches, jobs=jobs, opening=opening)


# -- figures --------------------------------------------------------------------------------------


def figures(problem: Problem, answer: Answer) -> Figures:
    """What an answer comes to."""
    score: Score = evaluate(problem, answer)
    bench = sum(
        job.minutes for job, day in zip(problem.jobs, answer, strict=True) if day is not None
    )
    return Figures(
        bench + score.access // 100, score.boat_days // problem.boat_day, score.late,
        score.late_days, score.left_out, score.cost,
    )  # fmt: skip


def compared(which: str, seed: int, effort: int = 1) -> dict[str, Figures]:
    """A plan and both plain ways, each feasible."""
    problem = made(which, seed).problem
    answers = {
        "plan": solve(problem, effort, True).answer,
        "due dates": on_due_dates(problem),
        "whole engines": whole_engines(problem),
    }
    for name, answer in answers.items():
        assert not breaks(problem, answer), (which, seed, name, breaks(problem, answer)[:3])
    judged = {"due dates": alone(problem)}
    return {name: figures(judged.get(name, problem), answer) for name, answer in answers.items()}


def report(effort: int = 1, seeds: Sequence[int] = SEEDS) -> str:
    """A block for each fleet: sums over the seeds, and what the plan saves."""
    lines = [
        f"plans of {HORIZON} days on the invented fleets, {len(seeds)} draws of bookings, "
        f"effort {effort}:"
    ]
    for which in FLEETS:
        begun = time.process_time()
        seen = [compared(which, seed, effort) for seed in seeds]
        taken = (time.process_time() - begun) / len(seeds)
        jobs = len(made(which, seeds[0]).problem.jobs)
        lines.append(f"  {which}, {jobs} jobs ({taken:.1f} s of CPU each):")
        whole = {name: _summed([one[name] for one in seen]) for name in seen[0]}
        for name, sums in whole.items():
            lines.append(
                f"    {name:14} {sums.minutes:7,} min  {sums.boat_days:4} boat-days  "
                f"{sums.late:4} late precursors by {sums.late_days:5} days  "
                f"{sums.left_out:3} without a day  cost {sums.cost // 100:9,}"
            )
        plan = whole["plan"]
        for name in ("due dates", "whole engines"):
            other = whole[name]
            lines.append(
                f"    saves against {name}: {_share(plan.minutes, other.minutes)} of minutes, "
                f"{_share(plan.boat_days, other.boat_days)} of boat-days, "
                f"{_share(plan.cost, other.cost)} of the weighed cost, "
                f"{other.late - plan.late} late precursors"
            )
    return "\n".join(lines)


def _summed(rows: Sequence[Figures]) -> Figures:
    return Figures(
        *(sum(getattr(row, name) for row in rows) for name in Figures.__dataclass_fields__)
    )


def _share(now: int, before: int) -> str:
    return f"{100 * (before - now) / before:.0f} %" if before else "none"


if __name__ == "__main__":
    print(report(*(int(word) for word in sys.argv[1:2])))
