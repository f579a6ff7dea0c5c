"""Records as plain values: the stable contract of the JSON output."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING, Any

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.fleet.days import spoken
from fleetcare.fleet.figures import rounded, shown
from fleetcare.fleet.waters import WORDS
from fleetcare.show.table import NO_BREAK

if TYPE_CHECKING:
    from fleetcare.due.readings import WorthReading
    from fleetcare.flags.morning import Verdict

SCHEMA = 1
ROWS_A_PART = 500
_OBEYED = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069]")  # JSON escapes the others anyway
_encode = json.JSONEncoder(ensure_ascii=False).encode
UNKNOWN_WHEN = "no record of when it was done"
_DAYS: dict[int, str] = {}


def iso(day: int | None) -> str | None:
    """A day's ISO form; days repeat by the thousand, so they are kept."""
    if day is None:
        return None
    text = _DAYS.get(day)
    if text is None:
        text = _DAYS[day] = date.fromordinal(day).isoformat()
    return text


def hours(value: int | Fraction | None) -> float | None:
    """Hundredths as hours, two decimals."""
    if value is None:
        return None
    if isinstance(value, int):
        return value / 100
    return rounded(value, 0) / 100


def life(value: Fraction | None) -> float | None:
    """A share of life, six decimals."""
    return None if value is None else rounded(value, 6)


def due_values(row: Due, held: bool) -> dict[str, Any]:
    """One row of the due list."""
    return {
        "engine": row.engine,
        "boat": row.boat,
        "component": row.rule.component,
        "part": row.rule.part or None,
        "task": row.rule.name,
        "title": row.rule.title,
        "status": row.status,
        "governed_by": row.governed_by,
        "life_used": life(row.life_used),
        "life_floor": life(row.life_floor),
        "hours_since": hours(row.hours_since),
        "hours_left": hours(row.hours_left),
        "likely_hours": hours(row.likely_hours),
        "days_since": row.days_since,
        "water": WORDS[row.water],
        "due_early": iso(row.due_early),
        "due_on": iso(row.due_on),
        "due_late": iso(row.due_late),
        "overdue_since": iso(row.overdue_since),
        "leads_to": list(row.rule.leads_to),
        "last_done_on": iso(row.last_done_on),
        "last_done_hours": hours(row.last_done_hours),
        "raised_by_likely_hours": row.raised_by_likely_hours,
        "held": held,
        "put_off_until": iso(row.put_off_until),
        "put_off_times": row.put_off_times,
        "because": row.because,
        "reason": reason(row),
    }


def reason(row: Due) -> str:
    """Why the row has its status, in one line."""
    if row.opened and row.status in (OVERDUE, DUE):
        return row.opened
    if row.life is None:
        return row.opened
    since = "known" if row.life_used is None else "done" if row.last_done_on else "new"
    ran = f"{shown(round(row.hours_since), 1)} h and {row.days_since} days since {since}"
    share = f"{percent(row.life)} of its life"
    if row.status == NO_RECORD or row.life_used is None:
        return f"{UNKNOWN_WHEN}; at least {share} used: {ran}"
    if row.raised_by_likely_hours:
        return f"{share}: {ran}, and {_likely(row)}: take a reading"
    text = f"{share}: {ran}"
    if row.unseen:
        text += f"; {row.unseen}"
    if row.unknown_before:
        text += " (hours before it was known are unknown)"
    return text


def short_reason(row: Due) -> str:
    """Why, in as few words as a table has room for: the working is `why`'s to show."""
    if row.opened and row.status in (OVERDUE, DUE):
        return row.opened
    if row.life is None:
        return ""
    since = "known" if row.life_used is None else "done" if row.last_done_on else "new"
    text = f"{shown(round(row.hours_since), 1)} h, {row.days_since} days since {since}"
    if row.raised_by_likely_hours:
        return f"{text}, and {_likely(row)}"
    if row.status in (DUE, CLEAR) and row.due_early != row.due_late:
        text += f"; {span_words(row)}"
    return text


def span_words(row: Due) -> str:
    """Between which days it comes due, by the forecast: 3 Jul to 4 Aug."""
    if row.due_early is None:
        return ""
    begin = date.fromordinal(row.due_early)
    if row.due_late is None:
        return f"from {spoken(begin, begin)} on"
    end = date.fromordinal(row.due_late)
    return f"{spoken(begin, begin if begin.year == end.year else end)} to {spoken(end, begin)}"


def _likely(row: Due) -> str:
    """The likely hours in words, shown apart from those that count."""
    return f"likely {shown(round(row.likely_hours), 1)} h more"


def percent(value: Fraction) -> str:
    """Life as per cent, rounded half up, but 100 only when it is reached and never when passed."""
    whole = (value.numerator * 200 + value.denominator) // (2 * value.denominator)
    if value > 1 and whole == 100:
        whole = 101
    if value < 1 and whole == 100:
        whole = 99
    return f"{whole} %"


def with_sign(figure: str, sign: str) -> str:
    """A sum with the sign of the fleet's money behind it, on one line."""
    return f"{figure}{NO_BREAK}{sign}" if sign else figure


def verdict_values(item: Verdict) -> dict[str, Any]:
    """One line of the morning list."""
    return {
        "boat": item.boat,
        "engine": item.engine,
        "verdict": item.verdict,
        "reason": item.reason,
        "reading_age_days": item.reading_age_days,
    }


def worth_values(item: WorthReading, as_of: date) -> dict[str, Any]:
    """One of the readings most worth taking."""
    return {
        "engine": item.engine,
        "boat": item.boat,
        "known_through": iso(item.known_through),
        "age_days": as_of.toordinal() - item.known_through,
        "likely_hours": hours(item.likely_hours),
        "most_hours": hours(item.most_hours),
        "could_change": list(item.tasks),
    }


def due_rows(rows: Iterable[Due], held: Collection[str]) -> list[dict[str, Any]]:
    """The rows of the due list."""
    return [due_values(row, row.engine in held) for row in rows]


def as_json(rows: Iterable[Mapping[str, Any]], as_of: date, **more: object) -> str:
    """Rows as the versioned JSON object."""
    return "".join(json_parts(rows, as_of, **more))


def json_parts(rows: Iterable[Mapping[str, Any]], as_of: date, **more: object) -> Iterator[str]:
    """The same in parts, so that a long list need never be whole in memory."""
    yield json_text({"fleetcare": SCHEMA, "as_of": as_of.isoformat(), **more, "rows": ()})[:-2]
    rest = iter(rows)
    between = ""
    while some := list(islice(rest, ROWS_A_PART)):
        yield between + ", ".join(map(json_text, some))
        between = ", "
    yield "]}"


def as_ndjson(rows: Iterable[Mapping[str, Any]]) -> str:
    """Rows as one JSON object a line."""
    return "".join(ndjson_parts(rows))


def json_text(value: object) -> str:
    """A value as JSON on one line; what a terminal would obey stands in it as an escape."""
    text = _encode(value)
    return _OBEYED.sub(lambda match: f"\\u{ord(match[0]):04x}", text)


def ndjson_parts(rows: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    """The same in parts."""
    rest, between = iter(rows), ""
    while some := list(islice(rest, ROWS_A_PART)):
        yield between + "\n".join(map(json_text, some))
        between = "\n"


def as_csv(rows: Iterable[Mapping[str, Any]], head: Sequence[str]) -> str:
    """Rows as CSV for a spreadsheet: cells that a spreadsheet would run are made plain text."""
    import csv
    import io

    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in head])
    return out.getvalue().removesuffix("\r\n")


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(map(str, value))
    text = str(value)
    unsafe = isinstance(value, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r")
    return f"'{text}" if unsafe else text
