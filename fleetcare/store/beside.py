"""Copies of the fleet file that lie beside it and hold what it does not: a sync program's, say."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from fleetcare.errors import Fault, FleetcareError
from fleetcare.log.rows import to_row
from fleetcare.store.fetch import fetch_fleet, fetch_log
from fleetcare.store.file import connect, journal_of, look_at_header
from fleetcare.store.schema import VERSION

MOST_LOOKED_AT = 50
Facts = Counter[tuple[object, ...]]


def copies_beside(target: Path, connection: sqlite3.Connection) -> Iterator[Fault]:
    """The files of the same fleet and ending in the same folder that hold entries of their own.

    Two computers that write into one synchronized file leave two files, each with what the other
    lacks. A backup lacks only; it is not named, nor is a file that cannot be read.
    """
    others = [path for path in sorted(target.parent.glob("*")) if _is_like(path, target)]
    here: Facts | None = None
    for path in others[:MOST_LOOKED_AT]:
        there = _of_same_fleet(path, fetch_fleet(connection).id)
        if there is None:
            continue
        if here is None:
            here = _facts(connection, with_withdrawn=True)
        more = (there - here).total()
        if more:
            entries = "an entry" if more == 1 else f"{more} entries"
            name = f'"{path}"' if " " in str(path) else path
            yield Fault(
                path.name,
                f"is a copy of this fleet and holds {entries} that {target.name} does not",
                f"fleetcare export DIR --fleet {name}, then fleetcare import DIR, adds what is not "
                f"there",
            )


def fleets_beside(target: Path) -> list[Path]:
    """The fleet files in the folder of one that is not there, whose ending they share."""
    found = []
    with suppress(OSError):
        there = sorted(
            path
            for path in target.parent.glob("*")
            if path.suffix == target.suffix and path.is_file()
        )
        for path in there[:MOST_LOOKED_AT]:
            with suppress(FleetcareError, OSError):
                look_at_header(path)
                found.append(path)
    return found


def _is_like(path: Path, target: Path) -> bool:
    try:
        return (
            path.suffix == target.suffix and path.is_file() and not path.samefile(target)
            and not journal_of(path).exists()
        )  # fmt: skip
    except OSError:
        return False


def _of_same_fleet(path: Path, fleet_id: str) -> Facts | None:
    """The live entries of a file of that fleet; None of any other file."""
    with suppress(FleetcareError, OSError, sqlite3.Error, ArithmeticError, LookupError, TypeError,
                  ValueError):  # fmt: skip
        if look_at_header(path) != VERSION:
            return None
        connection = connect(path, "ro", wait=0)
        try:
            if fetch_fleet(connection).id == fleet_id:
                return _facts(connection, with_withdrawn=False)
        finally:
            connection.close()
    return None


def _facts(connection: sqlite3.Connection, with_withdrawn: bool) -> Facts:
    """What each entry says, under its engine's first name, which no renaming changes."""
    first = {name: item.first_name for name, item in fetch_fleet(connection).engines.items()}
    found: Facts = Counter()
    for kept in fetch_log(connection):
        if kept.entry is not None and (with_withdrawn or not kept.withdrawn):
            row = to_row(kept.entry)
            for column in ("engine", "other"):
                if row.get(column):
                    row[column] = first.get(row[column], row[column])
            found[tuple((name, row[name]) for name in sorted(row))] += 1
    return found
