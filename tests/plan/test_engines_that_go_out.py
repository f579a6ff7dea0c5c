"""Engines in store or laid up wait for those that go out: they harm nobody until they do."""

from __future__ import annotations

import pytest

from fleetcare.plan.solve import solve
from tests.plan.notation import Shop, told

# Both were greased on the same day, sixty days are the limit; twelve minutes a day are one job.
BOATS = """
Lapwing is a hire boat in salt water at Quay
Dunlin is a hire boat in salt water at Quay
Plover on Lapwing reads 0
Knot on Dunlin reads 0
Spare in store reads 0
"""
GREASED = """
Knot grease done on 2031-04-02
Plover grease done on 2031-04-03
Spare grease done on 2031-04-01
"""
TODAY = "2031-06-16"
SETTINGS = "workshop_minutes=12\nboats_out=1"


def days(shop: Shop) -> dict[str, int | None]:
    """The day, from 0, of each engine's greasing."""
    made = shop.made(20)
    answer = solve(made.problem, exact=False).answer
    return {
        demand.row.engine: day
        for demand, day in zip(made.demands, answer, strict=True)
        if demand.row.task == "grease"
    }


def test_one_in_store_is_greased_after_those_that_go_out_however_much_later_it_is() -> None:
    found = days(told(BOATS + GREASED, TODAY, settings=SETTINGS))
    assert found == {"Knot": 0, "Plover": 1, "Spare": 2}


def test_one_laid_up_waits_too() -> None:
    laid_up = "Knot laid up on 2031-06-01\n"
    found = days(told(BOATS + GREASED + laid_up, TODAY, settings=SETTINGS))
    assert found["Plover"] == 0
    assert {found["Knot"], found["Spare"]} == {1, 2}


@pytest.mark.parametrize("still", ["", "Knot laid up on 2031-06-01\nPlover laid up on 2031-06-01"])
def test_the_count_of_late_precursors_is_of_engines_that_go_out(still: str) -> None:
    shop = told(BOATS + GREASED + still, TODAY, settings=SETTINGS)
    made = shop.made(20)
    pressing = {
        demand.row.engine
        for demand, job in zip(made.demands, made.problem.jobs, strict=True)
        if job.precursor
    }
    assert pressing == (set() if still else {"Knot", "Plover"})
