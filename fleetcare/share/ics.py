"""Cutting an iCalendar file (RFC 5545) into its events, line by line, before anything is parsed.

In: the bytes as they came. Out: a `Sheet`: events with the lines they stand on, time zones, the
calendar's name, and what is wrong with the file as a whole. Lines are unfolded as octets, so a
fold inside a letter does no harm. Nothing here is worked out, so nothing in a file can take more
time or memory than its own size.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

MOST_BYTES = 8_000_000
MOST_EVENTS = 20_000
MOST_ZONES = 60
MOST_ZONE_LINES = 4_000
# What is asked of an event; everything else (people, attachments, alarms) is left unread.
ASKED = frozenset({
    "UID", "DTSTART", "DTEND", "DURATION", "RRULE", "RDATE", "EXDATE", "EXRULE", "RECURRENCE-ID",
    "STATUS", "TRANSP", "SEQUENCE", "SUMMARY", "LOCATION", "CATEGORIES", "RESOURCES",
})  # fmt: skip
# Texts in which careless programs leave a new line as it is.
TEXTS = frozenset(["SUMMARY", "LOCATION", "DESCRIPTION", "COMMENT", "CONTACT", "X-ALT-DESC"])
BUSY_KINDS = frozenset({"VFREEBUSY", "VAVAILABILITY"})  # busy times that no boat's name goes with
_LINE = re.compile(r"([A-Za-z0-9-]+)((?:;[^\":]*(?:\"[^\"]*\"[^\":]*)*)?):(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Line:
    """One property as it was written: its name in capitals, its parameters, its value."""

    name: str
    params: str
    value: str

    def __str__(self) -> str:
        return f"{self.name}{self.params}:{self.value}"


@dataclass(slots=True)
class Chunk:
    """An event or a time zone as it was written; `broken` says which line made no sense."""

    line: int
    lines: list[Line] = field(default_factory=list)
    broken: str = ""

    def value(self, name: str) -> str:
        """The first value of that name, or an empty text."""
        return next((line.value for line in self.lines if line.name == name), "")

    def has(self, name: str) -> bool:
        """Whether a property of that name is there."""
        return any(line.name == name for line in self.lines)


@dataclass(slots=True)
class Sheet:
    """A file cut up. `wrong` says why what is here is not all of it; empty when it is whole."""

    events: list[Chunk] = field(default_factory=list)
    zones: list[Chunk] = field(default_factory=list)
    name: str = ""
    wrong: str = ""
    wrong_line: int = 0
    latin: int = 0
    left_out: list[tuple[int, str]] = field(default_factory=list)


def cut(content: bytes, kind: str = "VEVENT", asked: frozenset[str] = ASKED) -> Sheet:
    """Cut a file up into its events, or components of another kind, of which `asked` is kept.

    It never raises: what is wrong with the file stands in the sheet.
    """
    sheet = Sheet()
    if len(content) > MOST_BYTES:
        sheet.wrong = f"is larger than {MOST_BYTES // 1_000_000} MB"
        return sheet
    cutter = _Cutter(sheet, kind, asked)
    for number, raw in _unfolded(content):
        cutter.take(number, _decoded(raw, number, sheet))
        if sheet.wrong:
            return sheet
    if cutter.stack:
        sheet.wrong = f"is cut short: {cutter.stack[-1]} has no end"
    elif not cutter.calendars:
        sheet.wrong = "is not an iCalendar file"
    return sheet


def _unfolded(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Every line with the number it begins on; RFC 5545, 3.1: a fold is a break and a blank."""
    begun, parts = 0, list[bytes]()
    lines = content.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    for number, line in enumerate(lines.split(b"\n"), 1):
        if line[:1] in (b" ", b"\t") and parts:
            parts.append(line[1:])
            continue
        if parts:
            yield begun, b"".join(parts)
        begun, parts = number, [line] if line else []
    if parts:
        yield begun, b"".join(parts)


def _decoded(raw: bytes, number: int, sheet: Sheet) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        sheet.latin = sheet.latin or number
        return raw.decode("latin-1")


class _Cutter:
    """What is open while the lines go by."""

    def __init__(self, sheet: Sheet, kind: str, asked: frozenset[str]) -> None:
        self.sheet, self.kind, self.asked = sheet, kind, asked
        self.stack: list[str] = []
        self.calendars = 0
        self.chunk: Chunk | None = None
        self.before = ""

    def take(self, number: int, text: str) -> None:
        """One unfolded line."""
        match = _LINE.fullmatch(text)
        if match is None:
            self._senseless(number, text)
            return
        line = Line(match[1].upper(), match[2], match[3])
        if line.name == "BEGIN":
            self._begin(number, line.value.strip().upper())
        elif line.name == "END":
            self._end(number, line.value.strip().upper())
        elif not self.stack:
            self._stop(number, "has text outside its calendar")
        else:
            self._property(number, line)
        self.before = line.name

    def _begin(self, number: int, kind: str) -> None:
        if not self.stack and kind != "VCALENDAR":
            self._stop(number, "is not an iCalendar file")
        self.stack.append(kind)
        if kind == "VCALENDAR":
            self.calendars += 1
        if len(self.stack) != 2:
            if self.chunk is not None and self.stack[1] == "VTIMEZONE":
                self.chunk.lines.append(Line("BEGIN", "", kind))
            return
        if kind in (self.kind, "VTIMEZONE"):
            self.chunk = Chunk(number)
        if kind in BUSY_KINDS:
            self.sheet.left_out.append((number, f"{kind} names no boat and is not read"))
        if kind == "VTIMEZONE" and len(self.sheet.zones) >= MOST_ZONES:
            self._stop(number, f"has more than {MOST_ZONES} time zones")
        if len(self.sheet.events) >= MOST_EVENTS:
            self._stop(number, f"has more than {MOST_EVENTS} events")

    def _end(self, number: int, kind: str) -> None:
        if not self.stack or self.stack.pop() != kind:
            self._stop(number, f"ends a {kind[:40]} that was not begun")
            return
        if len(self.stack) == 1 and self.chunk is not None:
            target = self.sheet.events if kind == self.kind else self.sheet.zones
            target.append(self.chunk)
            self.chunk = None
        elif self.chunk is not None and self.stack[1] == "VTIMEZONE":
            self.chunk.lines.append(Line("END", "", kind))

    def _property(self, number: int, line: Line) -> None:
        if self.stack == ["VCALENDAR"]:
            if line.name in ("NAME", "X-WR-CALNAME"):
                self.sheet.name = self.sheet.name or line.value
            if line.name == "CALSCALE" and line.value.strip().upper() != "GREGORIAN":
                self._stop(number, f"counts by another calendar: {line.value[:40]}")
            return
        if self.chunk is None:
            return
        if self.stack[1] == "VTIMEZONE":
            self.chunk.lines.append(line)
            if len(self.chunk.lines) > MOST_ZONE_LINES:
                self._stop(number, f"has a time zone of more than {MOST_ZONE_LINES} lines")
        elif len(self.stack) == 2 and line.name in self.asked:
            self.chunk.lines.append(line)

    def _senseless(self, number: int, text: str) -> None:
        if not self.stack and text.strip("\x00 \t\x1a"):
            self._stop(number, "is not an iCalendar file")
        elif self.chunk is not None and self.before not in TEXTS and text.strip():
            self.chunk.broken = self.chunk.broken or f"line {number} makes no sense"

    def _stop(self, number: int, why: str) -> None:
        if not self.sheet.wrong:
            self.sheet.wrong, self.sheet.wrong_line = why, number


def names_of(lines: Iterable[Line]) -> set[str]:
    """The names of properties given more than once."""
    seen, twice = set[str](), set[str]()
    for line in lines:
        (twice if line.name in seen else seen).add(line.name)
    return twice
