"""The fleet as four tables."""

from __future__ import annotations

from collections.abc import Iterable

from fleetcare.exchange import cells
from fleetcare.exchange.csvfile import write_cells
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import as_pairs
from fleetcare.log.entries import Entry
from fleetcare.store.fetch import FLEET_ID


def tables(fleet: Fleet, entries: Iterable[Entry]) -> dict[str, str]:
    """File names to CSV texts: settings, boats, engines, log (withdrawn entries left out)."""
    settings = [[FLEET_ID, fleet.id], *([name, value] for name, value in as_pairs(fleet.settings))]
    # of one day in the order written, which import then keeps: it decides between findings
    by_day = sorted(entries, key=lambda entry: (entry.on, entry.number))
    return {
        "settings.csv": write_cells(cells.SETTINGS, settings),
        "boats.csv": write_cells(cells.BOATS, map(cells.boat_cells, fleet.boats.values())),
        "engines.csv": write_cells(cells.ENGINES, map(cells.engine_cells, fleet.engines.values())),
        "log.csv": write_cells(cells.LOG, map(cells.entry_cells, by_day)),
    }
