"""The age of least cost: closed forms, a search that knows nothing of them, and when none pays."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.repair.replacement import (
    best_age,
    cost_rate,
    least_expected,
    mean_to,
    weibull_cost_rate,
)

SHAPES = st.floats(1.2, 5.0)
RATIOS = st.floats(1.5, 40.0)


def searched(scale: float, shape: float, planned: float, failure: float) -> float:
    """The least cost by trying ages, the area under the curve in strips: another way there."""
    best, step, alive, area = math.inf, scale / 2000, 1.0, 0.0
    for at in range(1, 12_000):
        now = math.exp(-((at * step / scale) ** shape))
        area += (alive + now) / 2 * step
        alive = now
        best = min(best, (planned * alive + failure * (1 - alive)) / area)
    return best


@given(SHAPES, RATIOS)
@settings(max_examples=15, deadline=None)
def test_no_age_tried_costs_less_than_the_one_found(shape: float, ratio: float) -> None:
    age = best_age(100.0, shape, 1.0, ratio)
    rate = (
        weibull_cost_rate(math.inf, 100.0, shape, 1.0, ratio)
        if age is None
        else weibull_cost_rate(age, 100.0, shape, 1.0, ratio)
    )
    assert rate <= searched(100.0, shape, 1.0, ratio) * (1 + 1e-5)


@pytest.mark.parametrize(
    ("shape", "planned", "failure"),
    [(1.0, 1, 50), (0.8, 1, 50), (2.5, 10, 10), (2.5, 10, 4), (2.5, 0, 4)],
)
def test_no_age_pays_when_parts_do_not_age_or_failing_costs_no_more(
    shape: float, planned: float, failure: float
) -> None:
    assert best_age(100.0, shape, planned, failure) is None
    if shape > 1:
        assert least_expected([(math.log(100.0), shape, 1.0)], 100.0, planned, failure) is None


def test_endless_age_is_running_to_failure() -> None:
    assert mean_to(math.inf, 100.0, 1.0) == pytest.approx(100.0)
    assert mean_to(math.inf, 1.0, 2.0) == pytest.approx(math.sqrt(math.pi) / 2)
    assert weibull_cost_rate(math.inf, 100.0, 1.0, 1, 7) == pytest.approx(0.07)


@given(st.floats(0.5, 4.0), st.floats(0.05, 3.0))
@settings(max_examples=30, deadline=None)
def test_the_closed_area_is_simpsons(shape: float, age: float) -> None:
    def alive(at: float) -> float:
        return math.exp(-(at**shape))

    assert cost_rate(alive, age, 1.0, 6.0, 4000) == pytest.approx(
        weibull_cost_rate(age, 1.0, shape, 1.0, 6.0), rel=1e-3
    )


@given(SHAPES, RATIOS)
@settings(max_examples=15, deadline=None)
def test_one_certain_pair_costs_what_the_known_one_does(shape: float, ratio: float) -> None:
    found = least_expected([(math.log(2.0), shape, 1.0)], 1.0, 1.0, ratio)
    age = best_age(2.0, shape, 1.0, ratio)
    if found is None:  # nothing to speak of is saved
        least = math.inf if age is None else age
        assert weibull_cost_rate(least, 2.0, shape, 1, ratio) >= 0.985 * weibull_cost_rate(
            math.inf, 2.0, shape, 1, ratio
        )
        return
    assert age is not None
    assert found.rate == pytest.approx(weibull_cost_rate(age, 2.0, shape, 1.0, ratio), rel=1e-4)
    assert found.begin <= found.age <= found.end


@given(SHAPES, RATIOS, st.floats(1.05, 3.0))
@settings(max_examples=20, deadline=None)
def test_a_dearer_failure_never_lengthens_the_age(shape: float, ratio: float, more: float) -> None:
    first, second = best_age(1.0, shape, 1.0, ratio), best_age(1.0, shape, 1.0, ratio * more)
    assert second is not None
    assert first is None or second <= first * (1 + 1e-9)


def test_the_unit_of_money_does_not_matter() -> None:
    assert best_age(100.0, 2.5, 2.0, 10.0) == pytest.approx(best_age(100.0, 2.5, 100.0, 500.0))
