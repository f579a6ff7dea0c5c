from __future__ import annotations

from dataclasses import replace

import pytest

from fleetcare.plan.evaluate import breaks, evaluate, staying
from fleetcare.plan.problem import Bench, Place, Problem, Supply
from tests.plan.tiny import job, one_engine

DAYS = 6


def two_boats(**changes: object) -> Problem:
    """Two boats with one job each, of 15 minutes behind a step of 20."""
    problem = Problem(
        days=DAYS,
        places=(Place("Slip", (120, 120, 0, 120, 120, 120), 2),),
        boats=("Plover", "Dunlin"),
        busy=(frozenset({1}), frozenset()),
        benches=(Bench("Plover", 0, 0, (20,)), Bench("Dunlin", 1, 0, (20,))),
        jobs=tuple(
            job(engine, DAYS, 3, access=1, allowed=allowed, task="pump")
            for engine, allowed in enumerate(((0, 3, 4), (0, 1, 3, 4)))
        ),
        boat_day=1000,
    )
    return replace(problem, **changes)  # type: ignore[arg-type]


def test_the_parts_of_a_score_add_up_to_its_cost() -> None:
    problem = two_boats(kept=(3, 4), moving=70)
    score = evaluate(problem, (4, None))
    assert (score.boat_days, score.access, score.jobs) == (1000, 2000, 1)
    assert (score.leaving, score.moving) == (20_000, 140)
    assert score.cost == 1000 + 2000 + 1 + 20_000 + 140


def test_a_boat_pays_for_its_day_once_however_many_of_its_engines_are_worked_on() -> None:
    problem = two_boats(benches=(Bench("port", 0, 0, (20,)), Bench("starboard", 0, 0, (20,))))
    assert evaluate(problem, (3, 3)).boat_days == 1000
    assert evaluate(problem, (3, 4)).boat_days == 2000


def test_an_engine_in_store_needs_no_boat() -> None:
    problem = two_boats(benches=(Bench("spare", None, 0, (20,)), Bench("Dunlin", 1, 0, (20,))))
    assert evaluate(problem, (3, 3)).boat_days == 1000


@pytest.mark.parametrize(
    ("changes", "answer", "word"),
    [
        ({}, (2, 3), "closed"),
        ({}, (1, 3), "booked"),
        ({}, (5, 3), "not allowed"),
        ({}, (9, 3), "none of the days"),
        ({"places": (Place("Slip", (69, 69, 0, 69, 69, 69), 2),)}, (3, 3), "minutes"),
        ({"places": (Place("Slip", (120, 120, 0, 120, 120, 120), 1),)}, (3, 3), "boats"),
        ({"supplies": (Supply("gasket", (1,) * DAYS),),
          "opening": ((((0, 1),),), (((0, 1),),))}, (3, 4), "gasket"),
        ({"kept": (4, None), "frozen": 5}, (3, 3), "stays"),
    ],
)  # fmt: skip
def test_a_broken_limit_is_named(
    changes: dict[str, object], answer: tuple[int, int], word: str
) -> None:
    problem = two_boats(**changes)
    assert [one for one in breaks(problem, answer) if word in one]


def test_a_plan_that_keeps_every_limit_breaks_none() -> None:
    assert breaks(two_boats(), (3, 3)) == ()
    assert breaks(two_boats(), (None, None)) == ()


def test_minutes_and_boats_exactly_used_up_are_not_gone_over() -> None:
    problem = two_boats(places=(Place("Slip", (70, 70, 0, 70, 70, 70), 2),))
    assert breaks(problem, (3, 3)) == ()


def test_a_step_open_for_two_jobs_uses_its_parts_once() -> None:
    jobs = [job(0, DAYS, 3, access=1, task=name) for name in ("pump", "leg")]
    problem = replace(
        one_engine(DAYS, jobs), supplies=(Supply("gasket", (1,) * DAYS),),
        opening=((((0, 1),), ()),),
    )  # fmt: skip
    assert breaks(problem, (3, 3)) == ()
    assert breaks(problem, (3, 4))


def test_no_job_comes_before_what_holds_its_engine() -> None:
    jobs = [job(0, DAYS, 3, first=True, task="tube"), job(0, DAYS, 3, task="oil")]
    problem = one_engine(DAYS, jobs)
    assert breaks(problem, (3, 3)) == ()
    assert breaks(problem, (4, 3))
    assert breaks(problem, (None, 3))
    assert breaks(problem, (3, None)) == ()


def test_what_no_longer_fits_together_stays_no_longer() -> None:
    jobs = [job(0, DAYS, 3, minutes=30, task=name) for name in ("a", "b")]
    problem = replace(one_engine(DAYS, jobs, minutes=40), kept=(1, 1), frozen=3)
    assert staying(problem) == (0,)
    assert breaks(problem, (1, 2)) == ()


def test_a_kept_day_that_is_booked_now_is_let_go() -> None:
    problem = replace(one_engine(DAYS, [job(0, DAYS, 3, allowed=[0, 2, 3])]), kept=(1,), frozen=3)
    assert staying(problem) == ()


def test_a_kept_day_yields_to_what_holds_the_engine_now() -> None:
    jobs = [job(0, DAYS, 3, first=True, task="tube"), job(0, DAYS, 3, task="oil")]
    problem = replace(one_engine(DAYS, jobs), kept=(None, 1), frozen=3)
    assert staying(problem) == ()
    assert staying(replace(problem, kept=(1, 1))) == (0, 1)


def test_lateness_counts_from_the_due_day_and_to_the_end_without_a_day() -> None:
    jobs = [job(0, DAYS, 2, precursor=True), job(0, DAYS, 9, precursor=True)]
    problem = one_engine(DAYS, jobs)
    assert evaluate(problem, (2, 5)).key[:3] == (0, 0, 0)
    assert evaluate(problem, (5, None)).key[:3] == (1, 3, 1)
    assert evaluate(problem, (None, None)).key[:3] == (1, 4, 2)
