"""Why a visit stands where it stands, against trying every other answer by the evaluator."""

from __future__ import annotations

import pytest

from fleetcare.plan.elsewhere import FROZEN, visits_asked, why_visit
from fleetcare.plan.evaluate import breaks, evaluate
from fleetcare.plan.solve import solve
from fleetcare.plan.supplies import Arrival
from fleetcare.plan.telling import plan_of
from tests.plan.notation import SHIPPED, Shop, told
from tests.plan.test_telling import BOATS, FIRST, LOG, TODAY

HELD = LOG + "Plover met overheated on 2031-06-01\n"


def shops() -> list[tuple[Shop, dict[str, object]]]:
    return [
        (told(BOATS + LOG, TODAY), {}),
        (told(BOATS + LOG, TODAY, settings="boats_out=1\nworkshop_minutes=120"), {}),
        (told(BOATS + HELD, TODAY), {"taken": {"Lapwing": {3, 4}, "Dunlin": {1, 2, 7}}}),
        (told(BOATS + LOG, TODAY), {"arrivals": (Arrival("oil", FIRST + 5, 2),)}),
        (
            told(BOATS.replace(", not new", "") + HELD, TODAY, SHIPPED, "small-petrol",
                 "workshop_minutes=150"), {},
        ),
    ]  # fmt: skip


@pytest.mark.parametrize(("shop", "more"), shops(), ids=["plain", "narrow", "held", "part", "law"])
def test_every_other_day_of_a_visit_costs_what_the_evaluator_says(
    shop: Shop, more: dict[str, object]
) -> None:
    made = shop.made(20, **more)  # type: ignore[arg-type]
    answer = solve(made.problem, 0).answer
    here = evaluate(made.problem, answer)
    free = hindered = 0
    for engine, day in visits_asked(made, answer):
        why = why_visit(made, answer, engine, day)
        assert why.on == made.calendar.first + day
        for other in why.days:
            moved = list(answer)
            for job in why.jobs:
                moved[job] = other.on - made.calendar.first
            assert bool(other.hindered) == bool(breaks(made.problem, moved)), other
            if other.hindered:
                hindered += 1
                continue
            free += 1
            there = evaluate(made.problem, moved)
            assert other.late == there.late - here.late
            assert other.late_days == there.late_days - here.late_days
            assert other.cost == there.cost - here.cost
            assert other.cost == other.boat_days + other.access + other.jobs + other.moving
    assert free and hindered


def test_each_job_alone_is_told_its_best_other_day() -> None:
    made = told(BOATS + LOG, TODAY).made(20)
    answer = solve(made.problem, 0).answer
    for engine, day in visits_asked(made, answer):
        for job, best in why_visit(made, answer, engine, day).apart:
            keys = {}
            for other in range(20):
                moved = list(answer)
                moved[job] = other
                if other != day and not breaks(made.problem, moved):
                    keys[other] = evaluate(made.problem, moved).key
            assert (best is None) == (not keys)
            if best is not None:
                least = min(keys, key=lambda at: (keys[at][0], keys[at][1], keys[at][3], at))
                assert best.on == made.calendar.first + least


def test_a_visit_within_the_frozen_days_is_kept() -> None:
    shop = told(BOATS + LOG, TODAY)
    made = shop.made(20)
    plan = plan_of(made, solve(made.problem, 0))
    again = shop.made(20, kept=plan, frozen=7)
    answer = solve(again.problem, 0).answer
    engine, day = visits_asked(again, answer)[0]
    assert day < 7
    why = why_visit(again, answer, engine, day)
    assert {other.hindered for other in why.days} == {FROZEN}
    assert why.best is None


def test_visits_are_found_by_day_and_by_engine() -> None:
    made = told(BOATS + LOG, TODAY).made(20)
    answer = solve(made.problem, 0).answer
    every = visits_asked(made, answer)
    assert every == sorted(every, key=lambda pair: (pair[1], pair[0]))
    days = {day for _, day in every}
    for day in range(20):
        assert [pair for pair in every if pair[1] == day] == visits_asked(made, answer, day)
        assert bool(visits_asked(made, answer, day)) == (day in days)
    names = [one.engine for one in made.benches]
    for name in names:
        mine = visits_asked(made, answer, None, (name,))
        assert mine == [pair for pair in every if names[pair[0]] == name]
