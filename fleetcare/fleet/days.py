"""Days as people type them: ISO 8601, or today, yesterday, N days ago."""

from __future__ import annotations

import re
from datetime import date, timedelta

from fleetcare.errors import Fault

_ISO = re.compile(r"\d{4}-\d\d-\d\d|\d{8}")
_AGO = re.compile(r"(\d{1,4}) days? ago")
_SLASHED = re.compile(r"(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{2}|\d{4})")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(text: str, what: str, today: date | None = None) -> date | Fault:
    """The day a text means; refused, with both readings shown, when it could mean two.

    Without `today` only ISO dates are taken, as in tables.
    """
    clean = text.strip().lower()
    if today is not None:
        words = {"today": today, "yesterday": today - timedelta(days=1)}
        if clean in words:
            return words[clean]
        ago = _AGO.fullmatch(clean)
        if ago:
            return today - timedelta(days=int(ago[1]))
    if _ISO.fullmatch(clean):
        try:
            found = date.fromisoformat(clean)
        except ValueError:
            return Fault(what, f'"{text}" is no day of the calendar')
        if found.year < 1950:
            return Fault(what, f'"{text}" lies before there were such engines')
        return found
    slashed = _SLASHED.fullmatch(clean)
    if slashed:
        return Fault(what, f'"{text}" {_readings(slashed)}', "Write it as YYYY-MM-DD.")
    return Fault(what, f'"{text:.40}" is not a day', "Write it as YYYY-MM-DD.")


def _readings(match: re.Match[str]) -> str:
    first, second, year = int(match[1]), int(match[2]), int(match[3])
    year += 2000 if year < 100 else 0
    readings = []
    for month, day_of in ((second, first), (first, second)):
        try:
            readings.append(date(year, month, day_of).isoformat())
        except ValueError:
            continue
    readings = list(dict.fromkeys(readings))
    return f"could be {' or '.join(readings)}" if readings else "is no day of the calendar"


def spoken(on: date, beside: date | None = None) -> str:
    """A day as a person says it, 12 May, with the year when it is not that of `beside`."""
    text = f"{on.day} {MONTHS[on.month - 1]}"
    return text if beside is not None and on.year == beside.year else f"{text} {on.year}"
