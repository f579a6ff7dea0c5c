"""Plans small enough to be worked out by hand.

Figures are our own, worked out by hand; 1 to 8 charge 25 minutes for a boat's day, 21 for the leg
and 3 for the cowl (35 and 5 minutes at 0.6 of a minute each), and a tenth of one for each day away
from the due day.
"""

from __future__ import annotations

import pytest

from fleetcare.plan.evaluate import breaks, evaluate, minutes_of, visits
from fleetcare.plan.problem import Problem, Supply
from fleetcare.plan.records import NO_DAY, NO_PART, TOO_LONG
from fleetcare.plan.solve import solve
from fleetcare.plan.why_late import why_late
from tests.plan.tiny import job, one_engine

LEG, COWL = 1, 2
DAYS = 6


def away(days: int) -> int:
    return 10 * abs(days)


def toy(*jobs: tuple[int, int, int], minutes: int = 240, busy: tuple[int, ...] = ()) -> Problem:
    """Jobs as due day, minutes, access."""
    made = [
        job(0, DAYS, due, minutes=bench, access=access, cost=away, task=f"job {number}",
            allowed=[day for day in range(DAYS) if day not in busy])
        for number, (due, bench, access) in enumerate(jobs)
    ]  # fmt: skip
    return one_engine(DAYS, made, minutes=minutes, busy=busy)


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize(
    ("problem", "answer", "cost"),
    [
        (toy((3, 15, LEG), (3, 15, LEG)), (3, 3), 4600),
        (toy((1, 15, LEG), (4, 15, LEG)), (1, 1), 4630),
        (toy((3, 15, LEG), (3, 15, LEG), minutes=50), (2, 3), 9210),
        (toy((3, 15, LEG), (3, 15, LEG), busy=(3,)), (2, 2), 4620),
        (toy((1, 15, LEG), (2, 15, COWL), (5, 10, 0)), (2, 2, 2), 4940),
    ],
    ids=["together", "a day between", "too long together", "booked that day", "three in one"],
)
def test_a_toy_has_the_plan_worked_out_by_hand(
    problem: Problem, answer: tuple[int, ...], cost: int, exact: bool
) -> None:
    found = solve(problem, exact=exact)
    assert evaluate(problem, found.answer).cost == cost
    assert sorted(found.answer) == sorted(answer)  # type: ignore[type-var]
    assert found.bound == cost
    assert breaks(problem, found.answer) == ()


def test_a_precursor_without_a_day_in_time_is_late_and_proved_so() -> None:
    late = job(0, DAYS, 3, cost=away, precursor=True, allowed=[4, 5])
    problem = one_engine(DAYS, [late], busy=(0, 1, 2, 3))
    found = solve(problem)
    score = evaluate(problem, found.answer)
    assert found.answer == (4,)
    assert score.key == (1, 1, 0, 2510)
    assert found.least_late == 1
    why = why_late(problem, found.answer, 0)
    assert (why.reason, why.proved) == (NO_DAY, True)


def test_a_job_waits_for_its_part() -> None:
    waits = job(0, DAYS, 3, cost=away, uses=((0, 1),), allowed=[5])
    plain = one_engine(DAYS, [waits])
    supplies = (Supply("impeller", (0, 0, 0, 0, 0, 1)),)
    problem = Problem(
        plain.days, plain.places, plain.boats, plain.busy, plain.benches, plain.jobs,
        plain.boat_day, supplies,
    )  # fmt: skip
    found = solve(problem)
    assert found.answer == (5,)
    assert evaluate(problem, found.answer).cost == 2520
    assert why_late(problem, found.answer, 0).reason == NO_PART


def test_a_job_longer_than_any_day_is_left_out_and_named() -> None:
    problem = one_engine(DAYS, [job(0, DAYS, 3, cost=away, allowed=())], minutes=10)
    found = solve(problem)
    assert found.answer == (None,)
    assert evaluate(problem, found.answer).key == (0, 0, 1, 20_000)
    assert why_late(problem, found.answer, 0).reason == TOO_LONG


def test_what_is_opened_once_saves_its_minutes() -> None:
    """Three jobs behind a leg of 35 minutes: 65 minutes together, 135 apart."""
    jobs = [job(0, DAYS, 3, minutes=bench, access=LEG, cost=away) for bench in (15, 10, 5)]
    problem = one_engine(DAYS, jobs, steps=(35,))
    answer = solve(problem).answer
    bench = sum(one.minutes for one in jobs)
    together = bench + sum(
        minutes_of(problem, e, a) for (e, _), a in visits(problem, answer).items()
    )
    apart = bench + sum(minutes_of(problem, one.engine, one.access) for one in jobs)
    assert (together, apart) == (65, 135)


@pytest.mark.parametrize(
    ("cost", "total", "days"),
    [
        (lambda away: away * away, 58, {10: 12, 12: 12, 15: 12, 30: 31, 33: 31}),
        (lambda away: 4 * away if away > 0 else -away, 50, None),
    ],
    ids=["quadratic", "linear"],
)
def test_jobs_are_grouped_where_a_visit_is_worth_it(
    cost: object, total: int, days: dict[int, int] | None
) -> None:
    """Five due days, 20 for a visit: groups of 10, 12, 15 and of 30, 33; 100 ungrouped.

    Dates and penalties are our own; the structure is that of dynamic grouping (R.E. Wildeman,
    R. Dekker, A.C.J.M. Smit, European Journal of Operational Research 99, 1997, 530-551).
    """
    dues = (10, 12, 15, 30, 33)
    jobs = [job(0, 40, due, minutes=5, cost=cost, unplaced=10_000) for due in dues]  # type: ignore[arg-type]
    problem = one_engine(40, jobs, boat_day=20)
    found = solve(problem)
    placed = dict(zip(dues, found.answer, strict=True))
    assert evaluate(problem, found.answer).cost == total
    assert found.bound == total
    assert placed[10] == placed[12] == placed[15] != placed[30] == placed[33]
    if days is not None:
        assert placed == days
    ungrouped = evaluate(problem, dues).cost
    assert ungrouped == 100
