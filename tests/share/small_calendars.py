"""Other people's calendars, written by hand for tests, and the fleet they speak of."""

from __future__ import annotations

from datetime import date, tzinfo
from zoneinfo import ZoneInfo

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.booked import Bookings
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import Water
from fleetcare.share.bookings import busy_days

HOME = ZoneInfo("Europe/Stockholm")
FIRST, LAST = date(2026, 6, 1), date(2026, 6, 30)


def boats(*names: str, **also: str) -> Fleet:
    """A fleet of boats alone; `also` gives a boat another name."""
    made = {
        name: Boat(name, "hire", Water.FRESH, date(2020, 1, 1), also=(also[name],) if name in also
                   else ())
        for name in names
    }  # fmt: skip
    return Fleet("a fleet", Settings(), made, {})


FLEET = boats("Lark", "Knot", "Lark Two", Knot="Number 7")


def event(*lines: str, uid: str = "one", summary: str = "Lark") -> list[str]:
    """The lines of an event."""
    return ["BEGIN:VEVENT", f"UID:{uid}", f"SUMMARY:{summary}", *lines, "END:VEVENT"]


def calendar(*lines: str) -> bytes:
    """A calendar of these lines."""
    whole = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//test//EN", *lines, "END:VCALENDAR", ""]
    return "\r\n".join(whole).encode()


def read(
    content: bytes, first: date = FIRST, last: date = LAST, zone: tzinfo = HOME,
    fleet: Fleet = FLEET,
) -> Bookings:  # fmt: skip
    """What a calendar books in June 2026, by the clock of Stockholm."""
    return busy_days(content, fleet, first, last, zone)


def june(*lines: str, boat: str = "Lark", kind: str = "booked", summary: str = "Lark") -> list[int]:
    """The days of June that one event books, as days of the month."""
    return days(read(calendar(*event(*lines, summary=summary))), boat, kind)


def days(found: Bookings, boat: str = "Lark", kind: str = "booked") -> list[int]:
    """A boat's booked, tentative or unknown days, as days of the month."""
    ordinals = getattr(found.of(boat), kind)
    return [date.fromordinal(day).day for day in sorted(ordinals)]


def why(found: Bookings) -> str:
    """The one thing that was not understood, in words."""
    assert len(found.misread) == 1, found.misread
    return found.misread[0].why
