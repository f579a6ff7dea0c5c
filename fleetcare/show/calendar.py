"""A calendar feed (iCalendar, RFC 5545 and RFC 7986) out of events.

In: events, settled or not, and the calendar's name and note. Out: the bytes of the feed, always
the same for the same input. Refused: an alarm that is not one of `ALARMS`, two events of one UID,
a stamp without its time zone.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, MutableMapping, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

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
        return bytes(_item(event, alarm).to_ical())
    found = kept.get((event, alarm))
    if found is None:
        found = kept[event, alarm] = bytes(_item(event, alarm).to_ical())
    return found


def _add_refresh(feed: Calendar, every: timedelta) -> None:
    """How often to ask again: the standard's word for it, and the one in use before it."""
    from icalendar import vDuration

    # RFC 7986, 5.7 wants VALUE=DURATION, which the library leaves out of its own accord
    feed.add("refresh-interval", vDuration(every), parameters={"VALUE": "DURATION"})
    feed.add("x-published-ttl", vDuration(every))


def _item(event: Event, alarm: str | None) -> Item:
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
    item.add("transp", "OPAQUE" if event.kind == SERVICE_DAY else "TRANSPARENT")
    item.add("categories", text_value(*(plain(word) for word in event.categories)))
    item.add("summary", text_value(plain(event.title)))
    item.add("description", text_value(event.description))
    if event.status in COLORS:
        item.add("color", COLORS[event.status])
    # by the stamp and not by today: a feed in which nothing changed stays as it is
    if alarm is not None and event.on + timedelta(days=_day_of(alarm)) >= utc(event.stamp).date():
        item.add_component(_alarm(event, ALARMS[alarm]))
    return item


def _day_of(alarm: str) -> int:
    """On which day an alarm rings, counted from the event's."""
    return ALARMS[alarm].days  # the days of a negative timedelta are rounded down


def _alarm(event: Event, trigger: timedelta) -> Alarm:
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
