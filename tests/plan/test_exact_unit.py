"""One boat at given prices, against every way of placing its jobs."""

from __future__ import annotations

import random
from itertools import product

import pytest

from fleetcare.plan.exact_columns import PARTS, Column, Prices, column_of
from fleetcare.plan.exact_loose import LooseUnit
from fleetcare.plan.exact_pool import holds
from fleetcare.plan.exact_unit import Unit
from fleetcare.plan.search_case import NEVER, Case, case_of, places_apart
from tests.plan.tiny import varied


def one_boat(seed: int) -> tuple[Case, tuple[int, ...]]:
    problem = varied(seed)
    numbers = places_apart(problem)[0]
    case = case_of(problem, numbers, [None] * len(problem.jobs), frozenset())
    boat = case.boat[case.engine[0]]
    jobs = tuple(
        job
        for job, engine in enumerate(case.engine)
        if (case.boat[engine] == boat if boat >= 0 else engine == case.engine[0])
    )
    return case, jobs


def some_prices(case: Case, dice: random.Random) -> Prices:
    rows = {("minutes", day, 0): dice.randrange(40) * PARTS for day in range(case.days)}
    rows |= {("room", day, 0): dice.randrange(900) * PARTS for day in range(case.days)}
    for item in range(len(case.slack)):
        rows["item", item, case.days - 1] = dice.randrange(500) * PARTS
    rows["late", 0, 0] = dice.randrange(3000) * PARTS
    rows["days", 0, 0] = dice.randrange(300) * PARTS
    return Prices(rows, case)


def paid(column: Column, prices: Prices) -> float:
    return column.cost * PARTS + sum(prices.by_row.get(row, 0) * n for row, n in column.uses)


def fits(case: Case, column: Column) -> bool:
    return all(n <= case.capacity[row[1]] for row, n in column.uses if row[0] == "minutes")


def least_of_all(case: Case, jobs: tuple[int, ...], prices: Prices) -> float:
    choices = [[NEVER, *(day for _, day in case.choices[job])] for job in jobs]
    best = float("inf")
    for days in product(*choices):
        column = column_of(case, dict(zip(jobs, days, strict=True)))
        if fits(case, column) and holds(case, column):
            best = min(best, paid(column, prices))
    return best


@pytest.mark.parametrize("seed", range(60))
def test_a_boat_with_few_jobs_is_planned_as_cheaply_as_can_be(seed: int) -> None:
    case, jobs = one_boat(seed)
    prices = some_prices(case, random.Random(seed))
    value, column = Unit(case, jobs).price(prices, case.capacity, [case.room] * case.days)
    best = least_of_all(case, jobs, prices)
    assert value <= best
    if fits(case, column) and holds(case, column):
        assert value == best
        assert paid(column, prices) <= value


def test_most_boats_at_most_prices_are_planned_exactly() -> None:
    """The promise above leaves out what does not fit its days; that must be rare."""
    exact = 0
    for seed in range(60):
        case, jobs = one_boat(seed)
        prices = some_prices(case, random.Random(seed))
        _, column = Unit(case, jobs).price(prices, case.capacity, [case.room] * case.days)
        exact += fits(case, column) and holds(case, column)
    assert exact >= 45


@pytest.mark.parametrize("seed", range(60))
def test_a_boat_planned_without_whole_numbers_costs_no_more(seed: int) -> None:
    case, jobs = one_boat(seed)
    prices = some_prices(case, random.Random(seed))
    value, _ = LooseUnit(case, jobs).price(prices, case.capacity, [case.room] * case.days)
    assert value <= least_of_all(case, jobs, prices)
