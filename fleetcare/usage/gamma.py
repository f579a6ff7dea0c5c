"""The gamma distribution: its quantiles, and what counting events teaches about their rate."""

from __future__ import annotations

import math
from functools import lru_cache

# Knots of the table of quantiles: this many for each e-fold of the shape. Straight lines between
# them are right to three parts in a thousand.
_KNOTS = 8
_LEAST_SHAPE = 0.01

CHANCES = (0.1, 0.5, 0.9)
# Hours: where outings vary by more than this each, they come in bunches; a day holds no more.
LONGEST = 6.0
# Up to this chance of no outing the quantiles come from the table, at these chances and those.
_RARELY, _NEAR = 0.05, (0.05, 0.47, 0.89)


def updated(shape: float, rate: float, events: float, exposure: float) -> tuple[float, float]:
    """Shape and rate of the gamma of a rate, after this many events in this much exposure."""
    return shape + events, rate + exposure


def chance_below(shape: float, x: float) -> float:
    """P(X <= x) of a gamma with this shape and scale 1."""
    if x <= 0.0:
        return 0.0
    return _below(shape, x, math.exp(shape * math.log(x) - x - math.lgamma(shape)))


def _below(shape: float, x: float, front: float) -> float:
    """The same, `front` being x^shape e^-x / Gamma(shape): a series, or one less a fraction."""
    if x >= shape + 1.0:
        return 1.0 - front * _fraction(shape, x)
    term = total = 1.0 / shape
    least = 1e-12 * term
    k = shape
    while term > least:
        k += 1.0
        term *= x / k
        total += term
    return min(1.0, front * total)


def _fraction(shape: float, x: float) -> float:
    """The continued fraction of the upper tail, by Lentz's way of summing it."""
    b = x + 1.0 - shape
    c, d = 1e300, 1.0 / b
    h = d
    for i in range(1, 400):
        a = -i * (i - shape)
        b += 2.0
        d = 1.0 / (a * d + b)
        c = b + a / c
        h *= c * d
        if abs(c * d - 1.0) < 1e-12:
            break
    return h


def quantile(shape: float, chance: float) -> float:
    """The x with P(X <= x) = chance, of a gamma with this shape and scale 1.

    Halley's steps in the logarithm of x; right to about ten figures.
    """
    if chance <= 0.0:
        return 0.0
    log_gamma = math.lgamma(shape)
    at = _first_guess(shape, chance, log_gamma)
    for _ in range(60):
        x = math.exp(at)
        slope = math.exp(shape * at - x - log_gamma)
        if slope < 1e-290:
            break
        step = (_below(shape, x, slope) - chance) / slope
        # Halley's correction, from the slope's own slope
        step /= max(0.5, 1.0 - 0.5 * step * (shape - x))
        step = max(-1.0, min(1.0, step))
        at -= step
        if abs(step) < 1e-5:
            break
    return math.exp(at)


def _first_guess(shape: float, chance: float, log_gamma: float) -> float:
    """Logarithm of a starting point: the cube root's normal, near zero the power law."""
    small = (math.log(chance) + log_gamma + math.log(shape)) / shape
    if small < -1.0:
        return max(small, -600.0)
    tail = math.sqrt(-2.0 * math.log(min(chance, 1.0 - chance)))
    # Abramowitz & Stegun 26.2.22
    normal = tail - (2.30753 + 0.27061 * tail) / (1.0 + 0.99229 * tail + 0.04481 * tail * tail)
    root = 1.0 - 1.0 / (9.0 * shape) + math.copysign(normal, chance - 0.5) / (3 * shape**0.5)
    return math.log(shape) + 3.0 * math.log(root) if root > 0.2 else small


def share_of_mean(shape: float, chance: float) -> float:
    """The quantile divided by the mean, from a table made as it is asked for."""
    place = math.log(max(shape, _LEAST_SHAPE)) * _KNOTS
    knot = math.floor(place)
    low, high = _knot(knot, chance), _knot(knot + 1, chance)
    return math.exp(low + (high - low) * (place - knot))


@lru_cache(maxsize=4096)
def _knot(knot: int, chance: float) -> float:
    shape = math.exp(knot / _KNOTS)
    return math.log(max(quantile(shape, chance), 1e-300) / shape)


def points_of(mean: float, size: float, strays: float) -> tuple[float, float, float]:
    """The 10, 50 and 90 % points of the hours of a number of outings.

    The number is Poisson, its own mean a gamma with `strays` as its squared coefficient of
    variation; `size` is the variance that each hour of the mean adds by itself. The gamma with
    that mean and variance answers, beside the chance of no outing at all.
    """
    if mean <= 0.0:
        return 0.0, 0.0, 0.0
    none = (1.0 + mean / min(size, LONGEST) * strays) ** (-1.0 / strays)
    some = 1.0 - none
    inner = mean / some
    square = (mean * size + mean * mean * (1.0 + strays)) / some
    shape = inner * inner / max(square - inner * inner, 1e-9 * inner * inner)
    low, middle, high = (
        inner * _share_above_none(shape, none, chance, near)
        for chance, near in zip(CHANCES, _NEAR, strict=True)
    )
    return low, middle, high


def _share_above_none(shape: float, none: float, chance: float, near: float) -> float:
    """A quantile over the mean of a gamma that stands beside a chance of nothing at all."""
    if chance <= none:
        return 0.0
    level = (chance - none) / (1.0 - none)
    if none >= _RARELY:
        return quantile(shape, level) / shape
    share = share_of_mean(shape, chance)
    if none < 1e-4:
        return share
    part = (chance - level) / (chance - near)  # a straight line between two levels of the table
    return share + part * (share_of_mean(shape, near) - share)
