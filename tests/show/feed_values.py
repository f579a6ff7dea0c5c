"""The kinds of value in a calendar feed, each read by its section of RFC 5545 and RFC 7986."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

_COLORS = (  # CSS Color Module Level 3, section 4.3: 147 names
    "black silver gray grey white maroon red purple fuchsia green lime olive yellow navy blue "
    "teal aqua aliceblue antiquewhite aquamarine azure beige bisque blanchedalmond blueviolet "
    "brown burlywood cadetblue chartreuse chocolate coral cornflowerblue cornsilk crimson cyan "
    "darkblue darkcyan darkgoldenrod darkgray darkgreen darkgrey darkkhaki darkmagenta "
    "darkolivegreen darkorange darkorchid darkred darksalmon darkseagreen darkslateblue "
    "darkslategray darkslategrey darkturquoise darkviolet deeppink deepskyblue dimgray dimgrey "
    "dodgerblue firebrick floralwhite forestgreen gainsboro ghostwhite gold goldenrod "
    "greenyellow honeydew hotpink indianred indigo ivory khaki lavender lavenderblush "
    "lawngreen lemonchiffon lightblue lightcoral lightcyan lightgoldenrodyellow lightgray "
    "lightgreen lightgrey lightpink lightsalmon lightseagreen lightskyblue lightslategray "
    "lightslategrey lightsteelblue lightyellow limegreen linen magenta mediumaquamarine "
    "mediumblue mediumorchid mediumpurple mediumseagreen mediumslateblue mediumspringgreen "
    "mediumturquoise mediumvioletred midnightblue mintcream mistyrose moccasin navajowhite "
    "oldlace olivedrab orange orangered orchid palegoldenrod palegreen paleturquoise "
    "palevioletred papayawhip peachpuff peru pink plum powderblue rosybrown royalblue "
    "saddlebrown salmon sandybrown seagreen seashell sienna skyblue slateblue slategray "
    "slategrey snow springgreen steelblue tan thistle tomato turquoise violet wheat whitesmoke "
    "yellowgreen"
)
CSS3 = frozenset(_COLORS.split())
_TOKEN = re.compile(r"[A-Za-z0-9-]+")
_CHARS = re.compile(r"\\(.?)|[^\\]", re.DOTALL)
_ESCAPED = {"\\": "\\", ";": ";", ",": ",", "n": "\n", "N": "\n"}
_TIME = r"T(?:\d+H(?:\d+M(?:\d+S)?)?|\d+M(?:\d+S)?|\d+S)"
_DURATION = re.compile(rf"([+-]?)P(?:\d+W|\d+D(?:{_TIME})?|{_TIME})", re.ASCII)
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.IGNORECASE)
_OFFSET = re.compile(r"(?!-0000)[+-]([01]\d|2[0-3])[0-5]\d([0-5]\d)?", re.ASCII)
_CLOCK = re.compile(r"(\d{8})T([01]\d|2[0-3])([0-5]\d)([0-5]\d|60)(Z?)", re.ASCII)


class FeedError(ValueError):
    """What is wrong with a feed: the line (from 1), the section broken, in words."""

    def __init__(self, line: int, rule: str, what: str) -> None:
        super().__init__(f"line {line}: {what} ({rule})")
        self.line, self.rule = line, rule


@dataclass(frozen=True, slots=True)
class Property:
    """A content line: its name, parameters, raw value, and the line it began on."""

    line: int
    name: str
    params: dict[str, list[str]]
    value: str

    def wrong(self, rule: str, what: str) -> FeedError:
        return FeedError(self.line, rule, f"{self.name} {what}")

    def param(self, name: str) -> str | None:
        return self.params[name][0].upper() if name in self.params else None


def texts(item: Property) -> tuple[str, ...]:
    if item.param("VALUE") not in (None, "TEXT"):
        raise item.wrong("RFC 5545 3.2.20", "is a TEXT")
    found = [""]
    for hit in _CHARS.finditer(item.value):
        if hit[0] == ",":
            found.append("")
        elif hit[0] == ";" or (hit[1] is not None and hit[1] not in _ESCAPED):
            raise item.wrong("RFC 5545 3.3.11", f"holds {hit[0]!r}, which is no character of TEXT")
        else:
            found[-1] += hit[0] if hit[1] is None else _ESCAPED[hit[1]]
    return tuple(found)


def text(item: Property) -> str:
    found = texts(item)
    if len(found) > 1:
        raise item.wrong("RFC 5545 3.3.11", "has a bare comma")
    return found[0]


def uid(item: Property) -> str:
    found = text(item)
    if not _UUID.fullmatch(found) and (not _TOKEN.fullmatch(found) or len(found.encode()) >= 255):
        raise item.wrong("RFC 7986 5.3", "is neither a UUID nor a token of less than 255 octets")
    return found


def color(item: Property) -> str:
    found = text(item)
    if found.lower() not in CSS3:
        raise item.wrong("RFC 7986 5.9", f"{found} is no CSS3 name of a colour")
    return found.lower()


def one_of(rule: str, *words: str) -> Callable[[Property], str]:
    def read(item: Property) -> str:
        if item.value.upper() not in words:
            raise item.wrong(rule, f"is {' or '.join(words)}, not {item.value}")
        return item.value.upper()

    return read


def whole(rule: str, most: int) -> Callable[[Property], int]:
    def read(item: Property) -> int:
        if not re.fullmatch(r"\d{1,10}", item.value, re.ASCII) or int(item.value) > most:
            raise item.wrong(rule, f"is a whole number from 0 to {most}, not {item.value}")
        return int(item.value)

    return read


def _day(item: Property, digits: str) -> date:
    if not re.fullmatch(r"\d{8}", digits, re.ASCII):
        raise item.wrong("RFC 5545 3.3.4", f"{digits} is no date")
    try:
        return date(int(digits[:4]), int(digits[4:6]), int(digits[6:]))
    except ValueError as error:
        raise item.wrong("RFC 5545 3.3.4", f"{digits} is no day of the calendar") from error


def when(item: Property) -> date | datetime:
    """A DATE, or a DATE-TIME: aware in UTC, naive when floating or in a zone named."""
    value, zoned = item.param("VALUE"), "TZID" in item.params
    if value == "DATE":
        if zoned:
            raise item.wrong("RFC 5545 3.2.19", "is a DATE and has no zone")
        return _day(item, item.value)
    if value not in (None, "DATE-TIME"):
        raise item.wrong("RFC 5545 3.2.20", f"cannot be a {value}")
    clock = _CLOCK.fullmatch(item.value)
    if not clock:
        raise item.wrong("RFC 5545 3.3.5", f"{item.value} is no DATE-TIME; a DATE says VALUE=DATE")
    if clock[5] and zoned:
        raise item.wrong("RFC 5545 3.2.19", "is in UTC and in a zone")
    at = time(
        int(clock[2]), int(clock[3]), min(59, int(clock[4])), tzinfo=UTC if clock[5] else None
    )
    return datetime.combine(_day(item, clock[1]), at)


def utc(item: Property) -> datetime:
    found = when(item)
    if not isinstance(found, datetime) or found.tzinfo is None:
        raise item.wrong("RFC 5545 3.8.7", "is a DATE-TIME in UTC")
    return found


def local(item: Property) -> datetime:
    found = when(item)
    if not isinstance(found, datetime) or found.tzinfo or item.params:
        raise item.wrong("RFC 5545 3.6.5", "is a local DATE-TIME")
    return found


def offset(item: Property) -> str:
    if not _OFFSET.fullmatch(item.value):
        raise item.wrong("RFC 5545 3.3.14", f"{item.value} is no offset from UTC")
    return item.value


def duration(item: Property) -> timedelta:
    match = _DURATION.fullmatch(item.value)
    if not match:
        raise item.wrong("RFC 5545 3.3.6", f"{item.value} is no duration")
    parts = {unit: int(count) for count, unit in re.findall(r"(\d+)([WDHMS])", item.value)}
    span = timedelta(
        weeks=parts.get("W", 0), days=parts.get("D", 0), hours=parts.get("H", 0),
        minutes=parts.get("M", 0), seconds=parts.get("S", 0),
    )  # fmt: skip
    return -span if match[1] == "-" else span


def length(item: Property) -> timedelta:
    span = duration(item)
    if span <= timedelta():
        raise item.wrong("RFC 5545 3.8.2.5", "is a positive duration")
    return span


def refresh(item: Property) -> timedelta:
    if item.param("VALUE") != "DURATION":
        raise item.wrong("RFC 7986 5.7", "must say VALUE=DURATION")
    span = duration(item)
    if span <= timedelta():
        raise item.wrong("RFC 7986 5.7", "is a positive duration")
    return span


def trigger(item: Property) -> timedelta | datetime:
    if item.param("VALUE") == "DATE-TIME":
        return utc(item)
    if item.param("VALUE") not in (None, "DURATION"):
        raise item.wrong("RFC 5545 3.8.6.3", "is a DURATION or a DATE-TIME")
    if item.param("RELATED") not in (None, "START", "END"):
        raise item.wrong("RFC 5545 3.2.14", "relates to START or END")
    return duration(item)
