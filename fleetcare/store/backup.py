"""A safe copy of the fleet file: made beside its name, read back, and only then called one."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from fleetcare.errors import Fault, RefusedError, UnusableFileError
from fleetcare.store.file import (
    connect,
    drop,
    give_name,
    look_at_header,
    make_private,
    open_file,
    refuse_stray_journal,
)
from fleetcare.store.integrity import damages, seal_faults
from fleetcare.store.telling import words_for, words_of_system

_ABOUT_THE_SOURCE = ("SQLITE_BUSY", "SQLITE_CORRUPT", "SQLITE_NOTADB")


def back_up(source: sqlite3.Connection, target: Path) -> int:
    """Copy an open fleet file into a new one, read it back, and give its number of entries.

    Raises RefusedError when the target exists: a copy never overwrites.
    """
    if target.exists():
        raise RefusedError(f"{target} exists already; a copy never overwrites. Choose another name")
    refuse_stray_journal(target)
    with half_of(target) as half:
        count = copy_into(half, source, target)
        read_back(half, target, count)
        give_name(half, target)
    return count


def doubts_of(source: sqlite3.Connection) -> list[Fault]:
    """What of a file that was copied is not as it was written; none when it cannot be read."""
    try:
        return list(seal_faults(source))
    except sqlite3.Error:
        return []


@contextmanager
def half_of(target: Path) -> Iterator[Path]:
    """A new, private file in the target's folder, which is gone at the end."""
    half = target.with_name(f".{target.name}.{os.getpid()}.half")
    with words_of_system(target, "cannot be made"):
        target.parent.mkdir(parents=True, exist_ok=True)
        drop(half)
        make_private(half)
    try:
        yield half
    finally:
        with suppress(OSError):  # what counts is done by then, or has failed in words
            drop(half)


def copy_into(half: Path, source: sqlite3.Connection, target: Path) -> int:
    """Write the copy; the number of entries it must have. Errors name the target or the source."""
    origin = Path(source.execute("pragma database_list").fetchone()[2])
    with words_for(origin):
        source.execute("BEGIN")  # no other program's write comes between the copy and the count
        try:
            wanted: int = source.execute("select count(*) from log").fetchone()[0]
            _copy(source, half, origin, target)
        finally:
            if source.in_transaction:
                source.execute("ROLLBACK")
    return wanted


def _copy(source: sqlite3.Connection, half: Path, origin: Path, target: Path) -> None:
    with words_for(target):
        copy = connect(half, "rw")
        try:
            source.backup(copy, pages=-1)  # in steps each write beside it would begin it anew
        except sqlite3.Error as error:
            name = getattr(error, "sqlite_errorname", "") or ""
            with words_for(origin if name.startswith(_ABOUT_THE_SOURCE) else target):
                raise
        finally:
            copy.close()


def read_back(half: Path, shown: Path, wanted: int) -> None:
    """Look whether a copy is whole and has all its entries, and bring it up to date."""
    try:
        look_at_header(half)
        connection = open_file(half)
    except UnusableFileError as error:  # it has no name of its own yet
        raise UnusableFileError(str(error).replace(str(half), str(shown))) from error
    try:
        with words_for(shown):
            found = damages(connection)
            if found:
                raise UnusableFileError(f"{shown}: the copy is damaged ({found[0].what})")
            count = connection.execute("select count(*) from log").fetchone()[0]
    finally:
        connection.close()
    if count != wanted:
        raise UnusableFileError(f"{shown}: the copy read back is not whole; try again")
