"""When and where there is work: open days, minutes, boats in at once, places apart, rates.

A place that the settings name for minutes or boats is apart: it has its own, and boats that lie
there are done there. All others share one workshop, called "". Engines in store are where their
last boat lies.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from fleetcare.fleet.names import folded, natural
from fleetcare.fleet.settings import Settings, numbers_by_place, weekdays_of
from fleetcare.plan.problem import Place

SHARED = ""
HUNDREDTHS = 100


@dataclass(frozen=True, slots=True)
class Rates:
    """What things weigh, in workshop minutes: exact shares, as the settings have them."""

    hour: Fraction
    boat_day: Fraction
    precursor: int
    late: int
    unplaced: int

    def minutes_of(self, money: Fraction) -> Fraction:
        """The workshop minutes that cost so much."""
        return money / self.hour * 60


@dataclass(frozen=True, slots=True)
class Calendar:
    """The days of a plan: the first one's ordinal, how many, and by boat those it is taken.

    `closed` are days, by place, on which nobody works beside the weekdays; under "" those of the
    shared workshop.
    """

    first: int
    days: int
    taken: Mapping[str, Collection[int]] = field(default_factory=dict)
    closed: Mapping[str, Collection[int]] = field(default_factory=dict)

    @property
    def last(self) -> int:
        """The last day's ordinal."""
        return self.first + self.days - 1

    def busy(self, boat: str) -> frozenset[int]:
        """The days, from 0, on which a boat cannot come in."""
        days = (day - self.first for day in self.taken.get(boat, ()))
        return frozenset(day for day in days if 0 <= day < self.days)


def rates_of(settings: Settings) -> Rates:
    """The rates and weights of the settings."""
    hour = Fraction(settings.hourly_rate)
    return Rates(
        hour, Fraction(settings.boat_day_cost) / hour * 60, int(settings.weight_precursor),
        int(settings.weight_late), int(settings.weight_unplaced),
    )  # fmt: skip


def places_apart(settings: Settings) -> list[str]:
    """The places that have minutes or boats of their own, as the settings write them."""
    names: dict[str, str] = {}
    for text in (settings.workshop_minutes, settings.boats_out):
        for place in (numbers_by_place(text) or (0, {}))[1]:
            names.setdefault(folded(place), place)
    return sorted(names.values(), key=natural)


def place_named(settings: Settings, place: str) -> str:
    """The place where a boat that lies at `place` is done."""
    named = {folded(name): name for name in places_apart(settings)}
    return named.get(folded(place), SHARED)


def places_of(settings: Settings, calendar: Calendar) -> tuple[Place, ...]:
    """Every place with its minutes by day, the shared workshop first."""
    minutes, boats = settings.workshop_minutes, settings.boats_out
    return tuple(
        Place(name, _by_day(settings, calendar, name, _number(minutes, name)), _number(boats, name))
        for name in (SHARED, *places_apart(settings))
    )


def _number(text: str, place: str) -> int:
    usual, apart = numbers_by_place(text) or (0, {})
    by_name = {folded(name): number for name, number in apart.items()}
    return by_name.get(folded(place), usual) if place else usual


def _by_day(settings: Settings, calendar: Calendar, place: str, minutes: int) -> tuple[int, ...]:
    weekdays = weekdays_of(settings.open_days) or frozenset()
    closed = frozenset(calendar.closed.get(place, ()))
    return tuple(
        minutes if date.fromordinal(day).weekday() in weekdays and day not in closed else 0
        for day in range(calendar.first, calendar.last + 1)
    )
