"""Writing the fleet of one engine: as a fleet file, or as tables in a folder."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.exchange.alone import Alone
from fleetcare.exchange.take_out import tables
from fleetcare.fleet.settings import as_pairs
from fleetcare.store.append import Taken, add_boat, add_engine, add_entries, set_fleet_id, set_value
from fleetcare.store.file import give_name
from fleetcare.store.files import write_private, write_whole
from fleetcare.store.fleet_file import FleetFile

FILE = ".db"
RULES = "intervals"  # the folder beside a fleet file in which own rule sets are looked for


def write_alone(made: Alone, place: Path, rules: Mapping[str, str], at: str) -> list[Path]:
    """Write a fleet file when the name ends in .db, else four tables into a folder; say which.

    `rules` are the texts of own rule sets by name, which go beside it. Raises RefusedError when a
    file is there already, or a rule set of that name that says something else.
    """
    is_file = place.suffix.lower() == FILE
    folder = place.parent if is_file else place
    if not is_file and place.is_file():
        raise RefusedError(f"{place} is a file; name a folder, or a file that ends in .db")
    sets = {folder / RULES / f"{name}.toml": text for name, text in sorted(rules.items())}
    _refuse_other_rules(sets)
    written = [_as_file(made, place, at)] if is_file else _as_tables(made, place)
    for path, text in sets.items():
        write_whole(path, text.encode())
    return [*written, *sets]


def _refuse_other_rules(sets: Mapping[Path, str]) -> None:
    for path, text in sets.items():
        if path.exists() and path.read_bytes() != text.encode():
            raise RefusedError(f"{path} is there already and says something else; choose a folder")


def _as_tables(made: Alone, folder: Path) -> list[Path]:
    texts = tables(made.fleet, made.entries)
    there = [folder / name for name in texts if (folder / name).exists()]
    if there:
        raise RefusedError(f"{there[0]} exists already; choose another folder")
    for name, text in texts.items():
        write_private(folder / name, text.encode())
    return [folder / name for name in texts]


def _as_file(made: Alone, path: Path, at: str) -> Path:
    """The fleet file, made under another name and given its own when it is whole."""
    if path.exists():
        raise RefusedError(f"{path} exists already; choose another name")
    half = path.with_name(f".{path.name}.{os.getpid()}.alone")
    try:
        half.unlink(missing_ok=True)
        with FleetFile.make(half) as file:
            _fill(file, made, at)
        give_name(half, path)
    except OSError as error:
        raise UnusableFileError(f"{path} cannot be made: {error.strerror}") from error
    finally:
        half.unlink(missing_ok=True)
    return path


def _fill(file: FleetFile, made: Alone, at: str) -> None:
    with file.writing() as connection:
        set_fleet_id(connection, made.fleet.id)
        for name, value in as_pairs(made.fleet.settings):
            set_value(connection, name, value)
        names = Taken(connection)
        for boat in made.fleet.boats.values():
            add_boat(connection, boat, names)
        for engine in made.fleet.engines.values():
            add_engine(connection, engine, names)
        if made.entries:
            add_entries(connection, made.entries, at)
