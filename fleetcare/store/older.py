"""A fleet file as an older version wrote it, kept beside it when it is brought up to date."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from itertools import count
from pathlib import Path

from fleetcare.store.backup import copy_into, half_of
from fleetcare.store.file import connect, give_name
from fleetcare.store.telling import words_for


def keep_older(path: Path, version: int) -> Path:
    """Copy the file beside itself, for who must go back to the older program; where it is.

    Called while nobody else may write. A copy that is there from an attempt that was cut short is
    taken for this one when it holds the same log.
    """
    with words_for(path):
        source = connect(path, "ro")
        try:
            target = next(name for name in _names(path, version) if _is_free(name, source))
            if not target.exists():
                with half_of(target) as half:
                    copy_into(half, source, target)
                    give_name(half, target)
        finally:
            source.close()
    return target


def _names(path: Path, version: int) -> Iterator[Path]:
    first = f"{path.name}.version-{version}"
    return (path.with_name(first if at == 1 else f"{first}-{at}") for at in count(1))


def _is_free(target: Path, source: sqlite3.Connection) -> bool:
    """Whether nothing is there, or a copy of this log."""
    if not target.exists():
        return True
    try:
        there = connect(target, "ro")
    except sqlite3.Error:
        return False
    try:
        return _log_of(there) == _log_of(source)
    except sqlite3.Error:
        return False
    finally:
        there.close()


def _log_of(connection: sqlite3.Connection) -> list[tuple[object, ...]]:
    found = connection.execute("select count(*) from sqlite_master where name = 'log'")
    if not found.fetchone()[0]:
        return []
    return connection.execute("select count(*), max(id), max(at) from log").fetchall()
