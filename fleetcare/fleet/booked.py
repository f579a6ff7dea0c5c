"""Booked days of boats, as other calendars tell them: booked, tentative, unknown, else free.

Days are ordinals. What could not be read is unknown, and unknown is never free.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

BOOKED, TENTATIVE, UNKNOWN, FREE = "booked", "tentative", "unknown", "free"
Run = tuple[int, int]  # the first and the last of days in a row


@dataclass(frozen=True, slots=True)
class Busy:
    """One boat's days: surely booked, tentatively booked, and those nobody could read.

    No day stands in two of them: booked wins over tentative, and both over unknown.
    """

    booked: frozenset[int] = frozenset()
    tentative: frozenset[int] = frozenset()
    unknown: frozenset[int] = frozenset()

    @property
    def taken(self) -> frozenset[int]:
        """Every day on which the boat must not be counted on: all but the free ones."""
        return self.booked | self.tentative | self.unknown

    def word(self, day: int) -> str:
        """Booked, tentative, unknown or free."""
        if day in self.booked:
            return BOOKED
        if day in self.tentative:
            return TENTATIVE
        return UNKNOWN if day in self.unknown else FREE


@dataclass(frozen=True, slots=True)
class Misread:
    """Something in a calendar that was not understood, or was read with a doubt.

    `line` is the line it begins on (0 for the whole file). `unknown` are the days that it leaves
    unknown for `boats`, None when it leaves none: then it was read, or concerns no boat.
    """

    source: str
    line: int
    uid: str
    summary: str
    why: str
    boats: tuple[str, ...] = ()
    unknown: Run | None = None


@dataclass(frozen=True, slots=True)
class Bookings:
    """What calendars say of every boat of the fleet from `first` to `last`, both included.

    `events` counts the events that booked a boat on some day of that time.
    """

    first: int
    last: int
    boats: Mapping[str, Busy]
    misread: tuple[Misread, ...] = ()
    events: int = 0

    def of(self, boat: str) -> Busy:
        """One boat's days; of a boat that no calendar was read for, all are unknown."""
        return self.boats.get(boat) or Busy(unknown=frozenset(range(self.first, self.last + 1)))


def busy(booked: Iterable[int], tentative: Iterable[int], unknown: Iterable[int]) -> Busy:
    """One boat's days, each in one of the three at most."""
    surely = frozenset(booked)
    maybe = frozenset(tentative) - surely
    return Busy(surely, maybe, frozenset(unknown) - surely - maybe)


def merged(several: Iterable[Bookings], first: int, last: int) -> Bookings:
    """What several calendars say together, of the days from `first` to `last`."""
    parts = list(several)
    span = frozenset(range(first, last + 1))
    names = dict.fromkeys(name for part in parts for name in part.boats)
    boats = {}
    for name in names:
        days = [part.of(name) for part in parts]
        boats[name] = busy(
            (day for each in days for day in each.booked if day in span),
            (day for each in days for day in each.tentative if day in span),
            (day for each in days for day in each.unknown if day in span),
        )
    return Bookings(
        first, last, boats, tuple(item for part in parts for item in part.misread),
        sum(part.events for part in parts),
    )  # fmt: skip


def runs(days: Iterable[int]) -> list[Run]:
    """Days in a row, as their first and last."""
    found: list[Run] = []
    for day in sorted(days):
        if found and found[-1][1] == day - 1:
            found[-1] = found[-1][0], day
        else:
            found.append((day, day))
    return found
