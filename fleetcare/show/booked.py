"""Booked days of boats as a table, as plain values, and what of a calendar was not understood."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from fleetcare.fleet.booked import Bookings, Busy, Misread, Run, runs
from fleetcare.fleet.days import spoken
from fleetcare.fleet.names import natural
from fleetcare.show.event_words import counted
from fleetcare.show.table import NO_BREAK, table, wrapped
from fleetcare.show.values import iso

SHOWN = 6  # runs of days in a cell; --format json has them all


def booked_rows(found: Bookings) -> list[dict[str, Any]]:
    """A row a boat: every day, ISO."""
    return [
        {
            "boat": name,
            "booked": [iso(day) for day in sorted(days.booked)],
            "tentative": [iso(day) for day in sorted(days.tentative)],
            "unknown": [iso(day) for day in sorted(days.unknown)],
        }
        for name, days in _in_order(found.boats)
    ]


def misread_values(item: Misread) -> dict[str, Any]:
    """What was not understood, as plain values."""
    return {
        "source": item.source,
        "line": item.line or None,
        "uid": item.uid or None,
        "summary": item.summary or None,
        "why": item.why,
        "boats": list(item.boats),
        "unknown_from": iso(item.unknown[0]) if item.unknown else None,
        "unknown_to": iso(item.unknown[1]) if item.unknown else None,
    }


def booked_table(found: Bookings, width: int) -> str:
    """A line a boat: its next booked days, in runs."""
    first, last = date.fromordinal(found.first), date.fromordinal(found.last)
    rows = [
        [name, *(_cell(days, first) for days in (busy.booked, busy.tentative, busy.unknown))]
        for name, busy in _in_order(found.boats)
    ]
    shown = table(("Boat", "Booked", "Tentative", "Unknown"), rows, width, (1, 3, 2))
    span = f"{spoken(first, last)} to {spoken(last)}"
    foot = f"{counted(found.events, 'booking')} on some day from {span}; other days are free."
    return f"{shown}\n\n{wrapped(foot, width)}"


def misread_lines(found: Bookings, width: int, most: int = 20) -> list[str]:
    """What was not understood, a line or two each."""
    if not found.misread:
        return []
    first = date.fromordinal(found.first)
    lines = [f"Not understood, or in doubt: {len(found.misread)}"]
    for item in found.misread[:most]:
        lines += wrapped(f"  {_where(item)} {item.why}{_unknown(item, first)}", width).split("\n")
    if len(found.misread) > most:
        lines.append(f"  and {len(found.misread) - most} more (--format json has them all)")
    return lines


def _in_order(boats: Mapping[str, Busy]) -> list[tuple[str, Busy]]:
    return sorted(boats.items(), key=lambda item: natural(item[0]))


def _cell(days: Iterable[int], first: date) -> str:
    spans = runs(days)
    words = [_run(span, first) for span in spans[:SHOWN]]
    more = [f"and{NO_BREAK}{len(spans) - SHOWN}{NO_BREAK}more"] if len(spans) > SHOWN else []
    return ", ".join([*words, *more])


def _run(span: Run, beside: date) -> str:
    """Days in a row: 3 Jun, 3-5 Jun, 28 Jun-2 Jul."""
    first, last = date.fromordinal(span[0]), date.fromordinal(span[1])
    if first == last:
        text = spoken(first, beside)
    elif (first.year, first.month) == (last.year, last.month):
        text = f"{first.day}-{spoken(last, beside)}"
    else:
        text = f"{spoken(first, last)}-{spoken(last, beside)}"
    return text.replace(" ", NO_BREAK)


def _where(item: Misread) -> str:
    place = item.source + (f" line {item.line}" if item.line else "")
    name = item.summary or (f"UID {item.uid}" if item.uid else "")
    return f'{place}, "{name}":' if name else f"{place}:"


def _unknown(item: Misread, beside: date) -> str:
    if item.unknown is None:
        return ""
    boats = "every boat" if len(item.boats) > 3 else ", ".join(item.boats)
    return f"; {boats} unknown {_run(item.unknown, beside)}"
