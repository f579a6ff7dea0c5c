"""What the tests of this room share: files in, tables out, and how a fleet is looked at."""

from __future__ import annotations

import csv
import functools
import hashlib
import tempfile
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from fleetcare.due.rows import due_list
from fleetcare.exchange.accounts import Report
from fleetcare.exchange.bring_in import Import, read_tables
from fleetcare.exchange.take_out import tables as out_of
from fleetcare.flags.flag import held_engines
from fleetcare.flags.standing import standing
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.shipped import all_texts, read_book
from fleetcare.show.events import events_of
from fleetcare.show.values import due_rows
from fleetcare.store.append import set_fleet_id
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.oracle.given import COLUMNS

Rows = Sequence[Mapping[str, str]]
TODAY = date(2026, 7, 18)
AT = "2026-07-18T06:00:00+00:00"
SHIPPED = read_book(None, set(all_texts(None)))
FLEET_ID = "11111111-1111-4111-8111-111111111111"
NAMES = ("settings", "boats", "engines", "log")


@functools.cache
def _empty() -> bytes:
    """An empty fleet's file, made once: hundreds of tests begin with one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "fleet.db")
        with FleetFile.make(path) as file, file.writing() as connection:
            set_fleet_id(connection, FLEET_ID)
        return path.read_bytes()


def new(path: Path) -> FleetFile:
    """An empty fleet."""
    path.write_bytes(_empty())
    return FleetFile(path)


def take(
    file: FleetFile, *places: Path, book: RuleBook = SHIPPED, keep_good: bool = False
) -> Report:
    """One import, as the command does it; its counts always add up."""
    with file.writing():
        report = Import(file, book, TODAY, AT, keep_good).take(read_tables(places))
    add_up(report)
    return report


def add_up(report: Report) -> None:
    taken = sum(report.taken.values())
    assert report.rows == taken + report.there_already + len(report.left_out)


def write_out(file: FleetFile, folder: Path) -> Path:
    """The four tables of a fleet, in a folder."""
    folder.mkdir()
    for name, text in out_of(file.fleet(), live_entries(file.log())).items():
        (folder / name).write_bytes(text.encode("utf-8"))
    return folder


def in_folder(folder: Path, tables: Mapping[str, Rows]) -> Path:
    """Tables written with the standard library alone."""
    folder.mkdir(exist_ok=True)
    for name, rows in tables.items():
        head = list(dict.fromkeys([*COLUMNS[name], *(key for row in rows for key in row)]))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, head, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def own_book(folder: Path, texts: Mapping[str, str]) -> RuleBook:
    """Rule sets as a user keeps them: files in a folder of their own."""
    folder.mkdir()
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return read_book(folder, {*texts, "small-petrol"})


def looked_at(
    file: FleetFile, as_of: date = TODAY, book: RuleBook = SHIPPED
) -> tuple[list[dict[str, Any]], list[tuple[str, date, str]]]:
    """The due list with every value of every row, and what calendars show: UID, date, title."""
    fleet, history = file.fleet(), file.history(as_of)
    rows = due_list(fleet, history, book, as_of)
    held = held_engines(standing(fleet, history, book))
    rules = {
        name: book.set_of(engine.rules or fleet.settings.rules)
        for name, engine in fleet.engines.items()
    }
    events = events_of(rows, fleet.id, as_of, rules=rules)
    return due_rows(rows, held), [(event.uid, event.on, event.title) for event in events]


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
