"""How long a part lasts: a Weibull life learned from looks that say only fine, or worn out.

A life seen fine at one age and worn out at a later one ended somewhere between; one seen only
fine goes on from there (interval censoring: W. Nelson, Applied Life Data Analysis, Wiley 1982,
ch. 9). So few findings leave the likelihood without a peak, and a stated prior stands before it:
shape and scale are lognormal, the scale such that the rule's own limit is the age by which one
part in ten has worn out. Both priors and their spreads are our judgement, not data.

Ages are in any one unit; nothing here knows which.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

EARLY = 0.1  # the share of parts worn out that a limit allows for
SHAPE, SHAPE_SPREAD = 2.5, 0.3
SCALE_SPREAD = 0.7
BAND = (0.05, 0.95)
POINTS = 41

_COARSE = 25
_DEPTH = 16.0  # what lies this far, in logarithms, below the peak is left out: one part in 10⁷
_HIGHEST = 60.0  # exponents beyond this are as good as endless

Box = tuple[float, float, float, float]  # of log scale, then log shape: from, to


@dataclass(frozen=True, slots=True)
class Seen:
    """One life: fine at age `fine` (0: never seen fine), worn out by `worn` (None: not yet).

    `worn` is above `fine`.
    """

    fine: float
    worn: float | None = None


@dataclass(frozen=True, slots=True)
class Prior:
    """Medians of scale and shape, and the standard deviations of their logarithms."""

    scale: float
    scale_spread: float = SCALE_SPREAD
    shape: float = SHAPE
    shape_spread: float = SHAPE_SPREAD


def prior_for(limit: float) -> Prior:
    """The prior of a part whose rule gives it this limit: its 10 % life."""
    return Prior(limit / (-math.log1p(-EARLY)) ** (1.0 / SHAPE))


def chance_worn(age: float, scale: float, shape: float) -> float:
    """The chance that a part is worn out by an age."""
    return -math.expm1(-_power(age, math.log(scale), shape))


def _power(age: float, log_scale: float, shape: float) -> float:
    """(age ÷ scale) to the power of the shape."""
    if age <= 0.0:
        return 0.0
    return math.exp(min(_HIGHEST, shape * (math.log(age) - log_scale)))


class _Lives:
    """The lives, equal ones counted once, so that a cell of the grid costs little."""

    def __init__(self, seen: Iterable[Seen]) -> None:
        counts = Counter((item.fine, item.worn or 0.0) for item in seen)
        self.fine: list[tuple[float, int]] = []
        self.worn: list[tuple[float, float, int]] = []
        # in one order, so that the same lives give the same digits whatever theirs was
        for (fine, worn), count in sorted(counts.items()):
            if worn:
                good = math.log(fine) if fine > 0 else -math.inf
                self.worn.append((good, math.log(worn), count))
            elif fine > 0:
                self.fine.append((math.log(fine), count))

    def log_likelihoods(self, log_scales: Sequence[float], shape: float) -> list[float]:
        """The log likelihood of each scale under one shape."""
        ages = [age for age, _ in self.fine] + [age for _, age, _ in self.worn]
        top = max(ages, default=0.0)  # counted from the highest, no power of an age overflows
        fine = sum(count * math.exp(shape * (age - top)) for age, count in self.fine)
        worn = [
            (math.exp(shape * (good - top)), math.exp(shape * (bad - top)), count)
            for good, bad, count in self.worn
        ]
        found = []
        for log_scale in log_scales:
            unit = math.exp(min(_HIGHEST, shape * (top - log_scale)))
            total = -fine * unit
            for good, bad, count in worn:
                total += count * (_log_ended((bad - good) * unit) - good * unit)
            found.append(total)
        return found


def _log_ended(hazard: float) -> float:
    """The logarithm of the chance of ending while so much hazard passes."""
    return math.log(-math.expm1(-hazard)) if hazard > 1e-300 else -700.0


def log_likelihood(seen: Iterable[Seen], scale: float, shape: float) -> float:
    """The log likelihood of the lives seen under one scale and shape."""
    return _Lives(seen).log_likelihoods([math.log(scale)], shape)[0]


@dataclass(frozen=True, slots=True)
class Posterior:
    """What prior and findings together say: a weight for each shape and scale, their sum 1.

    `rows` has the weights of the scales, a line for each shape. `box` is where they lie, for a
    coarser look at the same ground.
    """

    log_scales: tuple[float, ...]
    shapes: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]
    box: Box

    def cells(self) -> Iterator[tuple[float, float, float]]:
        """Every log scale and shape with its weight."""
        for shape, row in zip(self.shapes, self.rows, strict=True):
            for log_scale, weight in zip(self.log_scales, row, strict=True):
                if weight:
                    yield log_scale, shape, weight

    def chance(self, age: float) -> float:
        """The chance that the next part is worn out by an age, the spread of both counted in."""
        if age <= 0.0:
            return 0.0
        log_age, total = math.log(age), 0.0
        for log_scale, shape, weight in self.cells():
            power = math.exp(min(_HIGHEST, shape * (log_age - log_scale)))
            total -= weight * math.expm1(-power)
        return total

    def band(self, age: float, points: Sequence[float] = BAND) -> tuple[float, ...]:
        """Between what bounds that chance lies: 90 % of the weight, unless told otherwise.

        For one shape the chance falls as the scale grows, so its weight below a bound is the
        weight of the scales above another.
        """
        if age <= 0.0:
            return (0.0,) * len(points)
        log_age, sums = math.log(age), self._sums()

        def below(log_hazard: float) -> float:
            return sum(
                row.total - self._up_to(row, log_age - log_hazard / shape)
                for shape, row in zip(self.shapes, sums, strict=True)
            )

        return tuple(-math.expm1(-math.exp(_rising(below, point, -60.0, 8.0))) for point in points)

    def scale(self, points: Sequence[float] = (0.5,)) -> tuple[float, ...]:
        """Points of the scale."""
        sums = self._sums()
        low, high = self.log_scales[0], self.log_scales[-1]

        def below(log_scale: float) -> float:
            return sum(self._up_to(row, log_scale) for row in sums)

        return tuple(math.exp(_rising(below, point, low, high)) for point in points)

    def shape(self, points: Sequence[float] = (0.5,)) -> tuple[float, ...]:
        """Points of the shape."""
        logs = [math.log(shape) for shape in self.shapes]
        sums = _Sums([math.fsum(row) for row in self.rows])

        def below(log_shape: float) -> float:
            return sums.up_to((log_shape - logs[0]) / (logs[1] - logs[0]))

        return tuple(math.exp(_rising(below, point, logs[0], logs[-1])) for point in points)

    def _sums(self) -> list[_Sums]:
        return [_Sums(row) for row in self.rows]

    def _up_to(self, sums: _Sums, log_scale: float) -> float:
        step = self.log_scales[1] - self.log_scales[0]
        return sums.up_to((log_scale - self.log_scales[0]) / step)

    def age_by_which(self, chance: float) -> float:
        """The age by which the next part is worn out with this chance."""

        def reached(log_age: float) -> float:
            return math.log(max(self.chance(math.exp(log_age)), 1e-300))

        return math.exp(_crossing(reached, math.log(chance), self.box[0] - 9.0, self.box[1] + 3.0))


class _Sums:
    """The weight up to any place among evenly spaced points: smooth between them.

    Up to a point it is the sum of those before it and half its own, with the next term of Euler
    and Maclaurin's formula; from one point to the next a cubic that has the weights as slopes.
    """

    __slots__ = ("at", "total", "weights")

    def __init__(self, weights: Sequence[float]) -> None:
        self.weights, self.total, self.at = weights, 0.0, [0.0] * len(weights)
        around = (0.0, *weights, 0.0)
        for j, weight in enumerate(weights):
            self.at[j] = self.total + weight / 2 - (around[j + 2] - around[j]) / 24
            self.total += weight

    def up_to(self, place: float) -> float:
        """The weight up to a place, counted in points from the first."""
        j = math.floor(place)
        if j < 0:
            return 0.0
        if j >= len(self.at) - 1:
            return self.total
        x, here, there = place - j, self.weights[j], self.weights[j + 1]
        rise = self.at[j + 1] - self.at[j]
        return self.at[j] + x * (
            here + x * (3 * rise - 2 * here - there + x * (here + there - 2 * rise))
        )


def _rising(function: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Where a function that only rises reaches what is wanted, by halving."""
    for _ in range(48):
        middle = (low + high) / 2
        if function(middle) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _crossing(function: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The same for a function nearly straight and dear to ask: chords, the stale end halved."""
    below, above = function(low) - wanted, function(high) - wanted
    for _ in range(60):
        if high - low < 1e-9 or not below < 0.0 < above:
            break
        at = (low * above - high * below) / (above - below)
        at = min(max(at, low + 0.01 * (high - low)), high - 0.01 * (high - low))
        value = function(at) - wanted
        if abs(value) < 1e-10:
            return at
        if value < 0.0:
            low, below, above = at, value, above / 2
        else:
            high, above, below = at, value, below / 2
    return (low + high) / 2


def posterior(seen: Iterable[Seen], prior: Prior, points: int = POINTS) -> Posterior:
    """Prior and findings laid together on a grid of `points` scales by as many shapes."""
    lives = _Lives(seen)
    box = _ground(lives, prior)
    return _on(lives, prior, box, points)


def coarser(seen: Iterable[Seen], prior: Prior, box: Box, points: int) -> Posterior:
    """The same on fewer points of ground that is known already."""
    return _on(_Lives(seen), prior, box, points)


def _ground(lives: _Lives, prior: Prior) -> Box:
    """Where all the weight lies: the box is drawn closer, or moved, until it stays."""
    middle = math.log(prior.scale), math.log(prior.shape)
    width = 6 * prior.scale_spread, 6 * prior.shape_spread
    box = middle[0] - width[0], middle[0] + width[0], middle[1] - width[1], middle[1] + width[1]
    for _ in range(12):
        scales, shapes, heights = _heights(lives, prior, box, _COARSE)
        peak = max(map(max, heights))
        high = [
            (at, row)
            for row, line in enumerate(heights)
            for at, height in enumerate(line)
            if height > peak - _DEPTH
        ]
        steps = scales[1] - scales[0], shapes[1] - shapes[0]
        closer = (
            scales[min(at for at, _ in high)] - steps[0],
            scales[max(at for at, _ in high)] + steps[0],
            shapes[min(row for _, row in high)] - steps[1],
            shapes[max(row for _, row in high)] + steps[1],
        )
        settled = all(
            0.8 * (box[at + 1] - box[at]) < closer[at + 1] - closer[at]
            and box[at] <= closer[at] + 0.5 * steps[at // 2]
            and closer[at + 1] <= box[at + 1] + 1.5 * steps[at // 2]
            for at in (0, 2)
        )
        box = closer
        if settled:
            break
    return box


def _spaced(low: float, high: float, points: int) -> list[float]:
    step = (high - low) / (points - 1)
    return [low + step * at for at in range(points)]


def _heights(
    lives: _Lives, prior: Prior, box: Box, points: int
) -> tuple[list[float], list[float], list[list[float]]]:
    """Log scales, log shapes, and for each shape the log weights of the scales."""
    scales, shapes = _spaced(box[0], box[1], points), _spaced(box[2], box[3], points)
    middle_scale, middle_shape = math.log(prior.scale), math.log(prior.shape)
    of_scale = [-0.5 * ((at - middle_scale) / prior.scale_spread) ** 2 for at in scales]
    heights = []
    for log_shape in shapes:
        of_shape = -0.5 * ((log_shape - middle_shape) / prior.shape_spread) ** 2
        likely = lives.log_likelihoods(scales, math.exp(log_shape))
        heights.append([a + b + of_shape for a, b in zip(of_scale, likely, strict=True)])
    return scales, shapes, heights


def _on(lives: _Lives, prior: Prior, box: Box, points: int) -> Posterior:
    scales, shapes, heights = _heights(lives, prior, box, points)
    peak = max(map(max, heights))
    raised = [
        [math.exp(height - peak) if height > peak - _DEPTH else 0.0 for height in line]
        for line in heights
    ]
    total = math.fsum(math.fsum(line) for line in raised)
    rows = tuple(tuple(weight / total for weight in line) for line in raised)
    return Posterior(tuple(scales), tuple(map(math.exp, shapes)), rows, box)


@lru_cache(maxsize=4)
def early_age_unseen(limit: float = 1.0) -> float:
    """The age by which one part in ten is worn out, when nothing was found: the prior's own."""
    return posterior((), prior_for(limit)).age_by_which(EARLY)
