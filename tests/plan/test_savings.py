"""A plan of the invented fleets is no worse than planning by due dates, or engine by engine."""

from __future__ import annotations

import pytest

from fleetcare.plan.evaluate import breaks, evaluate
from fleetcare.plan.solve import solve
from tests.benchmarks.plan_savings import (
    FLEETS,
    SEEDS,
    alone,
    compared,
    figures,
    made,
    on_due_dates,
    whole_engines,
)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("which", FLEETS)
def test_a_plan_is_no_worse_than_either_plain_way(which: str, seed: int) -> None:
    problem = made(which, seed).problem
    plan = solve(problem, 0, False).answer
    assert breaks(problem, plan) == ()
    for plain in (on_due_dates(problem), whole_engines(problem)):
        assert breaks(problem, plain) == ()
        assert evaluate(problem, plan).key <= evaluate(problem, plain).key


def test_with_the_extra_it_is_no_worse_either() -> None:
    problem = made("tavvik", 1).problem
    plan = evaluate(problem, solve(problem, 0, True).answer).key
    for plain in (on_due_dates(problem), whole_engines(problem)):
        assert plan <= evaluate(problem, plain).key


def test_a_plan_is_better_than_both_where_there_is_anything_to_choose() -> None:
    seen = compared("tavvik", 1, 0)
    plan = seen.pop("plan")
    for other in seen.values():
        assert (plan.late, plan.cost) < (other.late, other.cost)


def test_each_job_alone_is_charged_all_its_own_access() -> None:
    problem = made("pim", 1).problem
    answer = on_due_dates(problem)
    apart = figures(alone(problem), answer)
    steps = [problem.benches[job.engine].steps for job in problem.jobs]
    own = sum(
        job.minutes + sum(m for bit, m in enumerate(mine) if job.access >> bit & 1)
        for job, mine, day in zip(problem.jobs, steps, answer, strict=True)
        if day is not None
    )
    assert apart.minutes == own > figures(problem, answer).minutes
    assert apart.boat_days == figures(problem, answer).boat_days


def test_a_whole_engine_stands_on_one_day_where_it_fits() -> None:
    problem = made("tavvik", 1).problem
    answer = whole_engines(problem)
    days: dict[int, set[int | None]] = {}
    for job, day in zip(problem.jobs, answer, strict=True):
        days.setdefault(job.engine, set()).add(day)
    assert sum(len(some) for some in days.values()) <= 2 * len(days)
    assert sum(len(some) == 1 for some in days.values()) >= 3
