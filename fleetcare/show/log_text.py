"""Entries of the log in words."""

from __future__ import annotations

from typing import assert_never

from fleetcare.fleet.figures import shown
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry


def _figure(reading: int | None) -> str:
    return "" if reading is None else f" at {shown(reading)} h"


def _seen(part: str, condition: str, count: int | None) -> str:
    pieces = "" if count is None else f" ({count})"
    return f"{part} {condition}{pieces}".strip()


def entry_words(entry: Entry) -> str:
    """What an entry says, in a line."""
    match entry:
        case kinds.Reading():
            return f"{entry.engine} reads {shown(entry.reading)}"
        case kinds.Run():
            return _run(entry)
        case kinds.Job():
            found = _seen(entry.part, entry.condition, entry.count) if entry.condition else ""
            text = f"{entry.engine}: {entry.task} done{_figure(entry.reading)}"
            return f"{text}, found {found}" if found else text
        case kinds.Finding():
            found = _seen(entry.part, entry.condition, entry.count)
            return f"{entry.engine}: found {found}{_figure(entry.reading)}"
        case kinds.Incident():
            return f"{entry.engine}: {entry.kind}{_figure(entry.reading)}"
        case kinds.PutOff():
            return f"{entry.engine}: {entry.task} put off to {entry.until}"
        case kinds.Delivery():
            return f"{entry.count} × {entry.item} delivered"
        case kinds.Count():
            return f"{entry.count} × {entry.item} on the shelf"
        case _:
            return _change(entry)


def _run(run: kinds.Run) -> str:
    amount = f"{shown(run.hours)} h" if run.hours is not None else f"{shown(run.fuel or 0)} l"
    water = f" in {run.water.word}" if run.water is not None else ""
    hire = " (hire time)" if run.hire_time else ""
    return f"{run.engine} ran {amount}{water}{hire}{_figure(run.reading)}"


def _change(
    entry: kinds.Move
    | kinds.Mount
    | kinds.Store
    | kinds.Swap
    | kinds.MeterChange
    | kinds.LayUp
    | kinds.Launch
    | kinds.Retire,
) -> str:
    match entry:
        case kinds.Move():
            return f"{entry.boat} moved to {entry.water.word} water"
        case kinds.Mount():
            return f"{entry.engine} mounted on {entry.boat}"
        case kinds.Store():
            return f"{entry.engine} into store"
        case kinds.Swap():
            return f"{entry.engine} and {entry.other} exchanged their {entry.component}"
        case kinds.MeterChange():
            old = "" if entry.old is None else f" old {shown(entry.old)}"
            new = " stopped" if entry.new is None else f" new {shown(entry.new)}"
            return f"{entry.engine} meter:{old}{new}"
        case kinds.LayUp():
            return f"{entry.engine} laid up"
        case kinds.Launch():
            return f"{entry.engine} launched"
        case kinds.Retire():
            return f"{entry.engine or entry.boat} retired"
        case _:
            assert_never(entry)
