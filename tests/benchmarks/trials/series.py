"""One engine as the trial sees it: what its log said by a day, and what came of it."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import accumulate

from fleetcare.usage.forecast import Block

SPACED = 14


@dataclass(slots=True)
class Series:
    """Hours of each day from the ordinal `first` on; `read` are the days (counted from 0) at
    whose close the meter was read; `unit` is what error bars are taken over."""

    first: int
    hours: list[float]
    read: list[int]
    unit: str
    use: str
    booked: frozenset[int] = frozenset()
    sums: list[float] = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        self.sums = list(accumulate(self.hours, initial=0.0))

    def total(self, begin: int, end: int) -> float:
        """Hours of the days begin to end - 1."""
        return self.sums[end] - self.sums[begin]

    def readings(self, at: int) -> list[tuple[int, int, float]]:
        """(first day, day after the last, hours) between readings, up to the reading of day at."""
        out, before = [], 0
        for day in self.read:
            if day > at:
                break
            out.append((before, day + 1, self.total(before, day + 1)))
            before = day + 1
        return out

    def blocks(self, at: int) -> list[Block]:
        """The readings as blocks of two weeks or more, counted back from the reading of day at."""
        ends, last = [at + 1], at + 1
        for day in reversed(self.read):
            if day < at and last - (day + 1) >= SPACED:
                last = day + 1
                ends.append(last)
        ends.reverse()
        blocks, before = [], 0
        for end in ends:
            blocks.append(Block(self.first + before, self.first + end - 1, self.total(before, end)))
            before = end
        return blocks

    def reached(self, at: int, hours: float) -> int | None:
        """Days after day at until so many hours were run; None if not to the end of the truth."""
        target = self.sums[at + 1] + hours - 1e-9
        if self.sums[-1] < target:
            return None
        low, high = at + 1, len(self.hours)
        while low < high:
            middle = (low + high) // 2
            if self.sums[middle] >= target:
                high = middle
            else:
                low = middle + 1
        return low - (at + 1)


def origins(series: Series, begin: int, end: int, apart: int) -> list[int]:
    """Readings from day begin to day end, at least so many days apart."""
    chosen: list[int] = []
    for day in series.read:
        if begin <= day < end and (not chosen or day - chosen[-1] >= apart):
            chosen.append(day)
    return chosen


# -- the naive forecasts -------------------------------------------------------------------------

Points = tuple[float, float, float]
Naive = tuple[Points, Points | None]  # resampled, and as a bare figure


def four_weeks(series: Series, at: int, days: int, dice: random.Random) -> Naive:
    """The rate of the last four weeks: resampled, and as a bare figure three times over."""
    pool = [r for r in series.readings(at) if r[1] > at + 1 - 28]
    bare = spread(series.readings(at), at + 1 - 28, at + 1) / 28 * days
    return resampled(pool, days, dice), (bare, bare, bare)


def last_year(series: Series, at: int, days: int, dice: random.Random) -> Naive:
    """The same days a year ago; where there was no year, all readings so far."""
    readings = series.readings(at)
    begin, end = at + 1 - 365, at + 1 - 365 + days
    if begin < 0:
        begin, end = 0, at + 1
    pool = [r for r in readings if r[1] > begin and r[0] < end]
    bare = spread(readings, begin, end) / (end - begin) * days
    return resampled(pool, days, dice), (bare, bare, bare)


def twelve_months(series: Series, at: int, days: int, dice: random.Random) -> Naive:
    """All readings of the last twelve months, resampled, whatever their month."""
    pool = [r for r in series.readings(at) if r[1] > at + 1 - 365]
    return resampled(pool, days, dice), None


def spread(readings: list[tuple[int, int, float]], begin: int, end: int) -> float:
    """Hours of the days begin to end - 1, each reading's spread evenly over its days."""
    return sum(
        hours * max(0, min(end, b) - max(begin, a)) / (b - a)
        for a, b, hours in readings
        if b > begin and a < end
    )


def resampled(pool: list[tuple[int, int, float]], days: int, dice: random.Random) -> Points:
    """10, 50 and 90 % points of totals put together from readings drawn with replacement."""
    totals = []
    for _ in range(100):
        left, total = float(days), 0.0
        while left > 0:
            begin, end, hours = pool[int(dice.random() * len(pool))]
            share = min(1.0, left / (end - begin))
            total += hours * share
            left -= end - begin
        totals.append(total)
    totals.sort()
    return totals[10], totals[50], totals[89]
