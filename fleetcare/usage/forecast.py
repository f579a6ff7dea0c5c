"""How much an engine will run: from its own log, its use's profile and its like in the fleet.

What a log told (`learning`) gives the level now and the factors of the months; the total over
coming days is a gamma with the mean and variance that follow, beside a chance of no outing at
all. All constants are our design choices, chosen on the tuning fleets of tests/benchmarks/trials.

Floats here, since nothing exact hangs on them; sums over months and engines are `math.fsum`, so
that the same input gives the same bytes. Days are ordinals, hours are hours.
"""

from __future__ import annotations

import math
import sys
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from itertools import pairwise

from fleetcare.usage.gamma import points_of, updated
from fleetcare.usage.learning import (
    BOOKED,
    BOOKED_ENOUGH,
    DRIFT,
    LEVEL_WORTH,
    LONG_WORTH,
    NOT_BOOKED,
    YEAR,
    month_factors,
)
from fleetcare.usage.learning import Block as Block
from fleetcare.usage.learning import Booked as Booked
from fleetcare.usage.learning import Learned as Learned
from fleetcare.usage.learning import learn as learn
from fleetcare.usage.profile import Profile as Profile
from fleetcare.usage.profile import Week, half_months, mean_one
from fleetcare.usage.profile import profile_of as profile_of

UNSEEN = 0.3  # how much more in months that the log has never covered

WEEKS, FOUR_WEEKS = 157, 91  # the grid: weekly for three years, then four-weekly to ten
HORIZON = WEEKS * 7 + FOUR_WEEKS * 28


# -- the fleet -----------------------------------------------------------------------------------


def is_old(learned: Learned) -> bool:
    """Whether the log covers enough of a year's use to borrow nothing from the fleet."""
    return learned.years >= 0.9


def borrowed(likes: Sequence[Learned], profile: Profile) -> Profile:
    """Level and season of engines of the same use and water, for a new one among them.

    The profile itself weighs as much as one engine; with no likes it is given back.
    """
    levels, found = [], []
    for like in likes:
        if like.years > 0.0:
            factors = month_factors(profile, like.hours, like.days, like.size)
            levels.append(_long_level(like, profile, factors)[0])
            found.append(factors)
    if not levels:
        return profile
    own = profile.hours_a_year / YEAR
    count = len(levels) + 1
    level = (own + math.fsum(levels)) / count
    months = [
        (profile.months[m] + math.fsum(factors[m] for factors in found)) / count for m in range(12)
    ]
    return Profile(level * YEAR, mean_one(months), profile.weekdays)


def _long_level(
    learned: Learned, profile: Profile, factors: Sequence[float]
) -> tuple[float, float]:
    """Mean hours of a day over the years, and the outings behind that figure."""
    own = max(profile.hours_a_year / YEAR, 1e-6)
    worth = LEVEL_WORTH * learned.size
    exposure = math.fsum(map(float.__mul__, factors, learned.days))
    ran, rate = updated(worth, worth / own, math.fsum(learned.hours), exposure)
    return ran / rate, ran / learned.size


def _level(learned: Learned, profile: Profile, factors: Sequence[float]) -> tuple[float, float]:
    """Mean hours of a day now, and the outings behind that figure."""
    long, outings = _long_level(learned, profile, factors)
    worth = learned.size / (1.0 / LONG_WORTH + 1.0 / outings)
    exposure = math.fsum(map(float.__mul__, factors, learned.recent_days))
    ran, rate = updated(worth, worth / long, learned.recent, exposure)
    return ran / rate, ran / learned.size


# -- the outlook ---------------------------------------------------------------------------------


class Outlook:
    """Use to come after the close of day `start`: 10, 50 and 90 % points by a grid of days."""

    __slots__ = ("_days", "_hours", "start")

    def __init__(self, start: int, days: array[int], hours: tuple[array[float], ...]) -> None:
        self.start, self._days, self._hours = start, days, hours

    def day_when(self, hours: float, chance: float) -> int | None:
        """First day by which so many hours are used with this chance (0.1, 0.5 or 0.9).

        `start` itself where nothing is left, None beyond the ten years looked at.
        """
        if hours <= 0.0:
            return self.start
        points = self._hours[2 if chance < 0.3 else 0 if chance > 0.7 else 1]
        at = bisect_left(points, hours)
        if at == len(points):
            return None
        before, low = self._days[at - 1], points[at - 1]
        width = self._days[at] - before
        return before + max(1, math.ceil(width * (hours - low) / (points[at] - low) - 1e-9))

    def hours_by(self, day: int, chance: float) -> float:
        """Hours used by the close of a day: their 10, 50 or 90 % point (chance 0.1, 0.5, 0.9)."""
        points = self._hours[0 if chance < 0.3 else 2 if chance > 0.7 else 1]
        days = self._days
        if day <= self.start:
            return 0.0
        if day >= days[-1]:
            return points[-1]
        at = bisect_right(days, day)
        share = (day - days[at - 1]) / (days[at] - days[at - 1])
        return points[at - 1] + share * (points[at] - points[at - 1])

    def packed(self) -> bytes:
        """The outlook as bytes, the same on every machine; `unpacked` reads them."""
        days, hours = self._days, self._hours
        if sys.byteorder == "big":
            days, hours = days[:], tuple(points[:] for points in hours)
            _swap(days, hours)
        return days.tobytes() + b"".join(points.tobytes() for points in hours)

    @classmethod
    def unpacked(cls, data: bytes) -> Outlook:
        """The outlook that `packed` wrote."""
        size = len(data) // 4
        days = array("i", data[:size])
        hours = tuple(array("f", data[size * k : size * (k + 1)]) for k in (1, 2, 3))
        if sys.byteorder == "big":
            _swap(days, hours)
        return cls(days[0], days, hours)


def _swap(days: array[int], hours: tuple[array[float], ...]) -> None:
    days.byteswap()
    for points in hours:
        points.byteswap()


def outlook(
    learned: Learned,
    profile: Profile,
    away: Sequence[tuple[int, int]] = (),
    booked: Booked | None = None,
) -> Outlook:
    """The use to come, from what a log told and the profile (borrowed for a young engine).

    On the days of `away` (first, last) it will not run.
    """
    factors = month_factors(profile, learned.hours, learned.days, learned.size)
    level, outings = _level(learned, profile, factors)
    grid, sums, unseen = _grid(learned, profile, factors, level, away, booked)
    columns = tuple(array("f", [0.0]) for _ in range(3))
    for exposure, strange in zip(sums[1:], unseen[1:], strict=True):
        strays = DRIFT * DRIFT
        if exposure > 0.0:
            strays += (UNSEEN * strange / exposure) ** 2
        points = points_of(level * exposure, learned.size, 1.0 / outings + strays)
        for column, point in zip(columns, points, strict=True):
            column.append(max(point, column[-1]))
    return Outlook(learned.through, array("i", grid), columns)


def _grid(
    learned: Learned,
    profile: Profile,
    factors: Sequence[float],
    level: float,
    away: Sequence[tuple[int, int]],
    booked: Booked | None,
) -> tuple[list[int], list[float], list[float]]:
    """Days of the grid, the exposure up to each, and that in months the log never covered."""
    start = learned.through
    end = start + HORIZON
    days = {start + 7 * k for k in range(WEEKS + 1)}
    days.update(start + 7 * WEEKS + 28 * k for k in range(FOUR_WEEKS + 1))
    for first, last in away:
        days.update(day for day in (first - 1, last) if start < day < end)
    grid = sorted(days)
    pieces = _pieces(learned, profile, factors, level, (start, end), away, booked)
    sums, unseen = [0.0], [0.0]
    total = strange = 0.0
    week = Week(profile.weekdays)
    at = 1
    for first, last, factor, flat, new in pieces:
        while first <= last:
            upto = min(last, grid[at])
            length = upto - first + 1 if flat else week.upto(upto) - week.upto(first - 1)
            total += factor * length
            strange += factor * length if new else 0.0
            if upto == grid[at]:
                sums.append(total)
                unseen.append(strange)
                at += 1
            first = upto + 1
    return grid, sums, unseen


Piece = tuple[int, int, float, bool, bool]  # first, last, factor, weekdays do not count, unseen


def _pieces(
    learned: Learned,
    profile: Profile,
    factors: Sequence[float],
    level: float,
    span: tuple[int, int],
    away: Sequence[tuple[int, int]],
    booked: Booked | None,
) -> Iterator[Piece]:
    """The days to come, each stretch with the factor of its days."""
    start, end = span
    cuts = {start + 1, end + 1}
    for first, last in away:
        cuts.update(day for day in (first, last + 1) if start < day <= end)
    if booked:
        cuts.update(range(max(start + 1, booked.first), min(end, booked.last) + 2))
    edges = sorted(cuts)
    halves = _halves(factors)
    seen, each, other = learned.booked
    if seen < BOOKED_ENOUGH or each <= 0.0:
        each, other = level * BOOKED, NOT_BOOKED
    for begin, stop in pairwise(edges):
        if any(first <= begin <= last for first, last in away):
            yield begin, stop - 1, 0.0, True, False
            continue
        inside = booked is not None and booked.first <= begin <= booked.last
        if inside and booked is not None and begin in booked.days:
            yield begin, stop - 1, each / level, True, False
            continue
        for half, first, last in half_months(begin, stop - 1):
            factor = halves[half] * (other if inside else 1.0)
            yield first, last, factor, False, learned.days[half // 2] < 1.0


def _halves(factors: Sequence[float]) -> list[float]:
    """Factors of half months: each month's leans towards its neighbours, and keeps its mean."""
    found = []
    for month, factor in enumerate(factors):
        one = 3.0 * factor + factors[month - 1] + 1e-9
        two = 3.0 * factor + factors[(month + 1) % 12] + 1e-9
        found += [2.0 * factor * one / (one + two), 2.0 * factor * two / (one + two)]
    return found
