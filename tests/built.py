"""Fleets out of tables, in memory: what import does, without the file."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.errors import Fault
from fleetcare.exchange import cells
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings, changed
from fleetcare.log.entries import Entry
from fleetcare.log.history import history
from fleetcare.rules.sets import RuleBook, read_set
from fleetcare.rules.words import read_uses

Tables = dict[str, list[dict[str, str]]]


def good(value: Any) -> Any:
    assert not isinstance(value, Fault), str(value)
    return value


def fleet_of(tables: Tables) -> tuple[Fleet, list[Entry]]:
    settings = Settings()
    for row in tables["settings"]:
        if row["name"] != "fleet_id":
            settings = good(changed(settings, row["name"], row["value"]))
    boats = {row["boat"]: good(cells.boat(row)) for row in tables["boats"]}
    engines = {row["engine"]: good(cells.engine(row)) for row in tables["engines"]}
    entries = [
        job for row in tables["engines"] for job in good(cells.last_jobs(row, row["engine"]))
    ]
    entries += [good(cells.entry(row)) for row in tables["log"]]
    numbered = [replace(entry, number=number) for number, entry in enumerate(entries, 1)]
    return Fleet("00000000-0000-4000-8000-000000000000", settings, boats, engines), numbered


def book_of(texts: dict[str, str], uses: dict[str, Any]) -> RuleBook:
    placed = {name: (text, f"{name}.toml") for name, text in texts.items()}
    sets = {name: read_set(name, placed) for name in placed}
    return RuleBook(sets, good(read_uses(uses, "uses")), {}, {})


def rows_of(tables: Tables, texts: dict[str, str], uses: dict[str, Any], as_of: date) -> list[Due]:
    fleet, entries = fleet_of(tables)
    return due_list(fleet, history(entries, as_of), book_of(texts, uses), as_of)
