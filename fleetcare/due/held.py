"""How well the dates of the past have held: what was said then, what came, and the figures.

A date counts once its late day lies behind the last day whose hours are known, whether or not
life ran out before. To count those that came, and to wait with those that have not, would favour
dates that came early.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import NamedTuple

from fleetcare.fleet.components import Component
from fleetcare.rules.rule import Rule

HORIZONS = (30, 90)  # days over which hours are judged
ENOUGH = 20  # dates below which shares tell nothing: our choice
CHANCES = (0.1, 0.5, 0.9)
HELD, EARLIER, LATER, OPEN = "held", "earlier", "later", "open"


@dataclass(frozen=True, slots=True)
class Asked:
    """What to look at: days of origins (ordinals), one boat or engine, every how many months."""

    first: int | None = None
    last: int | None = None
    boat: str | None = None
    engine: str | None = None
    every: int | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """One date, as it was said on the day `looked_on`, and what came of it.

    Days are ordinals. `hours_left` are hundredths. `came_on` is the day the clock's life was used
    up, None where it had not been by `known_to`, the last day whose hours are known; it is never
    before `looked_on`, since no date is said for the past. `late` is None beyond ten years.
    """

    looked_on: int
    engine: str
    boat: str | None
    use: str
    in_first_year: bool
    rule: Rule
    component: Component
    clock_start: int
    governed_by: str
    hours_left: Fraction
    early: int
    on: int | None
    late: int | None
    came_on: int | None
    known_to: int

    @property
    def counts(self) -> bool:
        """Whether it can be judged: its late day has gone by."""
        return self.late is not None and self.late <= self.known_to

    @property
    def verdict(self) -> str:
        """Held, earlier or later than said, or still open."""
        if not self.counts:
            return OPEN
        if self.came_on is None or self.came_on > (self.late or 0):
            return LATER
        return EARLIER if self.came_on < self.early else HELD

    @property
    def shares(self) -> tuple[float, float, float]:
        """How much it counts as held, earlier, later: at an end of its span a half each."""
        if not self.counts:
            return 0.0, 0.0, 0.0
        if self.came_on == self.early:
            return 0.5, 0.5, 0.0
        if self.came_on == self.late:
            return 0.5, 0.0, 0.5
        verdict = self.verdict
        return float(verdict == HELD), float(verdict == EARLIER), float(verdict == LATER)

    @property
    def off(self) -> int | None:
        """Days from the middle day to the day it came; at least so many where it has not yet."""
        if self.on is None:
            return None
        return (self.known_to if self.came_on is None else self.came_on) - self.on


@dataclass(frozen=True, slots=True)
class Ran:
    """Hours of one engine over the days after the last known one, as foreseen and as run.

    `points` are the 10, 50 and 90 % points. `four_weeks` and `last_year` are what the rate of the
    last four weeks, and the same days a year before, would have said; None without such a past.
    """

    looked_on: int
    engine: str
    use: str
    in_first_year: bool
    days: int
    points: tuple[float, float, float]
    ran: float
    four_weeks: float | None
    last_year: float | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Dates that were not looked at: the calendar decides them, used up already, out of sight."""

    by_calendar: int = 0
    used_up: int = 0
    beyond: int = 0


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything looked at, every so many months, and what was left out."""

    dates: tuple[Looked, ...]
    hours: tuple[Ran, ...]
    left_out: LeftOut
    every: int
    first: int | None
    last: int | None


# -- the figures ---------------------------------------------------------------------------------


class Shares(NamedTuple):
    """How many dates count, of how many clocks, how they fell, and how far off the middle was.

    `held`, `earlier` and `later` count dates, by halves. `off` is the median of days between the
    middle day and the day it came, `late_by` the same with its sign: positive when it came later.
    """

    dates: int
    clocks: int
    held: float
    earlier: float
    later: float
    open: int
    off: float | None
    late_by: float | None

    @property
    def are_enough(self) -> bool:
        """Whether there are enough dates to tell anything."""
        return self.dates >= ENOUGH

    def whole(self) -> tuple[int, int, int]:
        """Held, earlier and later in whole dates that add up, the largest rest rounded first."""
        parts = (self.held, self.earlier, self.later)
        told = [math.floor(part) for part in parts]
        by_rest = sorted(range(3), key=lambda at: (told[at] - parts[at], at))
        for at in by_rest[: self.dates - sum(told)]:
            told[at] += 1
        return told[0], told[1], told[2]


def shares(dates: Sequence[Looked]) -> Shares:
    """The figures of some dates."""
    counted = [item for item in dates if item.counts]
    held, earlier, later = (math.fsum(item.shares[at] for item in counted) for at in range(3))
    clocks = {(item.component, item.rule.name, item.clock_start) for item in counted}
    off = [item.off for item in counted if item.off is not None]
    return Shares(
        len(counted), len(clocks), held, earlier, later, len(dates) - len(counted),
        float(median(map(abs, off))) if off else None, float(median(off)) if off else None,
    )  # fmt: skip


class Losses(NamedTuple):
    """Pinball loss of hours over the days after the last known one, against a plain forecast.

    `below` is the share by which the forecast's loss is below the other's, None without a loss
    to stand against; negative where it is above.
    """

    days: int
    against: str
    looks: int
    below: float | None


FOUR_WEEKS, LAST_YEAR = "last four weeks' rate", "same days last year"


def losses(hours: Sequence[Ran]) -> list[Losses]:
    """The loss over each horizon against each plain forecast, where both can be told."""
    found = []
    for days in HORIZONS:
        rows = [item for item in hours if item.days == days]
        for name in (FOUR_WEEKS, LAST_YEAR):
            plain = [
                (item, value)
                for item in rows
                if (value := item.four_weeks if name == FOUR_WEEKS else item.last_year) is not None
            ]
            ours = math.fsum(pinball(item.points, item.ran) for item, _ in plain)
            theirs = math.fsum(pinball((value,) * 3, item.ran) for item, value in plain)
            found.append(Losses(days, name, len(plain), 1 - ours / theirs if theirs else None))
    return found


def pinball(points: tuple[float, float, float], ran: float) -> float:
    """The mean pinball loss of 10, 50 and 90 % points, in hours (Koenker and Bassett 1978)."""
    return math.fsum(
        max(chance * (ran - point), (chance - 1.0) * (ran - point))
        for chance, point in zip(CHANCES, points, strict=True)
    ) / len(CHANCES)


FIRST_YEAR, AFTER = "first year", "after it"


class Group(NamedTuple):
    """Some of what was looked at: what they share, and their figures."""

    by: str
    name: str
    shares: Shares
    losses: list[Losses]


def groups(seen: Judgement) -> list[Group]:
    """All, by use, and by the age of the engine's log; the last two where they differ."""
    uses = sorted({item.use for item in seen.dates} | {item.use for item in seen.hours})
    parts: list[tuple[str, str, Sequence[Looked], Sequence[Ran]]] = [
        ("use", use, [item for item in seen.dates if item.use == use],
         [item for item in seen.hours if item.use == use])
        for use in (uses if len(uses) > 1 else [])
    ]  # fmt: skip
    for name, young in ((FIRST_YEAR, True), (AFTER, False)):
        dates = [item for item in seen.dates if item.in_first_year == young]
        hours = [item for item in seen.hours if item.in_first_year == young]
        if 0 < len(dates) + len(hours) < len(seen.dates) + len(seen.hours):
            parts.append(("age", name, dates, hours))
    parts.append(("all", "all", seen.dates, seen.hours))
    return [Group(by, name, shares(dates), losses(hours)) for by, name, dates, hours in parts]
