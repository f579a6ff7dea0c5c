"""Five hundred small fleets, each answer of each tried: the plan is the best there is."""

from __future__ import annotations

import pytest

from fleetcare.plan import solve as solving
from fleetcare.plan.evaluate import breaks, evaluate
from fleetcare.plan.solve import solve
from tests.plan.exhaustive import key_of, least
from tests.plan.tiny import varied

CHUNKS = [range(start, start + 50) for start in range(0, 500, 50)]


@pytest.mark.parametrize(
    ("seeds", "exact"),
    [*((seeds, False) for seeds in CHUNKS), *((seeds, True) for seeds in CHUNKS[:2])],
    ids=str,
)
def test_no_answer_of_a_small_fleet_is_better_than_its_plan(seeds: range, exact: bool) -> None:
    for seed in seeds:
        problem = varied(seed)
        best = least(problem)
        found = solve(problem, exact=exact)
        score = evaluate(problem, found.answer)
        assert breaks(problem, found.answer) == (), seed
        assert score.key == best, seed
        assert found.least_late == best[0], seed
        assert found.bound == best[3], seed


def test_small_fleets_have_some_of_everything() -> None:
    """The generator would otherwise prove less than it seems to."""
    made = [varied(seed) for seed in range(500)]
    keys = [least(problem) for problem in made[:200]]
    assert sum(len(problem.places) > 1 for problem in made) > 50
    assert sum(bool(problem.supplies) for problem in made) > 100
    assert sum(bool(problem.kept) and problem.frozen > 0 for problem in made) > 50
    assert sum(any(job.first for job in problem.jobs) for problem in made) > 50
    assert sum(any(bench.boat is None for bench in problem.benches) for problem in made) > 50
    boats = [[b.boat for b in p.benches if b.boat is not None] for p in made]
    assert sum(len(set(one)) < len(one) for one in boats) > 50
    assert sum(key[0] > 0 for key in keys) > 50
    assert sum(key[2] > 0 for key in keys) > 50


@pytest.mark.parametrize("seeds", [range(0, 30), range(30, 60)], ids=str)
def test_bounds_of_the_solver_hold_where_nothing_was_tried_out(
    seeds: range, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With branch and bound left out, all that is proved must still be true."""
    monkeypatch.setattr(solving, "prove", lambda *_: False)
    monkeypatch.setattr(solving, "FEW_ROUNDS", 100)
    worse = 0
    for seed in seeds:
        problem = varied(seed)
        best = least(problem)
        for exact in (True, False):
            found = solve(problem, exact=exact)
            score = evaluate(problem, found.answer)
            assert breaks(problem, found.answer) == (), seed
            assert score.key >= best, seed
            assert found.least_late in (None, best[0]), seed
            assert found.bound is not None
            assert found.bound <= best[3], seed
            worse += score.key > best
    assert worse <= 4


def test_the_evaluator_and_the_trial_of_all_answers_agree_on_any_answer() -> None:
    for seed in range(200):
        problem = varied(seed)
        answer = [
            job.allowed[seed % len(job.allowed)] if job.allowed and seed % 3 != number % 3 else None
            for number, job in enumerate(problem.jobs)
        ]
        days = {number: day for number, day in enumerate(answer) if day is not None}
        assert evaluate(problem, answer).key == key_of(problem, days), seed
