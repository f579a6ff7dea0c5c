"""A calendar feed (iCalendar, RFC 5545 and RFC 7986) out of events.

In: events, settled or not, and the calendar's name and note. Out: the bytes of the feed, always
the same for the same input. Refused: an alarm that is not one of `ALARMS`, two events of one UID,
a stamp without its time zone.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from fleetcare.due.records import CLEAR, DUE, OVERDUE
from fleetcare.show.event_words import plain
from fleetcare.show.events import NAMESPACE, SERVICE_DAY, Event, midnight
from fleetcare.show.settling import utc

if TYPE_CHECKING:
    from icalendar import Alarm, Calendar, Component
    from icalendar import Event as Item

PRODID = "-//fleetcare//feed 1//EN"  # counts formats of the feed, not releases: bytes stay alike
REFRESH_HOURS = 6
# Seconds count from midnight, wherever the reader is; both ring at nine in the morning.
ALARMS: Mapping[str, timedelta] = {
    "day before": timedelta(hours=-15),
    "same day": timedelta(hours=9),
}
# What programs read before RFC 7986 gave calendars a name and a description.
BEFORE_THEM: Mapping[str, str] = {"name": "x-wr-calname", "description": "x-wr-caldesc"}
# Red, yellow, green as in ISO 22324, in CSS3 names; no colour without a record. The title says it.
FOLD = 75  # octets of a line, RFC 5545, 3.1
COLORS: Mapping[str, str] = {OVERDUE: "red", DUE: "gold", CLEAR: "green"}


# Events already rendered, by event and alarm: feeds of several audiences share most of theirs.
Rendered = MutableMapping[tuple[Event, str | None], bytes]


def calendar(
    events: Sequence[Event],
    name: str,
    note: str,
    changed: date | datetime,
    refresh_hours: int = REFRESH_HOURS,
    alarm: str | None = None,
    uid: str | None = None,
    rendered: Rendered | None = None,
) -> bytes:
    """The feed of these events: UTF-8, CRLF, without METHOD, SOURCE and URL.

    `note` becomes the calendar's description. `changed` is when the feed as a whole was last
    changed, a day standing for its first moment in UTC; each event has its own. `alarm` is None
    or a word of `ALARMS`; an alarm of a day before the event's last change is left out. `uid`
    names the calendar itself; without one it follows from the name. A feed without events holds a
    lone time zone, since a calendar must have a component (RFC 5545, 3.6). `rendered` keeps what
    several feeds share.
    """
    from icalendar import Calendar

    if alarm is not None and alarm not in ALARMS:
        raise ValueError(f'alarm takes {" or ".join(ALARMS)}, not "{alarm}"')
    if refresh_hours < 1:
        raise ValueError("refresh_hours takes a whole number of hours from 1")
    if len({event.uid for event in events}) < len(events):
        raise ValueError("two events have the same UID")
    feed = Calendar()
    feed.add("prodid", text_value(PRODID))
    feed.add("version", "2.0")
    name = plain(name)
    feed.add("uid", text_value(uid or str(uuid.uuid5(NAMESPACE, f"calendar\n{name}"))))
    moment = utc(changed) if isinstance(changed, datetime) else midnight(changed)
    feed.add("last-modified", max([moment, *(utc(event.stamp) for event in events)]))
    for key, text in (("name", name), ("description", note)):
        for same in (key, BEFORE_THEM[key]):
            feed.add(same, text_value(text))
    _add_refresh(feed, timedelta(hours=refresh_hours))
    if not events:
        feed.add_component(_lone_zone())
    return _with_items(feed, [_rendered(event, alarm, rendered) for event in events])


def _with_items(feed: Calendar, items: list[bytes]) -> bytes:
    """The calendar with rendered events in it, before its last line."""
    end = b"END:VCALENDAR\r\n"
    return bytes(feed.to_ical()).removesuffix(end) + b"".join(items) + end


def _rendered(event: Event, alarm: str | None, kept: Rendered | None) -> bytes:
    if kept is None:
        return _octets(event, alarm)
    found = kept.get((event, alarm))
    if found is None:
        found = kept[event, alarm] = _octets(event, alarm)
    return found


def _octets(event: Event, alarm: str | None) -> bytes:
    """An event as the library writes it, its values put into one that it wrote before."""
    if alarm is not None and not _rings(event, alarm):
        alarm = None
    values = (
        (MARK.uid, _escaped(event.uid)),
        (MARK.title, _escaped(plain(event.title))),
        (MARK.description, _escaped(event.description)),
        (MARK.categories[0], ",".join(_escaped(plain(word)) for word in event.categories)),
        (str(MARK.sequence), str(event.sequence)),
        (f"{MARK.stamp:%Y%m%dT%H%M%SZ}", f"{utc(event.stamp):%Y%m%dT%H%M%SZ}"),
        (f"{MARK.on:%Y%m%d}", _day_text(event.on)),
        (f"{MARK.on + timedelta(days=1):%Y%m%d}", _day_text(event.on + timedelta(days=1))),
    )
    lines = []
    for line, which in _pattern(event.kind == SERVICE_DAY, COLORS.get(event.status), alarm):
        for at in which:
            mark, value = values[at]
            line = line.replace(mark, value, 1)
        lines.append(_folded(line) if line.isascii() else _folded_wide(line))
    return b"\r\n".join(lines) + b"\r\n"


@dataclass(frozen=True)
class _Mark:
    """What stands for the values of an event in a pattern."""

    uid: str = "@uid@"
    title: str = "@title@"
    description: str = "@description@"
    categories: tuple[str, ...] = ("@categories@",)
    sequence: int = 987654321
    stamp: datetime = datetime(2001, 1, 3, 4, 5, 6, tzinfo=UTC)
    on: date = date(2002, 2, 3)


MARK = _Mark()


@lru_cache(maxsize=64)
def _pattern(
    service: bool, color: str | None, alarm: str | None
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """The lines the library writes of a kind of event, each with the values it holds."""
    marks = (
        MARK.uid, MARK.title, MARK.description, MARK.categories[0], str(MARK.sequence),
        f"{MARK.stamp:%Y%m%dT%H%M%SZ}", f"{MARK.on:%Y%m%d}",
        f"{MARK.on + timedelta(days=1):%Y%m%d}",
    )  # fmt: skip
    lines = [str(line) for line in _item(MARK, service, color, alarm).content_lines() if line]
    return tuple(
        (line, tuple(at for at, mark in enumerate(marks) if mark in line)) for line in lines
    )


def _day_text(day: date) -> str:
    return day.isoformat().replace("-", "")


def _folded_wide(line: str) -> bytes:
    from icalendar.parser import Contentline

    whole: Any = Contentline(line)  # type: ignore[no-untyped-call]  # as the library has it
    return bytes(whole.to_ical())


def _folded(line: str) -> bytes:
    """A line of plain letters folded by RFC 5545, 3.1, and never within an escape."""
    if len(line) < FOLD:
        return line.encode()
    pieces, at = [], 0
    while at < len(line):
        end = at + FOLD - 1
        if end < len(line) and line[end - 1] in "\\^":
            end -= 1
        pieces.append(line[at:end])
        at = end
    return "\r\n ".join(pieces).encode()


def _add_refresh(feed: Calendar, every: timedelta) -> None:
    """How often to ask again: the standard's word for it, and the one in use before it."""
    from icalendar import vDuration

    # RFC 7986, 5.7 wants VALUE=DURATION, which the library leaves out of its own accord
    feed.add("refresh-interval", vDuration(every), parameters={"VALUE": "DURATION"})
    feed.add("x-published-ttl", vDuration(every))


def _item(event: Event | _Mark, service: bool, color: str | None, alarm: str | None) -> Item:
    from icalendar import Event as Item

    item = Item()
    item.add("uid", text_value(event.uid))
    item.add("dtstamp", utc(event.stamp))
    item.add("last-modified", utc(event.stamp))
    item.add("sequence", event.sequence)
    item.add("dtstart", event.on)
    item.add("dtend", event.on + timedelta(days=1))  # exclusive, RFC 5545, 3.6.1
    item.add("status", "CONFIRMED")
    # a job to be done takes nobody's day; on a service day the boat is out of hire
    item.add("transp", "OPAQUE" if service else "TRANSPARENT")
    item.add("categories", text_value(*(plain(word) for word in event.categories)))
    item.add("summary", text_value(plain(event.title)))
    item.add("description", text_value(event.description))
    if color is not None:
        item.add("color", color)
    if alarm is not None:
        item.add_component(_alarm(event, ALARMS[alarm]))
    return item


def _rings(event: Event, alarm: str) -> bool:
    """Whether an alarm is still to come, by the stamp and not by today.

    So a feed in which nothing changed stays as it is.
    """
    return event.on + timedelta(days=_day_of(alarm)) >= utc(event.stamp).date()


def _day_of(alarm: str) -> int:
    """On which day an alarm rings, counted from the event's."""
    return ALARMS[alarm].days  # the days of a negative timedelta are rounded down


def _alarm(event: Event | _Mark, trigger: timedelta) -> Alarm:
    from icalendar import Alarm, vDuration

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", vDuration(trigger))
    alarm.add("description", text_value(plain(event.title)))
    return alarm


def _lone_zone() -> Component:
    from icalendar import Timezone, TimezoneStandard

    zone, standard = Timezone(), TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    standard.add("dtstart", datetime(1970, 1, 1))
    standard.add("tzoffsetfrom", timedelta())
    standard.add("tzoffsetto", timedelta())
    standard.add("tzname", "UTC")
    zone.add_component(standard)
    return zone


def text_value(*texts: str) -> object:
    r"""A TEXT value, or a list of them, escaped here by RFC 5545, 3.3.11.

    The library writes NAME and its like without escapes, and turns `\N` in a text into a new line.
    """
    from icalendar.prop import vInline

    return vInline(",".join(_escaped(text) for text in texts))


def _escaped(text: str) -> str:
    lines = "\n".join(plain(line) for line in _lines(text))
    for char in "\\;,":
        lines = lines.replace(char, "\\" + char)
    return lines.replace("\n", "\\n")


def _lines(text: str) -> Iterable[str]:
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
