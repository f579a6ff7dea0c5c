"""A strict reader of calendar feeds: it takes what RFC 5545 and RFC 7986 demand, nothing looser.

Written from the two RFCs for the kinds of feed this project sends, with the standard library
alone, so that it shares no code with what it checks. It gives what it read, or raises a
`FeedError` with the line and the section broken. Sections marked "ours" are stricter than the
RFCs by choice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, time
from typing import Any

from tests.show.feed_values import (
    FeedError,
    Property,
    color,
    length,
    local,
    offset,
    one_of,
    refresh,
    text,
    texts,
    trigger,
    uid,
    utc,
    when,
    whole,
)

_NAME = re.compile(r"[A-Za-z0-9-]+")
_PARAM_VALUE = re.compile(r'"([^"]*)"|([^";:,]*)')
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")


@dataclass(slots=True)
class Component:
    """A component with its properties by name, as written and as read, and its children."""

    kind: str
    line: int
    properties: dict[str, list[Property]] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    children: list[Component] = field(default_factory=list)

    def of(self, kind: str) -> list[Component]:
        return [child for child in self.children if child.kind == kind]

    def wrong(self, rule: str, what: str) -> FeedError:
        return FeedError(self.line, rule, f"{self.kind} {what}")

    def __getitem__(self, name: str) -> Any:
        return self.values.get(name)

    def rings(self, alarm: Component) -> datetime:
        """When an alarm relative to the start rings; of a day, in the reader's own time."""
        start = self["DTSTART"]
        base = start if isinstance(start, datetime) else datetime.combine(start, time())
        ring: datetime = base + alarm["TRIGGER"]
        return ring


def read_feed(data: bytes) -> Component:
    """The calendar in these bytes, with every value read; `FeedError` when a rule is broken."""
    lines = [(number, *_split(number, text)) for number, text in _unfolded(data)]
    calendar = _tree([Property(*line) for line in lines])
    _read_values(calendar)
    _check_calendar(calendar)
    return calendar


# -- lines ----------------------------------------------------------------------------------------


def _unfolded(data: bytes) -> Iterator[tuple[int, str]]:
    if data.startswith(b"\xef\xbb\xbf"):
        raise FeedError(1, "RFC 5545 3.1", "a byte order mark is no part of a name")
    if not data.endswith(b"\r\n"):
        raise FeedError(data.count(b"\n") + 1, "RFC 5545 3.1", "the last line has no CRLF")
    begun, logical = 0, ""
    for number, raw in enumerate(data[:-2].split(b"\r\n"), 1):
        text = _physical(number, raw)
        if text[0] not in " \t":
            if begun:
                yield begun, logical
            begun, logical = number, text
        elif begun:
            logical += text[1:]
        else:
            raise FeedError(number, "RFC 5545 3.1", "goes on with a line that never began")
    yield begun, logical


def _physical(number: int, raw: bytes) -> str:
    if b"\r" in raw or b"\n" in raw:
        raise FeedError(number, "RFC 5545 3.1", "a line ends with CRLF, not with one of them")
    if not raw:
        raise FeedError(number, "RFC 5545 3.1", "is empty")
    if len(raw) > 75:
        raise FeedError(number, "RFC 5545 3.1", f"has {len(raw)} octets, at most 75 are good")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise FeedError(number, "RFC 5545 3.1.4", "is not UTF-8, or cut in a character") from error
    if _CONTROL.search(text):
        raise FeedError(number, "RFC 5545 3.1", "holds a control character")
    return text


def _split(line: int, text: str) -> tuple[str, dict[str, list[str]], str]:
    head = _NAME.match(text)
    if not head:
        raise FeedError(line, "RFC 5545 3.1", "has no name")
    at, params = head.end(), {}
    while text[at : at + 1] == ";":
        name = _NAME.match(text, at + 1)
        if not name or text[name.end() : name.end() + 1] != "=":
            raise FeedError(line, "RFC 5545 3.2", "has a parameter without a name or a value")
        if name[0].upper() in params:
            raise FeedError(line, "RFC 5545 3.2", f"gives {name[0]} twice")
        values, at = [], name.end()
        while text[at : at + 1] in ("=", ",") and text[at : at + 1]:
            value = _PARAM_VALUE.match(text, at + 1)
            assert value is not None  # it matches an empty text too
            values.append(value[2] if value[1] is None else value[1])
            at = value.end()
        params[name[0].upper()] = values
    if text[at : at + 1] != ":":
        raise FeedError(line, "RFC 5545 3.1", "has no colon before its value")
    return head[0].upper(), params, text[at + 1 :]


def _tree(lines: list[Property]) -> Component:
    if lines[0].name != "BEGIN" or lines[0].value.upper() != "VCALENDAR":
        raise FeedError(lines[0].line, "RFC 5545 3.4", "a calendar begins with BEGIN:VCALENDAR")
    stack: list[Component] = []
    for at, item in enumerate(lines):
        if item.name == "BEGIN":
            child = Component(item.value.upper(), item.line)
            if stack and child.kind not in _PARTS.get(stack[-1].kind, ()):
                raise item.wrong(
                    "RFC 5545 3.6", f"{child.kind} does not belong in {stack[-1].kind}"
                )
            if stack:
                stack[-1].children.append(child)
            stack.append(child)
        elif item.name == "END":
            if item.value.upper() != stack[-1].kind:
                raise item.wrong("RFC 5545 3.6", f"{item.value} ends what is not open")
            ended = stack.pop()
            if not stack:
                if at + 1 < len(lines):
                    raise lines[at + 1].wrong("RFC 5545 3.4", "stands after the calendar")
                return ended
        else:
            stack[-1].properties.setdefault(item.name, []).append(item)
    raise FeedError(lines[-1].line, "RFC 5545 3.6", f"{stack[-1].kind} does not end")


# -- what belongs where ---------------------------------------------------------------------------

_EVENT_AND_TODO: dict[str, Callable[[Property], Any]] = {
    "UID": uid, "DTSTAMP": utc, "DTSTART": when, "DURATION": length, "SUMMARY": text,
    "DESCRIPTION": text, "LOCATION": text, "CATEGORIES": texts, "COLOR": color,
    "CREATED": utc, "LAST-MODIFIED": utc, "SEQUENCE": whole("RFC 5545 3.8.7.4", 2**31 - 1),
    "PRIORITY": whole("RFC 5545 3.8.1.9", 9),
}  # fmt: skip
_OF_ZONE: dict[str, Callable[[Property], Any]] = {
    "DTSTART": local, "TZOFFSETFROM": offset, "TZOFFSETTO": offset, "TZNAME": text,
}  # fmt: skip
_READERS: dict[str, dict[str, Callable[[Property], Any]]] = {
    "VCALENDAR": {
        "PRODID": text, "VERSION": one_of("RFC 5545 3.7.4", "2.0"), "UID": uid, "NAME": text,
        "CALSCALE": one_of("RFC 5545 3.7.1", "GREGORIAN"), "DESCRIPTION": text,
        "LAST-MODIFIED": utc, "CATEGORIES": texts, "COLOR": color,
        "REFRESH-INTERVAL": refresh, "X-PUBLISHED-TTL": length,
    },
    "VEVENT": {
        **_EVENT_AND_TODO,
        "DTEND": when,
        "STATUS": one_of("RFC 5545 3.8.1.11", "TENTATIVE", "CONFIRMED", "CANCELLED"),
        "TRANSP": one_of("RFC 5545 3.8.2.7", "OPAQUE", "TRANSPARENT"),
    },
    "VTODO": {
        **_EVENT_AND_TODO,
        "DUE": when, "COMPLETED": utc, "PERCENT-COMPLETE": whole("RFC 5545 3.8.1.8", 100),
        "STATUS": one_of(
            "RFC 5545 3.8.1.11", "NEEDS-ACTION", "COMPLETED", "IN-PROCESS", "CANCELLED"
        ),
    },
    "VALARM": {
        "ACTION": one_of("ours", "DISPLAY"), "TRIGGER": trigger, "DESCRIPTION": text,
        "DURATION": length, "REPEAT": whole("RFC 5545 3.8.6.2", 100),
    },
    "VTIMEZONE": {"TZID": text, "LAST-MODIFIED": utc},
    "STANDARD": _OF_ZONE,
    "DAYLIGHT": _OF_ZONE,
}  # fmt: skip
_NEEDED = {
    "VCALENDAR": ("RFC 5545 3.6", ("PRODID", "VERSION")),
    "VEVENT": ("RFC 5545 3.6.1", ("UID", "DTSTAMP", "DTSTART")),
    "VTODO": ("RFC 5545 3.6.2", ("UID", "DTSTAMP")),
    "VALARM": ("RFC 5545 3.6.6", ("ACTION", "TRIGGER", "DESCRIPTION")),
    "VTIMEZONE": ("RFC 5545 3.6.5", ("TZID",)),
    "STANDARD": ("RFC 5545 3.6.5", ("DTSTART", "TZOFFSETFROM", "TZOFFSETTO")),
    "DAYLIGHT": ("RFC 5545 3.6.5", ("DTSTART", "TZOFFSETFROM", "TZOFFSETTO")),
}
_PARTS = {
    "VCALENDAR": ("VEVENT", "VTODO", "VTIMEZONE"),
    "VEVENT": ("VALARM",),
    "VTODO": ("VALARM",),
    "VTIMEZONE": ("STANDARD", "DAYLIGHT"),
}
_NEVER_OURS = ("METHOD", "SOURCE", "URL", "IMAGE")  # a token must not leak, nothing is scheduled


def _read_values(component: Component) -> None:
    readers = _READERS[component.kind]
    for name, items in component.properties.items():
        reader = readers.get(name, texts if name.startswith("X-") else None)
        if name in _NEVER_OURS:
            raise items[0].wrong("ours", "stands in no feed of ours")
        if reader is None:
            raise items[0].wrong("RFC 5545 3.6", f"does not belong in {component.kind}")
        if len(items) > 1 and reader is not texts:
            raise items[1].wrong(_NEEDED[component.kind][0], "stands twice")
        read = [reader(item) for item in items]
        component.values[name] = sum(read, ()) if reader is texts else read[0]
    rule, needed = _NEEDED[component.kind]
    for name in needed:
        if name not in component.values:
            raise component.wrong(rule, f"has no {name}")
    for child in component.children:
        _read_values(child)


# -- components -----------------------------------------------------------------------------------


def _check_calendar(calendar: Component) -> None:
    if not calendar.children:
        raise calendar.wrong("RFC 5545 3.6", "has no component")
    zones = [zone["TZID"] for zone in calendar.of("VTIMEZONE")]
    for zone in calendar.of("VTIMEZONE"):
        if not zone.children or zones.count(zone["TZID"]) > 1:
            raise zone.wrong("RFC 5545 3.6.5", "has no rule, or its TZID is not its own")
    seen: set[str] = set()
    for item in (*calendar.of("VEVENT"), *calendar.of("VTODO")):
        if item["UID"] in seen:
            raise item.wrong("RFC 5545 3.8.4.7", f"has the UID {item['UID']}, which is taken")
        seen.add(item["UID"])
        if item["SEQUENCE"] is None:
            raise item.wrong("ours", "has no SEQUENCE, so nobody can tell whether it moved")
        _check_times(item, "DTEND" if item.kind == "VEVENT" else "DUE", zones)
        if item["LAST-MODIFIED"] not in (None, item["DTSTAMP"]):
            raise item.wrong("RFC 5545 3.8.7.2", "has a DTSTAMP that is not its last revision")
        for alarm in item.children:
            _check_alarm(item, alarm)


def _check_times(item: Component, end_name: str, zones: list[str]) -> None:
    start, end = item["DTSTART"], item[end_name]
    of_kind = _NEEDED[item.kind][0]
    end_rule = "RFC 5545 3.8.2.2" if end_name == "DTEND" else "RFC 5545 3.8.2.3"
    for name in ("DTSTART", end_name):
        for prop in item.properties.get(name, []):
            if "TZID" in prop.params and prop.params["TZID"][0] not in zones:
                raise prop.wrong("RFC 5545 3.2.19", "names a zone without its VTIMEZONE")
    if item["DURATION"] is not None:
        if end is not None or start is None:
            raise item.wrong(of_kind, f"has DURATION beside {end_name} or without DTSTART")
        if not isinstance(start, datetime) and "T" in item.properties["DURATION"][0].value:
            raise item.wrong(of_kind, "is all day and lasts hours")
    if start is None or end is None:
        return
    zone = [item.properties[name][0].params.get("TZID") for name in ("DTSTART", end_name)]
    kinds = [(isinstance(when, datetime), getattr(when, "tzinfo", None)) for when in (start, end)]
    if kinds[0] != kinds[1] or (zone[0] is None) != (zone[1] is None):
        raise item.wrong(end_rule, f"has a DTSTART and a {end_name} of two kinds")
    if zone[0] == zone[1] and end <= start:
        raise item.wrong(end_rule, f"has a {end_name} that is not after DTSTART")


def _check_alarm(item: Component, alarm: Component) -> None:
    if ("DURATION" in alarm.values) != ("REPEAT" in alarm.values):
        raise alarm.wrong("RFC 5545 3.6.6", "has DURATION or REPEAT without the other")
    if isinstance(alarm["TRIGGER"], datetime):
        return
    to_end = alarm.properties["TRIGGER"][0].param("RELATED") == "END"
    has_end = any(item[name] is not None for name in ("DTEND", "DUE", "DURATION"))
    if not (has_end if to_end else item["DTSTART"] is not None):
        raise alarm.wrong("RFC 5545 3.8.6.3", "counts from a time that its owner does not give")
