"""What any plan promises, on fleets too large to try every answer of."""

from __future__ import annotations

import hashlib
import os
import random
import subprocess
import sys
from dataclasses import replace

import pytest

from fleetcare.plan import search as searching
from fleetcare.plan.baselines import greedy, one_job_one_visit
from fleetcare.plan.evaluate import breaks, evaluate
from fleetcare.plan.problem import Bench, Job, Place, Problem, Supply
from fleetcare.plan.search_board import Board
from fleetcare.plan.solve import solve
from tests.plan.instances import fleet
from tests.plan.tiny import job, one_engine, varied

TOLD = """
from tests.plan.instances import fleet
from tests.plan.tiny import varied
from fleetcare.plan.solve import solve
for problem in (fleet(4, 3, days=40), varied(5), varied(11)):
    print(solve(problem))
"""


def moved_rows(problem: Problem, seed: int) -> tuple[Problem, list[int]]:
    """The same problem with its jobs in another order, and where each has gone."""
    order = list(range(len(problem.jobs)))
    random.Random(seed).shuffle(order)
    kept = tuple(problem.kept[number] for number in order) if problem.kept else ()
    return replace(problem, jobs=tuple(problem.jobs[number] for number in order), kept=kept), order


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_a_plan_keeps_every_limit_and_its_bound_is_below_it(seed: int, exact: bool) -> None:
    problem = fleet(5, seed, days=60)
    found = solve(problem, exact=exact)
    score = evaluate(problem, found.answer)
    assert breaks(problem, found.answer) == ()
    assert len(found.answer) == len(problem.jobs)
    assert found.bound is not None
    assert found.bound <= score.cost
    assert not found.cut_short
    if exact:
        assert found.least_late == score.late
        assert score.cost - found.bound <= score.cost * 3 // 100


@pytest.mark.parametrize("seed", range(6))
def test_a_plan_is_never_worse_than_one_made_without_a_planner(seed: int) -> None:
    for problem in (fleet(4, seed, days=60), varied(seed, 7)):
        key = evaluate(problem, solve(problem, exact=False).answer).key
        for baseline in (greedy, one_job_one_visit):
            answer = baseline(problem)
            assert breaks(problem, answer) == ()
            assert key <= evaluate(problem, answer).key


def test_a_plan_that_shares_access_beats_one_that_does_not() -> None:
    problem = fleet(4, 1, days=60)
    apart = evaluate(problem, one_job_one_visit(problem))
    together = evaluate(problem, solve(problem, exact=False).answer)
    assert together.access + together.boat_days < (apart.access + apart.boat_days) * 2 // 3


def test_the_plan_is_the_same_under_any_hash_seed() -> None:
    told = set()
    for seed in ("0", "1", "77"):
        done = subprocess.run(
            [sys.executable, "-c", TOLD], check=True, capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed}, text=True,
        )  # fmt: skip
        told.add(hashlib.sha256(done.stdout.encode()).hexdigest())
        assert "HiGHS" in done.stdout
        assert done.stdout.count("Solution(") == len(done.stdout.splitlines()) == 3
    assert len(told) == 1


@pytest.mark.parametrize("exact", [True, False])
def test_the_order_of_the_rows_is_nothing(exact: bool) -> None:
    for problem in (fleet(4, 2, days=40), *(varied(seed) for seed in range(12))):
        straight = solve(problem, exact=exact)
        other, order = moved_rows(problem, 9)
        turned = solve(other, exact=exact)
        assert [turned.answer[order.index(n)] for n in range(len(order))] == list(straight.answer)
        assert (turned.least_late, turned.bound) == (straight.least_late, straight.bound)


def test_more_limits_never_make_the_best_plan_better() -> None:
    for seed in range(60):
        problem = varied(seed)
        key = evaluate(problem, solve(problem, exact=False).answer).key
        roomy = replace(
            problem,
            places=tuple(
                Place(one.name, tuple(m * 2 for m in one.minutes), one.boats_out + 1)
                for one in problem.places
            ),
            supplies=tuple(
                Supply(one.item, tuple(n + 3 for n in one.by_day)) for one in problem.supplies
            ),
            kept=(),
        )
        if not problem.kept:
            assert evaluate(roomy, solve(roomy, exact=False).answer).key <= key
            tight = replace(problem, jobs=tuple(map(_fewer_days, problem.jobs)))
            assert evaluate(tight, solve(tight, exact=False).answer).key >= key


def _fewer_days(job: Job) -> Job:
    allowed = job.allowed[::2]
    return replace(job, allowed=allowed, first=job.first and bool(allowed))


def test_dear_times_two_is_the_same_plan() -> None:
    for seed in range(20):
        problem = replace(varied(seed), kept=())
        double = replace(
            problem,
            boat_day=problem.boat_day * 2,
            benches=tuple(
                Bench(b.name, b.boat, b.place, tuple(m * 2 for m in b.steps))
                for b in problem.benches
            ),
            places=tuple(
                Place(p.name, tuple(m * 2 for m in p.minutes), p.boats_out) for p in problem.places
            ),
            jobs=tuple(
                replace(
                    j, minutes=j.minutes * 2, costs=tuple(c * 2 for c in j.costs),
                    unplaced=j.unplaced * 2,
                )
                for j in problem.jobs
            ),
        )  # fmt: skip
        one, two = solve(problem, exact=False), solve(double, exact=False)
        assert one.answer == two.answer
        assert one.bound is not None
        assert two.bound == one.bound * 2


def test_a_week_later_everything_is_a_week_later() -> None:
    problem = fleet(2, 4, days=30)
    later = replace(
        problem,
        days=37,
        places=tuple(Place(p.name, (0,) * 7 + p.minutes, p.boats_out) for p in problem.places),
        busy=tuple(frozenset(day + 7 for day in busy) for busy in problem.busy),
        jobs=tuple(
            replace(
                j, due=None if j.due is None else j.due + 7,
                allowed=tuple(day + 7 for day in j.allowed), costs=(0,) * 7 + j.costs,
            )
            for j in problem.jobs
        ),
    )  # fmt: skip
    now, then = solve(problem).answer, solve(later).answer
    assert then == tuple(None if day is None else day + 7 for day in now)


def test_near_days_of_a_kept_plan_stay() -> None:
    problem = fleet(3, 1, days=40)
    first = solve(problem, exact=False).answer
    again = replace(problem, kept=first, frozen=20, moving=0, boat_day=0)
    second = solve(again, exact=False).answer
    assert any(day is not None and day < 20 for day in first)
    assert all(
        new == old for old, new in zip(first, second, strict=True) if old is not None and old < 20
    )


def test_moving_costs_keep_a_plan_where_it_was() -> None:
    problem = fleet(3, 1, days=40)
    first = solve(problem, exact=False).answer
    again = replace(problem, kept=first, moving=50_000, boat_day=5500)
    assert solve(again, exact=False).answer == first


def test_places_are_planned_apart_and_share_what_is_left() -> None:
    jobs = tuple(
        job(engine, 4, 1, cost=lambda away: 100 * abs(away), uses=((0, 1),), task="pump")
        for engine in range(2)
    )
    problem = Problem(
        days=4, places=(Place("B", (60,) * 4, 1), Place("A", (60,) * 4, 1)),
        boats=("Plover", "Dunlin"), busy=(frozenset(), frozenset()),
        benches=(Bench("Plover", 0, 0, ()), Bench("Dunlin", 1, 1, ())), jobs=jobs, boat_day=10,
        supplies=(Supply("impeller", (0, 1, 1, 2)),),
    )  # fmt: skip
    found = solve(problem)
    assert found.answer == (3, 1)
    assert found.bound is not None
    assert found.bound <= evaluate(problem, found.answer).cost


@pytest.mark.parametrize("exact", [True, False])
def test_an_interruption_leaves_the_best_plan_so_far(
    exact: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    problem = fleet(6, 1, days=60)
    calls = []

    def interrupted(board: Board, *rest: object) -> None:
        calls.append(board)
        if len(calls) == 40:
            raise KeyboardInterrupt
        settle(board, *rest)  # type: ignore[arg-type]

    settle = searching.settle
    monkeypatch.setattr(searching, "settle", interrupted)
    found = solve(problem, exact=exact)
    assert found.cut_short
    assert found.bound is None
    assert breaks(problem, found.answer) == ()
    assert any(day is not None for day in found.answer)


def test_more_effort_never_makes_the_late_ones_more() -> None:
    problem = fleet(5, 2, days=60)
    keys = [evaluate(problem, solve(problem, effort, False).answer).key for effort in (0, 1, 3)]
    assert keys[0] >= keys[1]
    assert keys[0] >= keys[2]
    assert solve(problem, 0).bound is None


def test_without_the_extra_there_is_a_plan_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [*(one for one in sys.modules if one.startswith("highspy")), "highspy"]:
        monkeypatch.setitem(sys.modules, name, None)
    problem = fleet(3, 1, days=40)
    found = solve(problem)
    assert "HiGHS" not in found.made_by
    assert found == solve(problem, exact=False)


def test_a_fleet_with_nothing_to_do_has_a_plan_with_nothing_in_it() -> None:
    found = solve(one_engine(5, []))
    assert (found.answer, found.least_late, found.bound) == ((), 0, 0)
