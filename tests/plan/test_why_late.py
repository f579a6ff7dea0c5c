from __future__ import annotations

from dataclasses import replace

import pytest

from fleetcare.plan.problem import Supply
from fleetcare.plan.records import HELD_FIRST, KEPT, NO_DAY, NO_PART, NO_ROOM
from fleetcare.plan.solve import solve
from fleetcare.plan.why_late import why_late
from tests.plan.tiny import job, one_engine

DAYS = 6


def test_a_booked_boat_is_no_day() -> None:
    problem = one_engine(DAYS, [job(0, DAYS, 1, precursor=True, allowed=[3])], busy=(0, 1, 2))
    why = why_late(problem, (3,), 0)
    assert (why.reason, why.proved) == (NO_DAY, True)


def test_a_part_that_comes_after_is_no_part() -> None:
    plain = one_engine(DAYS, [job(0, DAYS, 1, allowed=[4], uses=((0, 1),))])
    problem = replace(plain, supplies=(Supply("impeller", (0, 0, 0, 0, 1, 1)),))
    assert why_late(problem, (4,), 0).reason == NO_PART


def test_a_full_workshop_is_no_room_and_is_proved_by_the_least_number() -> None:
    jobs = [job(0, DAYS, 0, minutes=30, precursor=True, task=name) for name in ("a", "b")]
    problem = one_engine(DAYS, jobs, minutes=40)
    found = solve(problem)
    assert found.least_late == 1
    late = next(number for number, day in enumerate(found.answer) if day)
    assert why_late(problem, found.answer, late, found.least_late).reason == NO_ROOM
    assert why_late(problem, found.answer, late, found.least_late).proved
    assert not why_late(problem, found.answer, late).proved


def test_the_last_part_taken_by_another_is_no_part() -> None:
    jobs = [job(0, DAYS, 0, precursor=True, uses=((0, 1),), task=name) for name in ("a", "b")]
    problem = replace(one_engine(DAYS, jobs), supplies=(Supply("impeller", (1, 1, 2, 2, 2, 2)),))
    found = solve(problem)
    late = next(number for number, day in enumerate(found.answer) if day)
    assert why_late(problem, found.answer, late).reason == NO_PART


def test_what_holds_the_engine_comes_first() -> None:
    jobs = [
        job(0, DAYS, 4, first=True, allowed=[3, 4], task="tube"),
        job(0, DAYS, 1, precursor=True, task="oil"),
    ]
    problem = one_engine(DAYS, jobs)
    found = solve(problem)
    assert found.answer == (3, 3)
    assert why_late(problem, found.answer, 1).reason == HELD_FIRST


def test_a_near_day_of_the_kept_plan_is_told_as_such() -> None:
    problem = replace(one_engine(DAYS, [job(0, DAYS, 1)]), kept=(2,), frozen=4)
    assert why_late(problem, solve(problem).answer, 0).reason == KEPT


def test_a_job_in_time_has_no_reason() -> None:
    with pytest.raises(ValueError, match="not late"):
        why_late(one_engine(DAYS, [job(0, DAYS, 1, task="oil")]), (1,), 0)
