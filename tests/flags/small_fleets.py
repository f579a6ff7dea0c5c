"""A small fleet for the tests of what stands: rows of its log in, records out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.flags.flag import Flag, flags
from fleetcare.flags.standing import Standing, standing
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History, history
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.shipped import read_book
from tests.built import fleet_of
from tests.trials.example_tables import row, settings_rows

BOOK = read_book(None, {"small-petrol"})
SINCE = "2031-04-01"
# Plover and Knot are new, in fresh and salt water; Teal is second-hand, with Plover on one boat.
BOATS = [
    row("boats", boat="Lapwing", use="hire", water="fresh", since=SINCE),
    row("boats", boat="Dunlin", use="owner", water="salt", since=SINCE),
]
ENGINES = [
    row("engines", engine="Plover", boat="Lapwing", hp="6", stroke="4", since=SINCE, reading="10",
        new="yes", without="battery"),
    row("engines", engine="Knot", boat="Dunlin", hp="6", stroke="4", since=SINCE, meter="no",
        new="yes", without="relief valve"),
    row("engines", engine="Teal", boat="Lapwing", hp="6", since=SINCE, reading="300"),
]  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """The fleet as of a day."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    stands: dict[str, list[Standing]]
    flags: dict[str, Flag]
    as_of: date

    def row(self, engine: str, task: str) -> Due:
        return next(row for row in self.rows if (row.engine, row.task) == (engine, task))


def entry(on: str, event: str, engine: str, **cells: str) -> dict[str, str]:
    """A row of the log."""
    return row("log", on=on, event=event, engine=engine, **cells)


def seen(as_of: str, *log: dict[str, str], engines: str = "Plover Knot Teal") -> Seen:
    """The fleet with these entries, looked at on a day; only some of its engines when named."""
    given = [item for item in ENGINES if item["engine"] in engines.split()]
    tables = {"settings": settings_rows(), "boats": BOATS, "engines": given, "log": list(log)}
    fleet, entries = fleet_of(tables)
    day = date.fromisoformat(as_of)
    past = history(entries, day)
    rows = due_list(fleet, past, BOOK, day)
    stands = standing(fleet, past, BOOK)
    return Seen(fleet, past, BOOK, rows, stands, flags(rows, stands), day)
