"""Entries as flat rows of named values: the one mapping that the fleet file and tables share.

Values are typed: dates, whole hundredths, texts; None where a row has nothing. Turning cells of a
table into such values is `exchange`'s work, turning them into database cells is `store`'s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.names import did_you_mean
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.order import EVENTS, event_of

COLUMNS: tuple[str, ...] = (
    "on", "event", "engine", "boat", "task", "part", "reading", "hours", "fuel", "water",
    "condition", "count", "component", "other", "old_reading", "until", "item", "cost", "by",
    "note",
)  # fmt: skip
HIRE_TIME = "hire time"
KINDS: dict[str, type] = {word: kind for kind, word in EVENTS.items()}

# What each event's row must hold, and may hold beside on, event, by and note.
NEEDS: dict[str, tuple[str, ...]] = {
    "reading": ("engine", "reading"),
    "run": ("engine",),
    "job": ("engine", "task"),
    "finding": ("engine", "part", "condition"),
    "incident": ("engine", "condition"),
    "move": ("boat", "water"),
    "mount": ("engine", "boat"),
    "store": ("engine",),
    "swap": ("engine", "other", "component"),
    "meter": ("engine",),
    "lay-up": ("engine",),
    "launch": ("engine",),
    "put-off": ("engine", "task", "until"),
    "retire": (),
    "delivery": ("item", "count"),
    "count": ("item", "count"),
}
MAY: dict[str, tuple[str, ...]] = {
    "run": ("hours", "fuel", "water", "reading", "condition"),
    "job": ("reading", "part", "condition", "count"),
    "finding": ("count", "reading"),
    "incident": ("reading",),
    "meter": ("old_reading", "reading"),
    "retire": ("engine", "boat"),
    "delivery": ("cost",),
}


def to_row(entry: Entry) -> dict[str, Any]:
    """An entry's values by column; columns it does not use are absent."""
    row: dict[str, Any] = {"on": entry.on, "event": event_of(entry), "by": entry.by}
    row["note"] = entry.note
    for name in (
        "engine", "boat", "task", "part", "reading", "hours", "fuel", "water", "condition",
        "count", "component", "other", "until", "item", "cost",
    ):  # fmt: skip
        value = getattr(entry, name, None)
        if value is not None and value != "" and not callable(value):
            row[name] = value
    if isinstance(entry, kinds.Run) and entry.hire_time:
        row["condition"] = HIRE_TIME
    if isinstance(entry, kinds.Incident):
        row["condition"] = entry.kind
    if isinstance(entry, kinds.MeterChange):
        row.update({"old_reading": entry.old, "reading": entry.new})
    return {name: value for name, value in row.items() if value is not None}


def from_row(row: Mapping[str, Any], number: int = 0) -> Entry | Fault:
    """The entry of a row of values, or what is wrong with the row (its `where` is the column)."""
    event = row.get("event")
    if event not in KINDS:
        near = did_you_mean(str(event), KINDS)
        return Fault("event", f'"{event}" is no event', near or f"One of {', '.join(KINDS)}")
    given = {name for name, value in row.items() if value not in (None, "")}
    missing = [name for name in NEEDS[event] if name not in given]
    if missing:
        return Fault(missing[0], f"is empty, and a {event} needs it")
    extra = given - {"on", "event", "by", "note", *NEEDS[event], *MAY.get(event, ())}
    if extra:
        name = min(extra, key=COLUMNS.index)
        return Fault(name, f"is not part of a {event}", "Leave it empty.")
    fault = _combination(event, row, given)
    return fault or _made(event, row, number)


def _combination(event: str, row: Mapping[str, Any], given: set[str]) -> Fault | None:
    """What is wrong between the columns of one row."""
    if event == "run":
        if ("hours" in given) == ("fuel" in given):
            return Fault("hours", "or fuel is needed, one of them")
        if row.get("condition") not in (None, "", HIRE_TIME):
            return Fault("condition", f'of a run is empty or "{HIRE_TIME}"')
    if event == "meter" and not given & {"old_reading", "reading"}:
        return Fault("reading", "or old_reading is needed: the new meter's first or the old's last")
    if event == "retire" and len(given & {"engine", "boat"}) != 1:
        return Fault("engine", "or boat is needed, one of them")
    if event == "swap" and row["component"] not in COMPONENTS:
        near = did_you_mean(str(row["component"]), COMPONENTS)
        return Fault("component", f'"{row["component"]}" is no component', near)
    if "count" in given and row["count"] < 0:
        return Fault("count", "is negative")
    if event == "put-off" and row["until"] <= row["on"]:
        return Fault("until", f"must lie after {row['on']}")
    return None


def _made(event: str, row: Mapping[str, Any], number: int) -> Entry:
    on: date = row["on"]
    values: dict[str, Any] = {
        "on": on, "number": number, "by": row.get("by") or "", "note": row.get("note") or ""
    }  # fmt: skip
    kind = KINDS[event]
    if kind is kinds.MeterChange:
        return kinds.MeterChange(
            **values, engine=row["engine"], old=row.get("old_reading"), new=row.get("reading")
        )
    if kind is kinds.Incident:
        values["kind"] = row["condition"]
    if kind is kinds.Run:
        values["hire_time"] = row.get("condition") == HIRE_TIME
    wanted = {*NEEDS[event], *MAY.get(event, ())} & {field.name for field in fields(kind)}
    for name in wanted:
        value = row.get(name)
        if value is not None and value != "":
            values[name] = Water(value) if name == "water" else value
    made: Entry = kind(**values)
    return made
