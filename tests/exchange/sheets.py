"""Sheets as other people keep them, made for tests: CSV by raw bytes, XLSX by openpyxl."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl

from fleetcare.exchange.accounts import Account, Report, RowsRefusedError
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.bring_in import Import
from fleetcare.exchange.sources import read_found
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log.entries import Entry
from fleetcare.store.append import add_boat, add_engine
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import AT, SHIPPED, TODAY, add_up, new

SINCE = date(2026, 1, 1)
WELL = {"taken", "there already", "skipped", "refused"}


def fleet_at(path: Path) -> FleetFile:
    """Otter on Lapwing, Heron on Dunlin, Port and Star on Twin, all at 100 h on New Year's Day;
    Knot on Sanderling, without a meter."""
    file = new(path)
    with file.writing() as connection:
        for boat in ("Lapwing", "Dunlin", "Twin", "Sanderling"):
            add_boat(connection, Boat(boat, "hire", Water.SALT, SINCE))
        for name, boat in (("Otter", "Lapwing"), ("Heron", "Dunlin"), ("Port", "Twin"),
                           ("Star", "Twin")):  # fmt: skip
            add_engine(connection, Engine(name, SINCE, boat, reading=10000))
        add_engine(connection, Engine("Knot", SINCE, "Sanderling", meter=False))
    return file


def csv_at(path: Path, text: str, encoding: str = "utf-8") -> Path:
    """A CSV file of these lines."""
    path.write_bytes(text.encode(encoding))
    return path


def xlsx_at(path: Path, sheets: Mapping[str, Sequence[Sequence[Any]]]) -> Path:
    """A workbook of these sheets."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    book.save(path)
    return path


def bring(
    file: FleetFile, *paths: Path, keep_good: bool = False, kept: Mapping[str, str] | None = None,
    today: date = TODAY, **asked: Any,
) -> Report:  # fmt: skip
    """One import as the command does it; every row is accounted for, refused or not."""
    said = Asked(**{"today": today, **asked})
    tables = read_found(paths, said, kept or {}, file.fleet())
    try:
        with file.writing():
            report = Import(file, SHIPPED, today, AT, keep_good, said).take(tables)
    except RowsRefusedError as error:
        accounted(error.report)
        raise
    accounted(report)
    return report


def accounted(report: Report) -> None:
    """The counts add up, and so do the rows themselves."""
    taken = sum(report.taken.values())
    assert report.rows == taken + report.there_already + report.skipped + len(report.left_out)
    assert len(report.accounts) == report.rows
    if not report.skipped:
        add_up(report)
    assert {account.verdict for account in report.accounts} <= WELL


def tried(file: FleetFile, *paths: Path, **asked: Any) -> Report:
    """What would become of every row; nothing is kept."""
    said = Asked(**{"today": TODAY, **asked})
    tables = read_found(paths, said, {}, file.fleet())
    with file.writing(keep=False):
        report = Import(file, SHIPPED, TODAY, AT, True, said).take(tables)
    accounted(report)
    return report


def verdicts(report: Report) -> list[str]:
    """The verdict of every row, in the order of the file."""
    return [account.verdict for account in rows_of(report)]


def rows_of(report: Report) -> list[Account]:
    """The rows in the order of the file."""
    return report.in_order()


def refusals(report: Report) -> dict[int, str]:
    """What is said of each refused row, by its number."""
    return {
        int(account.place.rpartition("!" if "!" in account.place else ":")[2].split(":")[0]):
        str(account.fault)
        for account in report.accounts
        if account.verdict == "refused"
    }  # fmt: skip


def log_of(file: FleetFile) -> list[Entry]:
    """The entries of the log."""
    return live_entries(file.log())


def said(entries: Sequence[Entry]) -> list[tuple[Any, ...]]:
    """Entries as plain values: the kind, the day, the engine, the figure or the task."""
    return [
        (type(entry).__name__, entry.on.isoformat(), getattr(entry, "engine", ""),
         *(getattr(entry, name) for name in ("task", "reading", "hours", "fuel")
           if getattr(entry, name, None) is not None))
        for entry in entries
    ]  # fmt: skip
