"""Judging the forecast on one set of engines: coverage of dates, loss of totals, new engines."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from fleetcare.usage.forecast import Outlook, Profile, learn, outlook
from tests.benchmarks.trials.series import Points, Series, four_weeks, last_year, twelve_months

HORIZONS = (14, 30, 60, 90)
CHANCES = (0.1, 0.5, 0.9)
NAIVE = (
    "four weeks",
    "four weeks, bare",
    "last year",
    "last year, bare",
    "twelve months",
)
METHODS = (("four weeks", four_weeks), ("last year", last_year), ("twelve months", twelve_months))


@dataclass(slots=True)
class Scores:
    """Sums by unit (a fleet, an aircraft): covers, and losses by method.

    `early` and `late`: truths before and after the interval. `open`: truths not reached within
    the days known, counted as inside; `dropped`: not to be told. `within`: covers of dates whose
    middle lies within a year, as a rule's months would end the others.
    """

    covers: dict[str, list[float]] = field(default_factory=dict)
    totals: dict[str, list[float]] = field(default_factory=dict)
    losses: dict[str, dict[str, float]] = field(default_factory=dict)
    early: int = 0
    late: int = 0
    open: int = 0
    dropped: int = 0
    within: dict[str, list[float]] = field(default_factory=dict)

    def cover(self, unit: str, value: float, within: bool) -> None:
        self.covers.setdefault(unit, []).append(value)
        if within:
            self.within.setdefault(unit, []).append(value)

    def loss(self, unit: str, method: str, points: Points, truth: float) -> None:
        sums = self.losses.setdefault(unit, {})
        sums[method] = sums.get(method, 0.0) + pinball(points, truth)

    def used(self, unit: str, truth: float) -> None:
        sums = self.losses.setdefault(unit, {})
        sums["used"] = sums.get("used", 0.0) + truth


def pinball(points: Points, truth: float) -> float:
    """The mean pinball loss of the three points."""
    return math.fsum(
        max(chance * (truth - point), (chance - 1.0) * (truth - point))
        for chance, point in zip(CHANCES, points, strict=True)
    ) / len(CHANCES)


Profiles = Callable[[Series, int], Profile]


def judge(
    engines: Sequence[tuple[Series, list[int]]],
    profile_at: Profiles,
    hours_left: tuple[float, float],
    naive: bool = True,
) -> Scores:
    """Forecast from each origin and hold it to what came. Draws are seeded by the engine."""
    scores = Scores()
    for number, (series, days) in enumerate(engines):
        dice = random.Random(f"{series.use} {number}")
        for at in days:
            profile = profile_at(series, at)
            known = learn(series.blocks(at), profile, series.first - 1)
            seen = outlook(known, profile)
            _dates(scores, series, at, seen, hours_left, dice)
            _totals(scores, series, at, seen, dice if naive else None)
    return scores


def _dates(
    scores: Scores,
    series: Series,
    at: int,
    seen: Outlook,
    hours_left: tuple[float, float],
    dice: random.Random,
) -> None:
    low, high = hours_left
    for _ in range(3):
        hours = low * (high / low) ** dice.random()
        early, middle, late = (seen.day_when(hours, chance) for chance in CHANCES)
        reached = series.reached(at, hours)
        begin, end = series.first + at, series.first + len(series.hours) - 1
        truth = None if reached is None else begin + reached
        value = covered(early, late, truth, end)
        if value is None:
            scores.dropped += 1
            continue
        if value == 0.0:
            too_late = early is not None and (truth is None or truth >= early)
            scores.late += too_late
            scores.early += not too_late
        scores.open += truth is None and value == 1.0
        scores.cover(series.unit, value, middle is not None and middle - begin <= 365)


def covered(early: int | None, late: int | None, truth: int | None, end: int) -> float | None:
    """Whether the interval holds the true day; at one of its ends a half.

    None for the end of the interval: beyond the ten years. A truth not reached by the last day
    known: outside if the interval ended before it, inside if that day lies in the interval, not
    to be told (None) if the interval begins later.
    """
    if truth is None:
        if late is not None and late <= end:
            return 0.0
        return 1.0 if early is not None and early <= end else None
    if early is None or truth < early or (late is not None and truth > late):
        return 0.0
    return 0.5 if truth in (early, late) else 1.0


def _totals(
    scores: Scores, series: Series, at: int, seen: Outlook, dice: random.Random | None
) -> None:
    for days in HORIZONS:
        if at + 1 + days > len(series.hours):
            continue
        truth = series.total(at + 1, at + 1 + days)
        low, middle, high = (seen.hours_by(series.first + at + days, c) for c in CHANCES)
        scores.used(series.unit, truth)
        scores.loss(series.unit, "forecast", (low, middle, high), truth)
        held = 0.0 if truth < low - 1e-6 or truth > high + 1e-6 else 1.0
        if held and truth > 1e-6 and (abs(truth - low) < 1e-6 or abs(truth - high) < 1e-6):
            held = 0.5
        scores.totals.setdefault(series.unit, []).append(held)
        if dice is None:
            continue
        for name, method in METHODS:
            drawn, bare = method(series, at, days, dice)
            scores.loss(series.unit, name, drawn, truth)
            if bare is not None:
                scores.loss(series.unit, f"{name}, bare", bare, truth)


# -- figures -------------------------------------------------------------------------------------


def mean_and_error(by_unit: dict[str, list[float]]) -> tuple[float, float]:
    """The mean over all, and its standard error over units (ratio of sums, jackknifed)."""
    sums = [(math.fsum(values), float(len(values))) for _, values in sorted(by_unit.items())]
    return ratio_and_error(sums)


def ratio_and_error(sums: Sequence[tuple[float, float]]) -> tuple[float, float]:
    above, below = math.fsum(a for a, _ in sums), math.fsum(b for _, b in sums)
    if below <= 0 or len(sums) < 2:
        return (above / below if below else math.nan), math.nan
    count = len(sums)
    parts = [(above - a) / (below - b) for a, b in sums]
    mean = math.fsum(parts) / count
    return above / below, math.sqrt((count - 1) / count * math.fsum((p - mean) ** 2 for p in parts))


def loss_ratio(scores: Scores, method: str, against: str) -> tuple[float, float]:
    """Loss of a method over that of another ("used": over the hours run)."""
    rows = [sums for _, sums in sorted(scores.losses.items())]
    return ratio_and_error([(row[method], row[against]) for row in rows if method in row])
