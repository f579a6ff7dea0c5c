"""Busy days of boats out of other people's calendars.

In: an iCalendar file, the fleet, a span of days, and the zone in which a day is a day. Out:
`Bookings`. An event books every boat that its summary, place, categories or resources name; where
it names none, the one that the calendar's own name names. Cancelled and transparent events leave
a boat free, tentative ones are marked. What could not be read is unknown, never free: an event
leaves its boats unknown on the days it might have meant, a file that is not whole every boat.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta, tzinfo
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcare.fleet.booked import Bookings, Misread, Run, busy
from fleetcare.share.boat_names import BoatNames
from fleetcare.share.booking_event import (
    MisreadError,
    check_end,
    days_of,
    is_zone_rule,
    local_day,
    plain_text,
    texts_of,
    unknown_zones,
    value_of,
)
from fleetcare.share.ics import MOST_BYTES, Chunk, Sheet, cut, names_of
from fleetcare.share.recurrence import RuleError, straight
from fleetcare.show.event_words import plain

if TYPE_CHECKING:
    from icalendar import Event

    from fleetcare.fleet.fleet import Fleet

MOST_DAYS = 1_100  # three years of days at once
MOST_STEPS = 200_000  # of all rules of a file together: some ten seconds at worst
SERIES_STEPS = 50  # what any series costs at least
MOST_DATES = 5_000  # in the RDATE and EXDATE of one event
MOST_MOVED = 2_000  # moved instances of one series
MOST_ZONE_SIZE = 100_000  # letters of one time zone
MARGIN = timedelta(days=3)  # zones differ by a day or so from each other
_ONCE = ("DTSTART", "DTEND", "DURATION", "RECURRENCE-ID", "UID", "STATUS", "TRANSP", "SEQUENCE")


def busy_days(
    source: Path | str | bytes,
    fleet: Fleet,
    first: date,
    last: date,
    zone: tzinfo,
    name: str = "",
    *,
    otherwise: tuple[str, ...] = (),
    transparent: bool = False,
) -> Bookings:
    """The busy days of every boat from `first` to `last`, both included, as one calendar tells.

    `source` is a file's path or an iCalendar file's bytes; `zone` turns moments into days and is
    where a time without a zone is read. `name` is what reports call the source. A calendar that
    cannot be read raises nothing: every boat is then unknown, and the report says why.
    `otherwise` are booked by events that name none; `transparent` says that events which leave
    time free in a calendar count as well.
    """
    if last < first or (last - first).days >= MOST_DAYS:
        raise ValueError(f"takes from 1 to {MOST_DAYS} days, first to last")
    taking = _Taking(fleet, first, last, zone, name or _name_of(source))
    taking.default, taking.transparent = otherwise, transparent
    content = _content(source)
    if isinstance(content, str):
        taking.lose_all(content, 0)
        return taking.result()
    taking.take(cut(content))
    return taking.result()


def lost(fleet: Fleet, first: date, last: date, zone: tzinfo, name: str, why: str) -> Bookings:
    """What is known when a calendar could not be reached: every boat unknown, and why."""
    taking = _Taking(fleet, first, last, zone, name)
    taking.lose_all(why, 0)
    return taking.result()


def _name_of(source: Path | str | bytes) -> str:
    return "calendar" if isinstance(source, bytes) else str(source)


def _content(source: Path | str | bytes) -> bytes | str:
    """The bytes, or why there are none; no more is read than is taken."""
    if isinstance(source, bytes):
        return source
    try:
        with Path(source).open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        return f"cannot be read: {error.strerror or error}"


@dataclass(slots=True)
class _Group:
    """What stands under one UID: the series itself and its moved or changed instances."""

    chunks: list[Chunk] = field(default_factory=list)

    @property
    def repeats(self) -> bool:
        """Whether it is more than one plain event."""
        return any(chunk.has(n) for chunk in self.chunks for n in ("RRULE", "RDATE"))


@dataclass(slots=True)
class _Days:
    booked: set[int] = field(default_factory=set)
    tentative: set[int] = field(default_factory=set)
    unknown: set[int] = field(default_factory=set)


class _Taking:
    """One calendar being read."""

    def __init__(self, fleet: Fleet, first: date, last: date, zone: tzinfo, name: str) -> None:
        self.first, self.last, self.zone, self.name = first, last, zone, name
        self.boats = {boat: _Days() for boat in fleet.boats}
        self.names = BoatNames(fleet)
        self.default: tuple[str, ...] = ()
        self.transparent = False
        self.misread: list[Misread] = []
        self.events = 0
        self.steps = 0
        self.zones: set[str] = set()

    def result(self) -> Bookings:
        """What was read so far."""
        boats = {
            name: busy(days.booked, days.tentative, days.unknown)
            for name, days in self.boats.items()
        }
        first, last = self.first.toordinal(), self.last.toordinal()
        report = sorted(self.misread, key=lambda item: item.line)
        return Bookings(first, last, boats, tuple(report), self.events)

    def take(self, sheet: Sheet) -> None:
        """Everything in the file."""
        from icalendar import use_zoneinfo

        use_zoneinfo()  # type: ignore[no-untyped-call]  # forgets the zones that an earlier file made up
        self.default = self.names.in_text(plain_text(sheet.name)) or self.default
        if sheet.wrong:
            self.lose_all(sheet.wrong, sheet.wrong_line)
        if sheet.latin:
            self._say(sheet.latin, "has letters that are not UTF-8; read as Latin-1")
        for line, why in sheet.left_out:
            self._say(line, why)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for chunk in sheet.zones:
                self._learn_zone(chunk)
            groups: dict[str, _Group] = {}
            for chunk in sheet.events:
                uid = chunk.value("UID").strip() or f"line {chunk.line}"
                groups.setdefault(uid, _Group()).chunks.append(chunk)
            for group in groups.values():
                self._take_group(group)

    def lose_all(self, why: str, line: int) -> None:
        """The file as a whole is not to be trusted: what it does not book is unknown."""
        span = (self.first.toordinal(), self.last.toordinal())
        self._mark_unknown(self.boats, span)
        self.misread.append(Misread(self.name, line, "", "", plain(why), tuple(self.boats), span))

    def _say(self, line: int, why: str) -> None:
        self.misread.append(Misread(self.name, line, "", "", plain(why)))

    def _mark_unknown(self, boats: Iterable[str], span: Run) -> None:
        for boat in boats:
            self.boats[boat].unknown.update(range(span[0], span[1] + 1))

    # -- zones ------------------------------------------------------------------------------------

    def _learn_zone(self, chunk: Chunk) -> None:
        """Let the library know a zone that the file describes, if it is a harmless one."""
        from icalendar import Calendar

        depth, size = 0, sum(len(line.value) for line in chunk.lines)
        for line in chunk.lines:
            depth += (line.name == "BEGIN") - (line.name == "END")
            harmless = depth <= 1 and (line.name != "RRULE" or is_zone_rule(line.value))
            if not harmless or size > MOST_ZONE_SIZE:
                self._say(chunk.line, f"describes a time zone nobody can use: {line}"[:120])
                return
        body = "\r\n".join(["BEGIN:VTIMEZONE", *map(str, chunk.lines), "END:VTIMEZONE"])
        try:
            Calendar.from_ical(f"BEGIN:VCALENDAR\r\n{body}\r\nEND:VCALENDAR\r\n")
        except Exception as error:
            self._say(chunk.line, f"describes a time zone nobody can use ({type(error).__name__})")

    # -- events -----------------------------------------------------------------------------------

    def _take_group(self, group: _Group) -> None:
        """One UID; what is wrong with it is told, and its boats are unknown on its days."""
        head = next((c for c in group.chunks if not c.has("RECURRENCE-ID")), group.chunks[0])
        try:
            masters = [c for c in group.chunks if not c.has("RECURRENCE-ID")]
            if len(masters) > 1:
                self._tell(head, "stands in the file more than once; each time counts")
            for master in masters[1:]:
                self._take_series(_Group([master]))
            kept = [c for c in group.chunks if c.has("RECURRENCE-ID") or c is head]
            self._take_series(_Group(kept))
        except (MisreadError, RuleError) as error:
            self.steps += error.steps if isinstance(error, RuleError) else 0
            self._lose(group, head, str(error), error.days)
        except Exception as error:
            # whatever a hostile file makes of the library, the boat is not free
            self._lose(group, head, f"cannot be worked out ({type(error).__name__})", None)

    def _lose(self, group: _Group, head: Chunk, why: str, days: tuple[date, date] | None) -> None:
        boats = tuple(dict.fromkeys(b for c in group.chunks for b in self._boats_of(c)))
        first, last = self.first, self.last
        if days is not None:
            first, last = max(days[0], first), min(days[1], last)
        span = (first.toordinal(), last.toordinal()) if boats and first <= last else None
        if span:
            self._mark_unknown(boats, span)
        self._tell(head, why, boats, span)

    def _tell(
        self, chunk: Chunk, why: str, boats: tuple[str, ...] = (), unknown: Run | None = None
    ) -> None:
        uid, summary = plain(chunk.value("UID")), plain(plain_text(chunk.value("SUMMARY")))
        item = Misread(self.name, chunk.line, uid[:80], summary[:80], plain(why), boats, unknown)
        self.misread.append(item)

    def _take_series(self, group: _Group) -> None:
        events = [self._read(chunk, group.repeats) for chunk in group.chunks]
        if len(events) == 1 and not group.repeats:
            self._book(events[0], group.chunks[0], None)
            return
        if len(events) > MOST_MOVED:
            raise MisreadError(f"has more than {MOST_MOVED} changed instances")
        boats = self._boats_of(group.chunks[0])
        before = self.events
        for found in self._instances(events):
            self._book(found, group.chunks[0], boats)
        self.events = min(self.events, before + 1)

    def _instances(self, events: list[Event]) -> list[Event]:
        """The instances of a series near the span, as the library works them out."""
        from icalendar import Calendar
        from recurring_ical_events import of

        sheet = Calendar()
        for event in events:
            sheet.add_component(event)
        found: list[Event] = of(sheet).between(self.first - MARGIN, self.last + MARGIN)
        return found

    def _read(self, chunk: Chunk, repeats: bool) -> Event:
        """The event as the library reads it, once nothing in it can mislead."""
        from icalendar import Event, vRecur

        if chunk.broken:
            raise MisreadError(chunk.broken)
        twice = sorted(names_of(chunk.lines) & set(_ONCE))
        if twice:
            raise MisreadError(f"has {twice[0]} twice")
        rules = [line.value for line in chunk.lines if line.name == "RRULE"]
        lines = [str(line) for line in chunk.lines if line.name not in ("RRULE", "EXRULE")]
        event = Event.from_ical("\r\n".join(["BEGIN:VEVENT", *lines, "END:VEVENT", ""]))
        assert isinstance(event, Event)
        start = value_of(event, "DTSTART")
        if not isinstance(start, date):
            raise MisreadError("has no day it begins on" if start is None else "begins oddly")
        since = (local_day(start, self.zone), date.max)
        check_end(event, start, repeats, since, self.zone)
        self._check_rest(event, chunk, since)
        for text in rules:
            self._spend(0, since)  # looking at a rule costs, so none is once all is spent
            try:
                rule = straight(text, start, self.last + MARGIN, self.zone)
            except RuleError as error:
                error.days = since
                raise
            self._spend(rule.steps + SERIES_STEPS, since)
            if rule.doubt:
                self._tell(chunk, rule.doubt)
            event.add("rrule", vRecur.from_ical(rule.text))
        return event

    def _spend(self, steps: int, since: tuple[date, date]) -> None:
        self.steps += steps
        if self.steps > MOST_STEPS:
            raise MisreadError("is one of too many series for one file", since)

    def _check_rest(self, event: Event, chunk: Chunk, since: tuple[date, date]) -> None:
        """The other dates of an event, and doubts that leave nothing unknown."""
        from icalendar.prop import vBroken

        for name, value in event.items():
            for item in value if isinstance(value, list) else [value]:
                if isinstance(item, vBroken):
                    raise MisreadError(f"has a {name} that cannot be read", since)
        dates = sum(
            line.value.count(",") + 1 for line in chunk.lines if line.name in ("RDATE", "EXDATE")
        )
        if dates > MOST_DATES:
            raise MisreadError(f"has more than {MOST_DATES} single dates", since)
        if chunk.has("EXRULE"):
            self._tell(chunk, "has an EXRULE, which is no longer read: it may free some days")
        for zone in unknown_zones(event):
            if zone not in self.zones:
                self.zones.add(zone)
                self._tell(chunk, f'names a time zone nobody knows, "{zone[:60]}"; read as here')

    # -- what an instance books -------------------------------------------------------------------

    def _boats_of(self, chunk: Chunk) -> tuple[str, ...]:
        texts = [
            plain_text(line.value)
            for line in chunk.lines
            if line.name in ("SUMMARY", "LOCATION", "CATEGORIES", "RESOURCES")
        ]
        return self.names.in_text("\n".join(texts)) or self.default

    def _book(self, event: Event, chunk: Chunk, series: tuple[str, ...] | None) -> None:
        """Mark the days of one instance."""
        status = str(event.get("STATUS", "")).strip().upper()
        leaves_free = str(event.get("TRANSP", "")).strip().upper() == "TRANSPARENT"
        if status == "CANCELLED" or (leaves_free and not self.transparent):
            return
        days = days_of(event, self.zone)
        first, last = max(days[0], self.first.toordinal()), min(days[1], self.last.toordinal())
        if first > last:
            return
        boats = self.names.in_text(texts_of(event)) or series or self._boats_of(chunk)
        if not boats:
            if all(item.line != chunk.line for item in self.misread):
                self._tell(chunk, "names no boat")
            return
        self.events += 1
        for boat in boats:
            here = self.boats[boat]
            (here.tentative if status == "TENTATIVE" else here.booked).update(
                range(first, last + 1)
            )
