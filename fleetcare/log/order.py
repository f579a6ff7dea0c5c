"""The one order of a day's entries, and the event word of each kind.

meter < move < store < mount < swap < lay-up < launch < run < reading < finding < incident < job;
what touches no clock comes last.
"""

from __future__ import annotations

from collections.abc import Iterable

from fleetcare.log.entries import (
    Count,
    Delivery,
    Entry,
    Finding,
    Incident,
    Job,
    Launch,
    LayUp,
    MeterChange,
    Mount,
    Move,
    PutOff,
    Reading,
    Retire,
    Run,
    Store,
    Swap,
)

EVENTS: dict[type, str] = {
    MeterChange: "meter",
    Move: "move",
    Store: "store",
    Mount: "mount",
    Swap: "swap",
    LayUp: "lay-up",
    Launch: "launch",
    Run: "run",
    Reading: "reading",
    Finding: "finding",
    Incident: "incident",
    Job: "job",
    PutOff: "put-off",
    Delivery: "delivery",
    Count: "count",
    Retire: "retire",
}
_RANK = {kind: rank for rank, kind in enumerate(EVENTS)}


def event_of(entry: Entry) -> str:
    """The event word of an entry, as tables and the file write it."""
    return EVENTS[type(entry)]


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Entries by day, then by kind, then as they were written."""
    return sorted(entries, key=lambda entry: (entry.on, _RANK[type(entry)], entry.number))
