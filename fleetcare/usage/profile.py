"""What a use tells of the days to come before anything is logged, and how days are counted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

# The shape of a season in the profile: within it a half-sine on a step, outside a small share of
# its height; later months are learned.
STEP, OUTSIDE = 0.3, 0.06


class Profile(NamedTuple):
    """What a use tells before anything is logged: hours a year, factors of months and weekdays.

    `months` are 12 factors of use a day with mean 1 over the year, `weekdays` 7, Monday first.
    """

    hours_a_year: float
    months: tuple[float, ...]
    weekdays: tuple[float, ...]


Season = tuple[tuple[int, int], tuple[int, int]]


def profile_of(
    hours_a_year: float, season: Season | None, weekday_shares: Sequence[float]
) -> Profile:
    """The profile of a use: its season's first and last (month, day), None where it is flat."""
    total = math.fsum(weekday_shares)
    weekdays = tuple(7.0 * share / total for share in weekday_shares)
    if season is None:
        return Profile(hours_a_year, (1.0,) * 12, weekdays)
    (m1, d1), (m2, d2) = season
    first = date(2001, m1, min(d1, 28) if m1 == 2 else d1).timetuple().tm_yday
    last = date(2001, m2, min(d2, 28) if m2 == 2 else d2).timetuple().tm_yday
    length = (last - first) % 365 + 1
    sums = [0.0] * 12
    for day in range(1, 366):
        into = (day - first) % 365
        inside = STEP + (1.0 - STEP) * math.sin(math.pi * (into + 0.5) / length)
        sums[date.fromordinal(date(2001, 1, 1).toordinal() + day - 1).month - 1] += (
            inside if into < length else OUTSIDE
        )
    return Profile(hours_a_year, mean_one(_per_day(sums)), weekdays)


_LENGTHS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _per_day(sums: Sequence[float]) -> list[float]:
    return [total / days for total, days in zip(sums, _LENGTHS, strict=True)]


def mean_one(factors: Sequence[float]) -> tuple[float, ...]:
    """Factors of the months scaled to a mean of 1 over the days of a year."""
    mean = math.fsum(map(float.__mul__, factors, map(float, _LENGTHS))) / 365.25
    return tuple(factor / mean for factor in factors) if mean > 0.0 else (1.0,) * 12


class Week:
    """Running sums of weekday factors."""

    __slots__ = ("_sums",)

    def __init__(self, weekdays: Sequence[float]) -> None:
        sums = [0.0]
        for k in range(7):  # ordinal 1 was a Monday
            sums.append(sums[-1] + weekdays[k])
        self._sums = sums

    def upto(self, day: int) -> float:
        """The sum of the factors of all days through this one."""
        weeks, rest = divmod(day, 7)
        return 7.0 * weeks + self._sums[rest]


def stretches(first: int, last: int) -> Iterator[tuple[int, int, int]]:
    """(month 0 to 11, first, last) of each month's stretch within the days given."""
    day = date.fromordinal(first)
    year, month = day.year, day.month
    while first <= last:
        year, month, this = (year, month + 1, month) if month < 12 else (year + 1, 1, 12)
        end = date(year, month, 1).toordinal() - 1
        yield this - 1, first, min(end, last)
        first = end + 1


def half_months(first: int, last: int) -> Iterator[tuple[int, int, int]]:
    """(half month 0 to 23, first, last) of each half month's stretch; the 16th begins one."""
    for month, begin, end in stretches(first, last):
        middle = begin - date.fromordinal(begin).day + 15
        if begin <= middle:
            yield 2 * month, begin, min(middle, end)
        if end > middle:
            yield 2 * month + 1, max(middle + 1, begin), end
