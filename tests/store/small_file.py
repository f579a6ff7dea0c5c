"""A small fleet file for the tests of this room, and what they ask of one."""

from __future__ import annotations

import functools
import hashlib
import sqlite3
import tempfile
from datetime import date
from pathlib import Path

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.store.append import add_boat, add_engine, add_entries, set_fleet_id
from fleetcare.store.fleet_file import FleetFile

AT = "2025-05-01T08:00:00+00:00"
FLEET_ID = "6f1c9d1e-0000-4000-8000-000000000000"
FIRST = date(2025, 5, 1)


def may(day: int) -> date:
    return date(2025, 5, day)


@functools.cache
def _made(engines: tuple[str, ...]) -> bytes:
    """Such a file, made once: hundreds of tests begin with one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "fleet.db")
        with FleetFile.make(path) as file, file.writing() as connection:
            set_fleet_id(connection, FLEET_ID)
            add_boat(connection, Boat("Otter", "hire", Water.SALT, FIRST))
            for name in engines:
                add_engine(connection, Engine(name, FIRST, boat="Otter", reading=10000))
        return path.read_bytes()


def make(path: Path, engines: tuple[str, ...] = ("Plover", "Teal", "Snipe")) -> FleetFile:
    """A fleet file with one boat and engines that read 100.0 on 1 May 2025."""
    path.write_bytes(_made(engines))
    return FleetFile(path)


def reads(day: int, figure: float, engine: str = "Plover") -> kinds.Reading:
    return kinds.Reading(on=may(day), engine=engine, reading=round(figure * 100))


def add(file: FleetFile, *entries: Entry) -> list[int]:
    """Entries of one command, stored."""
    with file.writing() as connection:
        return add_entries(connection, entries, AT)


def entries_in(path: Path) -> int:
    """How many entries a plain connection finds."""
    connection = sqlite3.connect(path)
    try:
        count: int = connection.execute("select count(*) from log").fetchone()[0]
        return count
    finally:
        connection.close()


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
