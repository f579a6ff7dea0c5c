"""A small fleet whose parts were looked at, for the tests of what findings say."""

from __future__ import annotations

from datetime import date

from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History, history
from fleetcare.repair.findings import Lives, lives_of_parts
from fleetcare.rules.shipped import read_book
from tests.built import fleet_of
from tests.trials.example_tables import row, settings_rows

BOOK = read_book(None, {"small-petrol"})
SINCE, TODAY = "2031-04-01", "2032-10-01"
BOATS = [
    row("boats", boat="Lapwing", use="hire", water="fresh", since=SINCE),
    row("boats", boat="Dunlin", use="club", water="salt", since=SINCE),
]
# Plover was new on the hire boat, in fresh water, Knot on the club's, in salt; Teal was not new.
ENGINES = [
    row("engines", engine="Plover", boat="Lapwing", hp="6", since=SINCE, reading="0", new="yes"),
    row("engines", engine="Knot", boat="Dunlin", hp="6", since=SINCE, reading="0", new="yes"),
    row("engines", engine="Teal", boat="Lapwing", hp="6", since=SINCE, reading="300"),
]


def entry(on: str, event: str, engine: str, **cells: str) -> dict[str, str]:
    """A row of the log."""
    return row("log", on=on, event=event, engine=engine, **cells)


def reads(on: str, engine: str, reading: object) -> dict[str, str]:
    """A reading."""
    return entry(on, "reading", engine, reading=str(reading))


def done(on: str, engine: str, task: str, found: str = "", reading: object = "") -> dict[str, str]:
    """A job, with what was found of the part it is about."""
    part = BOOK.sets["small-petrol"].rules[task].part if found else ""
    return entry(
        on, "job", engine, task=task, part=part, condition=found, reading=str(reading)
    )  # fmt: skip


def saw(on: str, engine: str, part: str, condition: str, **more: str) -> dict[str, str]:
    """A finding."""
    return entry(on, "finding", engine, part=part, condition=condition, **more)


def built(*log: dict[str, str], as_of: str = TODAY) -> tuple[Fleet, History]:
    """The fleet with these entries, as of a day."""
    tables = {"settings": settings_rows(), "boats": BOATS, "engines": ENGINES, "log": list(log)}
    fleet, entries = fleet_of(tables)
    return fleet, history(entries, date.fromisoformat(as_of))


def lives(*log: dict[str, str], as_of: str = TODAY) -> dict[tuple[str, int, str], Lives]:
    """What the entries tell of parts, by task, water and use."""
    found = lives_of_parts(*built(*log, as_of=as_of), BOOK, date.fromisoformat(as_of).toordinal())
    return {(item.group.task, item.group.water, item.group.use): item for item in found}
