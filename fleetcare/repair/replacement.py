"""The age at which renewing a part costs least.

A part is renewed at an age, at the planned cost, or when it fails before that, at the cost of
the failure; then the next one begins. The cost of an hour in the long run is the expected cost of
one such turn over its expected length (R. E. Barlow and L. C. Hunter, Optimum Preventive
Maintenance Policies, Operations Research 8, 1960).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fleetcare.usage.gamma import chance_below

WORTH = 0.01  # a saving below this share of running to failure is none
NEAR = 1.05  # ages that cost at most this many times the least are as good
_AGES = 40
_FARTHEST = 8.0  # times the limit; a least cost beyond is no age to plan for


@dataclass(frozen=True, slots=True)
class Least:
    """The age that costs least, its cost per unit of age, and what running to failure costs.

    Ages from `begin` to `end` cost at most 5 % more than the least.
    """

    age: float
    rate: float
    to_failure: float
    begin: float
    end: float


def cost_rate(
    survival: Callable[[float], float], age: float, planned: float, failure: float,
    steps: int = 200,
) -> float:  # fmt: skip
    """The cost per unit of age of renewing at an age, for any survival curve.

    The time a part lasts on average until then is the area under the curve, by Simpson's rule.
    """
    width = age / steps
    area = survival(0.0) + survival(age)
    area += 4 * math.fsum(survival(width * at) for at in range(1, steps, 2))
    area += 2 * math.fsum(survival(width * at) for at in range(2, steps, 2))
    area *= width / 3
    alive = survival(age)
    return (planned * alive + failure * (1.0 - alive)) / area


def mean_to(age: float, scale: float, shape: float) -> float:
    """How long a Weibull part lasts on average when it is renewed at an age at the latest."""
    whole = scale * math.gamma(1.0 + 1.0 / shape)
    if math.isinf(age):
        return whole
    return whole * chance_below(1.0 / shape, math.pow(age / scale, shape))


def weibull_cost_rate(
    age: float, scale: float, shape: float, planned: float, failure: float
) -> float:
    """The cost per unit of age of renewing a Weibull part at an age; endless: to failure."""
    alive = 0.0 if math.isinf(age) else math.exp(-math.pow(age / scale, shape))
    return (planned * alive + failure * (1.0 - alive)) / mean_to(age, scale, shape)


def best_age(scale: float, shape: float, planned: float, failure: float) -> float | None:
    """The age that costs least for one known scale and shape; None where no age pays.

    It solves h(t) · mean_to(t) - F(t) = planned ÷ (failure - planned), h being the hazard; the
    left side only rises when the shape is above 1, and no age pays when it is not, or when a
    failure costs no more than the planned job.
    """
    if shape <= 1.0 or failure <= planned or planned <= 0.0:
        return None
    wanted = planned / (failure - planned)

    def left(age: float) -> float:
        ratio = age / scale
        hazard = shape / scale * math.pow(ratio, shape - 1.0)
        return hazard * mean_to(age, scale, shape) + math.expm1(-math.pow(ratio, shape))

    low, high = math.log(scale) - 40.0, math.log(scale)
    while left(math.exp(high)) < wanted:
        high += 1.0
        if high > math.log(scale) + 400.0 / shape:
            return None
    for _ in range(100):
        middle = (low + high) / 2
        if left(math.exp(middle)) < wanted:
            low = middle
        else:
            high = middle
    return math.exp((low + high) / 2)


def least_expected(
    cells: Sequence[tuple[float, float, float]], limit: float, planned: float, failure: float
) -> Least | None:
    """The age that costs least when scale and shape are not known: over log scale, shape, weight.

    Each pair's cost counts by its weight. None where no age pays: a failure costs no more than
    the planned job, or running to failure costs as good as the least.
    """
    if failure <= planned or planned <= 0.0:
        return None

    def rate(age: float) -> float:
        return math.fsum(
            weight * weibull_cost_rate(age, math.exp(log_scale), shape, planned, failure)
            for log_scale, shape, weight in cells
        )

    span = math.log(_FARTHEST / 0.02)
    ages = [limit * 0.02 * math.exp(span * at / (_AGES - 1)) for at in range(_AGES)]
    rates = [rate(age) for age in ages]
    at = min(range(_AGES), key=rates.__getitem__)
    to_failure = rate(math.inf)
    if at in (0, _AGES - 1):
        return None
    age = _lowest(rate, ages[at - 1], ages[at + 1])
    least = rate(age)
    if least > (1.0 - WORTH) * to_failure:
        return None
    near = [one for one, cost in zip(ages, rates, strict=True) if cost <= NEAR * least]
    return Least(age, least, to_failure, min([age, *near]), max([age, *near]))


def _lowest(rate: Callable[[float], float], low: float, high: float) -> float:
    """Where a curve with one valley is lowest, by the golden section."""
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    left, right = high - golden * (high - low), low + golden * (high - low)
    at_left, at_right = rate(left), rate(right)
    while high - low > 1e-4 * high:
        if at_left <= at_right:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = rate(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = rate(right)
    return (low + high) / 2
