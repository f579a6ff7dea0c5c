"""Days on which the workshop is closed, out of a calendar: holidays, regattas, the winter break.

Every event closes, whether or not it leaves time free in the calendar, but for cancelled ones. One
that names a place that is apart closes that place alone; any other every place. What cannot be
read closes: nobody can be counted on for a day that is not known to be open.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from pathlib import Path

from fleetcare.fleet.boats import USES, Boat
from fleetcare.fleet.booked import Misread
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import Water
from fleetcare.share.bookings import busy_days

_SHARED = "\ue000"  # stands for the shared workshop, which no event can name


@dataclass(frozen=True, slots=True)
class Closed:
    """Closed days by place, "" for the shared workshop, and what was not understood."""

    days: dict[str, frozenset[int]]
    misread: tuple[Misread, ...] = ()


def closed_days(
    source: Path | str | bytes, apart: Iterable[str], first: date, last: date, zone: tzinfo
) -> Closed:
    """The days, ordinals, from `first` to `last` on which each place is closed.

    `apart` are the places that have minutes of their own. A calendar that cannot be read raises
    nothing: every place is then closed, and the report says why.
    """
    names = (_SHARED, *apart)
    places = Fleet("", Settings(), {name: _as_boat(name, first) for name in names}, {})
    found = busy_days(source, places, first, last, zone, otherwise=names, transparent=True)
    return Closed(
        {"" if name == _SHARED else name: found.of(name).taken for name in names}, found.misread
    )


def together(several: Sequence[Closed]) -> Closed:
    """The days closed by any of several calendars."""
    names = dict.fromkeys(name for one in several for name in one.days)
    days = {
        name: frozenset().union(*(one.days.get(name, frozenset()) for one in several))
        for name in names
    }
    return Closed(days, tuple(item for one in several for item in one.misread))


def _as_boat(place: str, since: date) -> Boat:
    """A place in the terms of what reads bookings."""
    return Boat(place, USES[0], Water.FRESH, since)
