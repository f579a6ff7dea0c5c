"""The plan as people read it, out of a problem and the answer to it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from fleetcare.due.records import NO_RECORD
from fleetcare.plan.evaluate import days_late, evaluate, minutes_of
from fleetcare.plan.load import Load
from fleetcare.plan.making import Made
from fleetcare.plan.problem import Answer
from fleetcare.plan.reasons import why_is_late, why_unplaced
from fleetcare.plan.records import Late, Moved, Plan, PlannedJob, ServiceDay, Unplaced, Visit
from fleetcare.plan.solve import Solution


def plan_of(made: Made, solution: Solution, moved: Sequence[Moved] = ()) -> Plan:
    """The plan that an answer is: its days, what it leaves out, what is late and why."""
    answer, first = solution.answer, made.calendar.first
    return Plan(
        first, made.calendar.last, service_days(made, answer), _unplaced(made, answer),
        _late(made, solution), evaluate(made.problem, answer).cost, solution.bound,
        solution.made_by, solution.cut_short, tuple(moved),
    )  # fmt: skip


def service_days(made: Made, answer: Answer) -> tuple[ServiceDay, ...]:
    """The days with work by day and place, their visits by boat and engine."""
    problem = made.problem
    by_visit: dict[tuple[int, int, int], list[int]] = {}
    for job, day in enumerate(answer):
        if day is not None:
            engine = problem.jobs[job].engine
            by_visit.setdefault((day, problem.benches[engine].place, engine), []).append(job)
    by_day: dict[tuple[int, int], list[Visit]] = {}
    for (day, place, engine), jobs in sorted(
        by_visit.items(), key=lambda item: _order(made, *item)
    ):
        by_day.setdefault((day, place), []).append(_visit(made, engine, jobs, day))
    return tuple(
        ServiceDay(
            made.calendar.first + day, problem.places[place].name,
            sum(visit.minutes for visit in visits), problem.places[place].minutes[day],
            tuple(visits),
        )
        for (day, place), visits in by_day.items()
    )  # fmt: skip


def _order(made: Made, at: tuple[int, int, int], jobs: list[int]) -> tuple[int, int, int, int]:
    """By day and place; then by boat, those in store last; engines are in their order already."""
    day, place, engine = at
    boat = made.problem.benches[engine].boat
    return day, place, len(made.problem.boats) if boat is None else boat, engine


def _visit(made: Made, engine: int, jobs: list[int], day: int) -> Visit:
    problem, opened = made.problem, made.benches[engine]
    access = 0
    apart = 0
    for job in jobs:
        access |= problem.jobs[job].access
        apart += minutes_of(problem, engine, problem.jobs[job].access)
    opening = minutes_of(problem, engine, access)
    planned = tuple(_job(made, job, day) for job in sorted(jobs, key=lambda job: _first(made, job)))
    return Visit(
        opened.engine, opened.boat, tuple(step.name for step in opened.chosen(access)),
        opening + sum(job.minutes for job in planned), planned, apart - opening,
    )  # fmt: skip


def _first(made: Made, job: int) -> tuple[bool, int]:
    """What holds the engine comes first, the rest in the order of the rules."""
    return not made.problem.jobs[job].first, job


def _job(made: Made, job: int, day: int) -> PlannedJob:
    what, demand = made.problem.jobs[job], made.demands[job]
    on = made.calendar.first + day
    due = on if demand.row.status == NO_RECORD else demand.row.due_on or made.calendar.last
    return PlannedJob(
        what.task, demand.life(on), days_late(made.problem, job, day), max(0, due - on),
        what.precursor, what.minutes,
    )  # fmt: skip


def _unplaced(made: Made, answer: Answer) -> tuple[Unplaced, ...]:
    load = Load(made.problem, answer)
    return tuple(
        Unplaced(*made.demands[job].key, why_unplaced(made, load, job))
        for job, day in enumerate(answer)
        if day is None
    )


def _late(made: Made, solution: Solution) -> tuple[Late, ...]:
    """Precursors first, the latest first."""
    problem, answer = made.problem, solution.answer
    load = Load(problem, answer)
    found = []
    for job, day in enumerate(answer):
        late = days_late(problem, job, day)
        if late:
            reason, proved = why_is_late(made, solution, load, job)
            what = problem.jobs[job]
            found.append(Late(*made.demands[job].key, late, what.precursor, proved, reason))
    return tuple(sorted(found, key=lambda item: (not item.precursor, -item.days)))


def titles(made: Made) -> Mapping[tuple[str, str], str]:
    """By engine and task, what the job is called at length."""
    return {demand.key: demand.row.rule.title for demand in made.demands}


def only_engines(plan: Plan, engines: Collection[str]) -> Plan:
    """What of a plan concerns some engines; days keep all their minutes, the cost is the whole."""
    days = []
    for day in plan.days:
        visits = tuple(visit for visit in day.visits if visit.engine in engines)
        if visits:
            days.append(replace(day, visits=visits))
    return replace(
        plan, days=tuple(days),
        unplaced=tuple(item for item in plan.unplaced if item.engine in engines),
        late=tuple(item for item in plan.late if item.engine in engines),
        moved=tuple(item for item in plan.moved if item.engine in engines),
    )  # fmt: skip
