"""Engines that a sheet names and the fleet does not know, as a table to complete."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleetcare.exchange.asked import Asked
from fleetcare.exchange.csvfile import write_cells
from fleetcare.exchange.drafts import Draft
from fleetcare.exchange.found import FoundSheet
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import folded, nearest, wrong_with

HEADS = ("engine", "boat", "hp", "stroke", "meter", "since", "reading", "new")


@dataclass(slots=True)
class _Seen:
    """A name as first written, the boat beside it, its first day and the lowest figure of it."""

    name: str
    boat: str
    since: date
    reading: int | None = None
    has_meter: bool = False


def missing_engines(sheets: Iterable[FoundSheet], fleet: Fleet, asked: Asked) -> str:
    """The table of engines, as CSV, with what the sheets say of each; empty when none is missing.

    Known since its first day in them, at the figure it read then. What they do not say, its boat
    and horsepower, is left blank. A name close to one of the fleet's is a slip, and not listed.
    """
    said = {folded(theirs) for theirs, _ in asked.names}
    found: dict[str, _Seen] = {}
    for draft in (draft for sheet in sheets for draft in sheet.drafts):
        if draft.on is None or draft.skip or not _is_new(draft.engine, fleet, said):
            continue
        seen = found.setdefault(folded(draft.engine), _Seen(draft.engine, draft.boat, draft.on))
        _look(seen, draft, draft.on)
    if not found:
        return ""
    return write_cells(HEADS, map(_cells, found.values()))


def _is_new(name: str, fleet: Fleet, said: set[str]) -> bool:
    if wrong_with(name) or fleet.has_engine(name) or fleet.has_boat(name) or folded(name) in said:
        return False
    return not nearest(name, fleet.engines)


def _look(seen: _Seen, draft: Draft, on: date) -> None:
    seen.boat = seen.boat or draft.boat
    seen.has_meter |= draft.reading is not None
    if on < seen.since:
        seen.since, seen.reading = on, draft.reading
    elif on == seen.since and draft.reading is not None:
        seen.reading = min(draft.reading, draft.reading if seen.reading is None else seen.reading)


def _cells(seen: _Seen) -> list[str]:
    reading = "" if seen.reading is None else shown(seen.reading)
    meter = "yes" if seen.has_meter else "no"
    return [seen.name, seen.boat, "", "", meter, seen.since.isoformat(), reading, "no"]
