"""One event of another calendar: its dates as the library reads them, held to the RFC.

In: an event, and the zone in which a day is a day. Out: its days, its texts. Refused, with a
`MisreadError`: an end before the start, of another kind, or given twice over; what cannot be read.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Any

from fleetcare.fleet.booked import Run
from fleetcare.share.recurrence import RuleError, straight

if TYPE_CHECKING:
    from icalendar import Event

LONGEST = timedelta(days=3_660)


class MisreadError(ValueError):
    """Why an event cannot be read; `days` are those it might have meant, if they are known."""

    def __init__(self, why: str, days: tuple[date, date] | None = None) -> None:
        super().__init__(why)
        self.days = days


def is_zone_rule(text: str) -> bool:
    """Whether a zone's rule is the yearly one that all zones have."""
    if "FREQ=YEARLY" not in text.upper():
        return False
    try:
        straight(text, date(1970, 1, 1), date(2040, 1, 1), UTC)
    except RuleError:
        return False
    return True


def value_of(event: Event, name: str) -> Any:
    """A date, moment or duration of an event, None when there is none or it cannot be read."""
    from icalendar.prop import vBroken

    value = event.get(name)
    if value is None:
        return None
    if isinstance(value, vBroken):
        raise MisreadError(f"has a {name} that cannot be read")
    return value.dt


def check_end(
    event: Event, start: date, repeats: bool, since: tuple[date, date], zone: tzinfo
) -> None:
    """Refuse an end that is before the start, of another kind, or given twice over."""
    try:
        end, length = value_of(event, "DTEND"), value_of(event, "DURATION")
    except MisreadError as error:
        raise MisreadError(str(error), since) from None
    if end is not None and length is not None:
        raise MisreadError("has both an end and a duration", since)
    if isinstance(length, timedelta):
        if length < timedelta():
            raise MisreadError("has a duration below zero", since)
        if length > LONGEST:
            raise MisreadError("lasts more than ten years", since)
    if end is None:
        return
    if isinstance(end, datetime) != isinstance(start, datetime):
        raise MisreadError("begins with a day and ends with a time, or the other way", since)
    one, other = _comparable(start, zone), _comparable(end, zone)
    if other < one:
        hull = (local_day(end, zone), local_day(start, zone))
        raise MisreadError("ends before it begins", since if repeats else hull)
    if other - one > LONGEST:
        raise MisreadError("lasts more than ten years", since)


def _comparable(moment: date, zone: tzinfo) -> datetime:
    if not isinstance(moment, datetime):
        return datetime(moment.year, moment.month, moment.day, tzinfo=UTC)
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)


def _local(moment: datetime, zone: tzinfo) -> datetime:
    """A moment by the clock of the fleet; one without a zone is the fleet's own already."""
    return moment if moment.tzinfo is None else moment.astimezone(zone).replace(tzinfo=None)


def local_day(moment: date, zone: tzinfo) -> date:
    """The day of a day or a moment, by the clock of the fleet."""
    if not isinstance(moment, datetime):
        return moment
    try:
        return _local(moment, zone).date()
    except OverflowError:
        return moment.date()


def days_of(event: Event, zone: tzinfo) -> Run:
    """First and last day of an instance; its end is exclusive, RFC 5545, 3.6.1."""
    start, end, length = (value_of(event, name) for name in ("DTSTART", "DTEND", "DURATION"))
    if end is None:
        whole = not isinstance(start, datetime)
        end = start + (length if length is not None else timedelta(days=1 if whole else 0))
    if not isinstance(start, datetime):
        last = end.toordinal() - 1
        return start.toordinal(), max(start.toordinal(), last)
    begin, close = _local(start, zone), _local(end, zone)
    if close > begin:
        close -= timedelta(microseconds=1)
    return begin.toordinal(), max(begin.toordinal(), close.toordinal())


def texts_of(event: Event) -> str:
    """What may name a boat."""
    texts = []
    for name in ("SUMMARY", "LOCATION", "CATEGORIES", "RESOURCES"):
        value = event.get(name, "")
        for item in value if isinstance(value, list) else [value]:
            texts.append(plain_text(item.to_ical().decode() if hasattr(item, "cats") else item))
    return "\n".join(map(str, texts))


def plain_text(text: str) -> str:
    """A TEXT value, or a list of them, without its escapes (RFC 5545, 3.3.11)."""
    out, escaped = [], False
    for char in str(text):
        if escaped:
            out.append("\n" if char in "nN" else char)
            escaped = False
        elif char == "\\":
            escaped = True
        else:
            out.append(char)
    return "".join(out).strip()


def unknown_zones(event: Event) -> list[str]:
    """The zones an event names that neither the library nor the file knows."""
    found = []
    for name in ("DTSTART", "DTEND", "RECURRENCE-ID", "RDATE", "EXDATE"):
        value = event.get(name)
        for item in value if isinstance(value, list) else [value]:
            zone = getattr(item, "params", {}).get("TZID") if item is not None else None
            moment = getattr(item, "dt", None)
            if zone and isinstance(moment, datetime) and moment.tzinfo is None:
                found.append(str(zone))
    return found
