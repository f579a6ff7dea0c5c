"""A small fleet and its work sheets, of an invented day, 12 May 2031."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fleetcare.due.rows import due_and_standing
from fleetcare.log.history import history
from fleetcare.rules.shipped import read_book, word_table
from fleetcare.rules.working_order import Order, read_order
from fleetcare.show.sheet import Asked, Ground, Sheet, sheet_of
from tests.built import fleet_of
from tests.trials.example_tables import row, settings_rows

BOOK = read_book(None, {"small-petrol"})
RULES = BOOK.sets["small-petrol"]
ALL = tuple(RULES.rules)
DAY = date(2031, 5, 12)
SINCE = "2028-04-01"
HOSTILE = (
    "</style><script>alert(1)</script>",
    "\"q\" 'q' & <b>bold</b> {day} #let",
    "M" * 80,
    "מנוע א",
    "Škagen | 3: x",
)


def order() -> Order:
    found = read_order(word_table("order"), "intervals/order.toml")
    assert isinstance(found, Order)
    return found


def boat(name: str = "Lapwing", place: str = "North quay") -> dict[str, str]:
    return row("boats", boat=name, use="hire", water="salt", since=SINCE, place=place)


def engine(name: str = "Plover", **cells: str) -> dict[str, str]:
    known = {"boat": "Lapwing", "hp": "6", "stroke": "4", "steering": "remote", "since": SINCE,
             "reading": "100"}  # fmt: skip
    return row("engines", engine=name, **{**known, **cells})


def entry(on: str, event: str, name: str = "Plover", **cells: str) -> dict[str, str]:
    return row("log", on=on, event=event, engine=name, **cells)


def ground(
    *log: dict[str, str], engines: Iterable[dict[str, str]] | None = None,
    boats: Iterable[dict[str, str]] | None = None, as_of: date = DAY,
) -> Ground:  # fmt: skip
    """What a sheet is made of, with these entries."""
    tables = {
        "settings": settings_rows(), "boats": list(boats or [boat()]),
        "engines": list(engines or [engine()]), "log": list(log),
    }  # fmt: skip
    fleet, entries = fleet_of(tables)
    told = history(entries, as_of)
    rows, stands = due_and_standing(fleet, told, BOOK, as_of)
    return Ground(fleet, told, BOOK, rows, stands, order(), as_of)


def sheet(
    *log: dict[str, str], tasks: Iterable[str] = ALL, planned: int | None = None, on: date = DAY,
    name: str = "Plover",
) -> Sheet:  # fmt: skip
    """The sheet of one engine."""
    return sheet_of(ground(*log), [Asked(name, tuple(tasks), planned)], on)


def hostile_sheet(
    tasks: Iterable[str] = ("impeller", "swivel grease"), names: Iterable[str] = HOSTILE
) -> Sheet:
    """Sheets of engines and boats whose names would do harm where they are not held as text."""
    names = tuple(names)
    seen = ground(
        engines=[engine(name, boat=name) for name in names],
        boats=[boat(name, name) for name in names],
    )
    return sheet_of(seen, [Asked(name, tuple(tasks)) for name in names], DAY)
