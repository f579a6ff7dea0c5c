"""How many to have ready, against published values and counting by hand.

The values of L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory (2nd ed., Wiley
2019), examples 4.1, 4.3 and 4.7, are as the doctests of the open library stockpyl print them.
"""

from __future__ import annotations

import math
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.plan.demand import (
    critical_ratio,
    enough,
    expected_cost,
    in_lots,
    poisson,
    reorder,
    together,
)

STEADY = settings(deadline=None, derandomize=True, database=None)


def in_steps(dist: NormalDist, step: float, last: float) -> list[float]:
    """A normal distribution cut into steps, each counted at its middle."""
    edges = [(at - 0.5) * step for at in range(int(last / step) + 2)]
    return [dist.cdf(high) - dist.cdf(low) for low, high in pairwise(edges)]


def test_example_4_3_the_number_that_costs_least() -> None:
    demand = NormalDist(50, 8)
    assert demand.inv_cdf(critical_ratio(0.18, 0.70)) == pytest.approx(56.60395592743389)
    step = 0.005
    chances = in_steps(demand, step, 100)
    best = enough(chances, critical_ratio(0.18, 0.70))
    assert best * step == pytest.approx(56.60395592743389, abs=2 * step)
    cost = expected_cost(chances, best, 0.18 * step, 0.70 * step)
    assert cost == pytest.approx(1.9976051931766445, abs=1e-6)


def test_example_4_1_what_another_number_costs() -> None:
    step = 0.005
    chances = in_steps(NormalDist(50, 8), step, 100)
    cost = expected_cost(chances, round(60 / step), 0.18 * step, 0.70 * step)
    assert cost == pytest.approx(2.156131552870387, abs=1e-6)


def test_the_poisson_newsvendor_of_the_same_example() -> None:
    chances = poisson(50)
    best = enough(chances, critical_ratio(0.18, 0.70))
    assert best == 56
    assert expected_cost(chances, best, 0.18, 0.70) == pytest.approx(1.797235211809178)


def test_example_4_7_a_poisson_of_six() -> None:
    chances = poisson(6)
    best = enough(chances, critical_ratio(1, 4))
    assert best == 8
    assert expected_cost(chances, best, 1, 4) == pytest.approx(3.57010694577094)
    assert expected_cost(chances, 5, 1, 4) == pytest.approx(6.59029602461634)


def test_example_4_7_two_levels_where_an_order_costs_five() -> None:
    low, high, cost = reorder(poisson(6), 1, 4, 5)
    assert (low, high) == (4, 10)
    assert cost == pytest.approx(8.034111561471642)


def test_a_textbooks_answer_by_its_own_table() -> None:
    # G. Cachon and C. Terwiesch, Matching Supply with Demand (3rd ed.), ch. 12, Q12.1d: mean 200,
    # deviation 80, 8 lost for one too few, 4 for one too many; their rounded table gives 235.2.
    exact = NormalDist(200, 80).inv_cdf(critical_ratio(4, 8))
    assert exact == pytest.approx(234.4582, abs=1e-4)
    assert exact == pytest.approx(235.2, abs=1)


@pytest.mark.parametrize(
    ("mean", "level", "number"),
    [(3, 0.95, 6), (0.5, 0.95, 2), (12, 0.98, 20)],  # from tables of the Poisson distribution
)
def test_the_smallest_number_that_is_enough(mean: float, level: float, number: int) -> None:
    assert enough(poisson(mean), level) == number


@given(st.floats(0, 400))
@STEADY
def test_poisson_chances_add_up_and_have_their_mean(mean: float) -> None:
    chances = poisson(mean)
    assert math.fsum(chances) == pytest.approx(1)
    assert math.fsum(at * chance for at, chance in enumerate(chances)) == pytest.approx(mean)


MANY = (
    st.lists(st.integers(0, 20), min_size=1, max_size=6)
    .filter(any)
    .map(lambda weights: [weight / sum(weights) for weight in weights])
)


def by_hand(policy: tuple[int, int], chances: list[float], h: float, p: float, k: float) -> float:
    """The long-run cost of a pair of levels: how often each stock is stood on, by iteration."""
    low, high = policy
    stands = dict.fromkeys(range(low + 1, high + 1), 0.0)
    stands[high] = 1.0
    for _ in range(600):
        after = dict.fromkeys(stands, 0.0)
        for stock, share in stands.items():
            for wanted, chance in enumerate(chances):
                left = stock - wanted
                after[high if left <= low else left] += share * chance
        stands = {stock: (share + after[stock]) / 2 for stock, share in stands.items()}
    cost = 0.0
    for stock, share in stands.items():
        for wanted, chance in enumerate(chances):
            gap = stock - wanted
            cost += share * chance * (h * gap if gap > 0 else -p * gap)
            cost += share * chance * (k if gap <= low else 0)
    return cost


@given(MANY, st.integers(1, 4), st.integers(1, 20), st.integers(0, 12))
@settings(deadline=None, derandomize=True, database=None, max_examples=25)
def test_no_other_pair_of_levels_costs_less(chances: list[float], h: int, p: int, k: int) -> None:
    if chances[0] > 0.9:
        return
    low, high, cost = reorder(chances, h, p, k)
    assert by_hand((low, high), chances, h, p, k) == pytest.approx(cost, rel=1e-6)
    for other in range(low - 2, low + 3):
        for top in range(max(other + 1, high - 2), high + 4):
            assert by_hand((other, top), chances, h, p, k) >= cost - 1e-6


@given(MANY, st.floats(0.01, 50), st.floats(0.01, 50))
@STEADY
def test_without_a_cost_of_ordering_two_levels_are_one(
    chances: list[float], h: float, p: float
) -> None:
    low, high, cost = reorder(chances, h, p, 0)
    best = min(expected_cost(chances, number, h, p) for number in range(len(chances) + 1))
    assert high == low + 1 or chances[0] > 1 - 1e-9
    assert cost == pytest.approx(best) or chances[0] == 1


@given(MANY, MANY, st.integers(1, 3))
@STEADY
def test_sums_are_counted_pair_by_pair(one: list[float], other: list[float], lot: int) -> None:
    counted: dict[int, float] = {}
    for a, here in enumerate(one):
        for b, there in enumerate(other):
            counted[a + b * lot] = counted.get(a + b * lot, 0) + here * there
    found = together(one, in_lots(other, lot))
    assert all(
        found[at] == pytest.approx(chance) for at, chance in counted.items() if chance > 1e-9
    )
