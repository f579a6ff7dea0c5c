"""Recurrence rules (RFC 5545, 3.3.10) made safe to work out: refused in words, or put straight.

The library that works rules out takes what the RFC forbids, and walks to the year 9999 in search
of a day that never comes. So a rule is first held to the RFC's own table, its UNTIL is brought to
the kind of its DTSTART, and what it will cost is reckoned from its own figures.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import islice

FREQS = ("SECONDLY", "MINUTELY", "HOURLY", "DAILY", "WEEKLY", "MONTHLY", "YEARLY")
MOST_STEPS = 100_000  # of one series: a daily one of 270 years, an hourly one of 11
AHEAD = 10  # hits that are worked out beyond the last one asked for
NEVER_STEPS = 40_000  # looking through a whole cycle in vain, in steps of like cost
CYCLE = 400  # years after which the calendar repeats, weekdays and all
LAST_YEAR = 9999
_A_DAY = {"SECONDLY": 86_400, "MINUTELY": 1_440, "HOURLY": 24}
_WEEKDAYS = "MO|TU|WE|TH|FR|SA|SU"
_BY_DAY = re.compile(rf"([+-]?\d{{1,2}})?({_WEEKDAYS})")
_NUMBER = re.compile(r"[+-]?\d{1,3}")
_UNTIL = re.compile(r"(\d{8})(?:T(\d{6})(Z)?)?")
# The least and most of each list, and whether it may count from the end.
_RANGES: dict[str, tuple[int, int, bool]] = {
    "BYSECOND": (0, 59, False), "BYMINUTE": (0, 59, False), "BYHOUR": (0, 23, False),
    "BYMONTHDAY": (1, 31, True), "BYYEARDAY": (1, 366, True), "BYWEEKNO": (1, 53, True),
    "BYMONTH": (1, 12, False), "BYSETPOS": (1, 366, True),
}  # fmt: skip
# Parts that the RFC's table keeps from some frequencies.
_NOT_WITH: dict[str, tuple[str, ...]] = {
    "BYWEEKNO": FREQS[:6],
    "BYYEARDAY": ("DAILY", "WEEKLY", "MONTHLY"),
    "BYMONTHDAY": ("WEEKLY",),
}


class RuleError(ValueError):
    """Why a rule is not taken, in words, what it cost to find out, and the days it concerns."""

    steps = 0
    days: tuple[date, date] | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule put straight: the text to be worked out, what it costs, and any doubt."""

    text: str
    steps: int
    doubt: str = ""


def straight(text: str, start: date, last: date, zone: tzinfo) -> Rule:
    """The rule of a series that begins at `start`, safe to be worked out until `last`.

    `zone` is where a UNTIL of another kind than the start is read. Raises RuleError.
    """
    parts = _parts(text)
    freq = parts["FREQ"]
    until, doubt = _until(parts.get("UNTIL", ""), start, zone)
    if until:
        parts["UNTIL"] = until
        end = datetime.strptime(until[:8], "%Y%m%d").date() + timedelta(days=1)
        if end < _day(start):
            doubt = "its rule ends before it begins, so it takes no day"
        last = min(last, end)
    steps = _steps(parts, (last - _day(start)).days)
    if steps > MOST_STEPS:
        raise RuleError(f"its rule repeats {freq.lower()} and so too often to be worked out")
    text = ";".join(f"{name}={value}" for name, value in parts.items())
    return Rule(text, steps + _search(parts, start), doubt)


def _parts(text: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for piece in text.strip().rstrip(";").upper().split(";"):
        name, equals, value = piece.partition("=")
        if not equals or not value or name in parts:
            raise RuleError(f'its rule has no sense at "{piece[:40]}"')
        parts[name] = value
    freq = parts.get("FREQ", "")
    if freq not in FREQS:
        raise RuleError(f'its rule has no frequency that is known: "{freq[:40]}"')
    if "UNTIL" in parts and "COUNT" in parts:
        raise RuleError("its rule has both UNTIL and COUNT")
    for name, value in parts.items():
        if not _is_part(name, value, freq):
            raise RuleError(f'its rule cannot have "{name[:20]}={value[:40]}"')
    if "BYSETPOS" in parts and sum(name.startswith("BY") for name in parts) < 2:
        raise RuleError("its rule has BYSETPOS alone")
    return {"FREQ": freq, **parts}


def _is_part(name: str, value: str, freq: str) -> bool:
    """Whether a part is one of the RFC's, in range, and goes with the frequency."""
    if freq in _NOT_WITH.get(name, ()):
        return False
    if name in ("INTERVAL", "COUNT"):
        return value.isascii() and value.isdigit() and 1 <= int(value[:9]) <= 99_999
    if name == "BYDAY":
        days = [_BY_DAY.fullmatch(item) for item in value.split(",")]
        counted = freq in ("MONTHLY", "YEARLY")
        return len(days) <= 400 and all(
            day is not None and (day[1] is None or (counted and 1 <= abs(int(day[1])) <= 53))
            for day in days
        )
    if name in _RANGES:
        least, most, from_end = _RANGES[name]
        items = value.split(",")
        return len(items) <= 800 and all(
            _NUMBER.fullmatch(item) is not None
            and (from_end or item[0] != "-")
            and least <= abs(int(item)) <= most
            for item in items
        )
    if name == "WKST":
        return value in _WEEKDAYS.split("|")
    return name == "FREQ" or (name == "UNTIL" and _UNTIL.fullmatch(value) is not None)


def _until(text: str, start: date, zone: tzinfo) -> tuple[str, str]:
    """UNTIL as the kind that goes with the start (RFC 5545, 3.3.10), and the doubt in it.

    A day stands for all of that day; of two readings the later one is taken.
    """
    if not text:
        return "", ""
    try:
        return _until_of(text, start, zone)
    except (ValueError, OverflowError):
        raise RuleError(f'its rule ends on no day of the calendar: "{text[:40]}"') from None


def _until_of(text: str, start: date, zone: tzinfo) -> tuple[str, str]:
    match = _UNTIL.fullmatch(text)
    assert match is not None  # held to it before
    day = datetime.strptime(match[1], "%Y%m%d").date()
    at = datetime.strptime(match[2], "%H%M%S").time() if match[2] else time(23, 59, 59)
    moment = datetime.combine(day, at)
    if not isinstance(start, datetime):
        if match[3]:  # often midnight of the maker's own place, written in UTC
            day = max(day, moment.replace(tzinfo=UTC).astimezone(zone).date())
        return f"{day:%Y%m%d}", ""
    doubt = "" if match[2] else f"its rule ends on a day without a time; all of {day} is taken"
    if start.tzinfo is None:
        if match[3]:
            moment = max(moment, moment.replace(tzinfo=UTC).astimezone(zone).replace(tzinfo=None))
        return f"{moment:%Y%m%dT%H%M%S}", doubt
    aware = moment.replace(tzinfo=UTC if match[3] else start.tzinfo).astimezone(UTC)
    return f"{aware:%Y%m%dT%H%M%S}Z", doubt


def _steps(parts: dict[str, str], days: int) -> int:
    """At most how often the rule is looked at, or hits, until the last day."""
    interval, freq = int(parts.get("INTERVAL", "1")), parts["FREQ"]
    if "COUNT" in parts and not any(name.startswith("BY") for name in parts):
        return int(parts["COUNT"])
    within = {"SECONDLY": 0, "MINUTELY": 1, "HOURLY": 2}.get(freq, 3)
    times = 1
    for name in ("BYSECOND", "BYMINUTE", "BYHOUR")[:within]:
        times *= len(parts.get(name, "").split(","))
    return (max(days, 0) + 1) * _A_DAY.get(freq, 1) * times // interval


def _search(parts: dict[str, str], start: date) -> int:
    """What looking for a day that is rare may cost; a rule whose day never comes is refused.

    The calendar repeats after 400 years, so the rule is tried on the last of them before the year
    9999, where looking ends soon.
    """
    from dateutil.rrule import rrulestr

    plain = ";".join(f"{k}={v}" for k, v in parts.items() if k not in ("UNTIL", "COUNT"))
    begin = datetime.combine(_day(start), start.time() if isinstance(start, datetime) else time())
    cycles = (LAST_YEAR - 60 - begin.year) // CYCLE
    try:
        rule = rrulestr(plain, dtstart=begin.replace(year=begin.year + CYCLE * max(cycles, 0)))
        hits = list(islice(rule, 2))
    except (ValueError, TypeError) as error:
        raise RuleError(f"its rule cannot be worked out ({error})"[:120]) from None
    if not hits:
        never = RuleError("its rule names a day that never comes")
        never.steps = NEVER_STEPS
        raise never
    if parts["FREQ"] not in FREQS[:4] or len(hits) < 2:
        return 0
    gap: timedelta = hits[1] - hits[0]
    return AHEAD * gap.days // int(parts.get("INTERVAL", "1"))


def _day(start: date) -> date:
    return start.date() if isinstance(start, datetime) else start
