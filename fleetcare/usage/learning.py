"""What an engine's own log tells of its use: sums over blocks of days, older ones fading.

Hours come in outings. Their rate follows day factors (month x weekday) and a level that drifts;
hours logged teach a gamma of the rate (Gamma-Poisson, NIST/SEMATECH e-Handbook 8.4.6). All
constants are our design choices, chosen on the tuning fleets of tests/benchmarks/trials.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from fleetcare.usage.gamma import updated
from fleetcare.usage.profile import Profile, Week, mean_one, stretches

SIZE = 3.0  # hours of an outing, until an engine's own log tells
SIZE_WORTH = 100.0  # hours of log that this guess is worth
LEVEL_WORTH = 3.0  # outings that the profile's yearly hours are worth
LONG_WORTH = 2.0  # outings that the level over the years is worth against the recent one
MONTH_WORTH = 10.0  # outings a year that the profile's months are worth
MONTH_NOISE = 0.2  # squared variation of one month's use from year to year
RECENT, LONG = 120.0, 1460.0  # half-lives of the recent level, and of months and long level, days
DRIFT = 0.2  # how far the level of a coming stretch strays from what the log tells
NET = 0.2  # part of what the straying level explains that is no noise of outings
FITTED = 16.0  # blocks whose misses look small because the months were fitted to them
LEAST_SIZE = 0.25  # hours

# A booked day runs this many times the year's mean day, a day not booked this share of its usual
# hours; balanced where one day of the season in four is booked.
BOOKED, NOT_BOOKED = 4.0, 0.5
BOOKED_ENOUGH = 20  # booked days in the log from which its own figures are taken

YEAR = 365.25


class Block(NamedTuple):
    """Hours that one engine ran from a day through a day (ordinals, both included)."""

    first: int
    last: int
    hours: float


class Booked(NamedTuple):
    """Days on which a boat is booked, and from when to when they are taken to be all of them."""

    days: frozenset[int]
    first: int
    last: int


class Learned(NamedTuple):
    """What one engine's log tells: sums over its blocks, older ones fading.

    `hours` and `days` are by month with the long half-life, `recent` and `recent_days` with the
    short one; days are weighed by their weekdays. `size` is the hours of an outing, `years` how
    many years of use the log covers by the engine's profile. `booked` is the number of booked
    days seen, the hours of one, and the share of usual hours on the others.
    """

    through: int
    hours: tuple[float, ...]
    days: tuple[float, ...]
    recent: float
    recent_days: tuple[float, ...]
    size: float
    years: float
    booked: tuple[float, float, float]


Parts = list[tuple[int, float]]  # month (0 to 11) and days weighed by their weekdays


def learn(
    blocks: Sequence[Block], profile: Profile, since: int, booked: Booked | None = None
) -> Learned:
    """What an engine's blocks tell; they are in order and do not overlap, gaps tell nothing."""
    through = max(since, blocks[-1].last) if blocks else since
    week = Week(profile.weekdays)
    parts: list[Parts] = []
    for first, last, _ in blocks:
        parts.append([(m, week.upto(b) - week.upto(a - 1)) for m, a, b in stretches(first, last)])
    ages = [through - (first + last) / 2 for first, last, _ in blocks]
    long = [2.0 ** (-age / LONG) for age in ages]
    short = [2.0 ** (-age / RECENT) for age in ages]
    days = _by_month(parts, long)
    factors: Sequence[float] = profile.months
    hours: Sequence[float] = (0.0,) * 12
    for _ in range(3):  # hours of a block across two months are shared out by the factors found
        hours = _shared(blocks, parts, long, factors)
        factors = month_factors(profile, hours, days, SIZE)
    usual = [math.fsum(factors[m] * w for m, w in part) for part in parts]
    known = math.fsum(profile.months[m] * w for part in parts for m, w in part)
    return Learned(
        through,
        tuple(hours),
        days,
        math.fsum(block.hours * weight for block, weight in zip(blocks, short, strict=True)),
        _by_month(parts, short),
        _size(blocks, usual, profile),
        known / YEAR,
        _booked_hours(blocks, usual, booked),
    )


def _by_month(parts: Sequence[Parts], weights: Sequence[float]) -> tuple[float, ...]:
    sums = [0.0] * 12
    for part, weight in zip(parts, weights, strict=True):
        for month, days in part:
            sums[month] += days * weight
    return tuple(sums)


def _shared(
    blocks: Sequence[Block],
    parts: Sequence[Parts],
    weights: Sequence[float],
    factors: Sequence[float],
) -> tuple[float, ...]:
    """Hours by month: each block's shared out by its days and the factors of their months."""
    sums = [0.0] * 12
    for block, part, weight in zip(blocks, parts, weights, strict=True):
        if block.hours <= 0.0:
            continue
        shares = [(factors[m] + 1e-6) * days for m, days in part]
        total = math.fsum(shares)
        for (month, _), share in zip(part, shares, strict=True):
            sums[month] += block.hours * weight * share / total
    return tuple(sums)


def month_factors(
    profile: Profile, hours: Sequence[float], days: Sequence[float], size: float
) -> tuple[float, ...]:
    """Month factors: the profile's, moved by the hours of each month against its days."""
    exposure = math.fsum(map(float.__mul__, profile.months, days))
    if exposure <= 0.0:
        return profile.months
    level = math.fsum(hours) / size / exposure
    if level <= 0.0:
        return profile.months
    found = []
    for month in range(12):
        usual = profile.months[month]
        worth = MONTH_WORTH * usual / 12.0
        due, ran = level * usual * days[month], hours[month] / size
        # A month seen once tells less than its outings do: the next year it will be another.
        thick = 1.0 + MONTH_NOISE * (due + ran) / max(days[month] / 30.0, 0.5)
        shape, rate = updated(worth, worth, ran / thick, due / thick)
        found.append(usual * shape / rate)
    return mean_one(found)


def _size(blocks: Sequence[Block], usual: Sequence[float], profile: Profile) -> float:
    """Hours of an outing: how far each block's hours were from what those before it told.

    Of the squared misses, what the straying of the level explains is taken out in part.
    """
    worth = LEVEL_WORTH * SIZE
    rate = worth / max(profile.hours_a_year / YEAR, 1e-6)
    ran = exposure = 0.0
    misses, total = 0.0, SIZE_WORTH
    before = 0
    for (_, last, hours), due in zip(blocks, usual, strict=True):
        fade = 2.0 ** ((before - last) / RECENT) if before else 1.0
        ran, exposure = ran * fade, exposure * fade
        mean = due * (worth + ran) / (rate + exposure)
        strays = NET * (DRIFT * DRIFT + SIZE / (worth + ran))
        own = exposure / (rate + exposure)  # the first blocks tell of the level, not of outings
        misses += own * ((hours - mean) ** 2 - strays * mean * mean)
        total += own * mean
        ran, exposure = updated(ran, exposure, hours, due)
        before = last
    more = 1.0 + FITTED / (len(blocks) + FITTED)
    return max((SIZE_WORTH * SIZE + more * misses) / total, LEAST_SIZE)


def _booked_hours(
    blocks: Sequence[Block], usual: Sequence[float], booked: Booked | None
) -> tuple[float, float, float]:
    """Booked days seen, hours of one, and the share of usual hours on a day not booked.

    Shared out again and again by what was found before (expectation and maximisation).
    """
    if booked is None:
        return 0.0, 0.0, 0.0
    rows = []
    for (first, last, hours), due in zip(blocks, usual, strict=True):
        if booked.first <= first and last <= booked.last:
            taken = sum(day in booked.days for day in range(first, last + 1))
            rows.append((hours, taken, due * (1.0 - taken / (last - first + 1))))
    seen = sum(row[1] for row in rows)
    free = math.fsum(row[2] for row in rows)
    level = math.fsum(block.hours for block in blocks) / max(math.fsum(usual), 1e-9)
    if seen < BOOKED_ENOUGH or level <= 0.0 or free <= 0.0:
        return float(seen), 0.0, 0.0
    each, other = level * BOOKED, level * NOT_BOOKED
    for _ in range(30):
        mine = [h * each * n / max(each * n + other * e, 1e-12) for h, n, e in rows]
        total = math.fsum(mine)
        other = (math.fsum(row[0] for row in rows) - total) / free
        each = total / seen
    return float(seen), each, other / level
