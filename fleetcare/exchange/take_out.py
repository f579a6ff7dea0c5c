"""The fleet as four tables: CSV files, or one workbook of four sheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from fleetcare.exchange import cells
from fleetcare.exchange.csvfile import write_cells
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import as_pairs
from fleetcare.log.entries import Entry
from fleetcare.store.fetch import FLEET_ID

Rows = Sequence[Sequence[str]]


def rows(fleet: Fleet, entries: Iterable[Entry]) -> dict[str, tuple[Sequence[str], Rows]]:
    """Headings and rows of settings, boats, engines and log (withdrawn entries left out)."""
    settings = [[FLEET_ID, fleet.id], *([name, value] for name, value in as_pairs(fleet.settings))]
    # of one day in the order written, which import then keeps: it decides between findings
    by_day = sorted(entries, key=lambda entry: (entry.on, entry.number))
    return {
        "settings": (cells.SETTINGS, settings),
        "boats": (cells.BOATS, [cells.boat_cells(item) for item in fleet.boats.values()]),
        "engines": (cells.ENGINES, [cells.engine_cells(item) for item in fleet.engines.values()]),
        "log": (cells.LOG, [cells.entry_cells(item) for item in by_day]),
    }


def tables(fleet: Fleet, entries: Iterable[Entry]) -> dict[str, str]:
    """File names to CSV texts."""
    found: Mapping[str, tuple[Sequence[str], Rows]] = rows(fleet, entries)
    return {f"{name}.csv": write_cells(head, body) for name, (head, body) in found.items()}
