"""A safe copy of the fleet file, and putting one back."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.store.file import (
    connect,
    give_name,
    journal_of,
    look_at_header,
    open_file,
    refuse_stray_journal,
    words_for,
)


def back_up(source: sqlite3.Connection, target: Path) -> int:
    """Copy an open fleet file into a new one, read it back, and give its number of entries.

    Raises RefusedError when the target exists: a copy never overwrites.
    """
    if target.exists():
        raise RefusedError(f"{target} exists already; a copy never overwrites. Choose another name")
    refuse_stray_journal(target)
    half = _half_of(target)
    try:
        count = _copy(source, half, target)
        give_name(half, target)
    finally:
        half.unlink(missing_ok=True)
    return count


def _half_of(target: Path) -> Path:
    """Where a copy is made before it takes its name, in the same folder."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        half = target.with_name(f".{target.name}.half")
        half.unlink(missing_ok=True)
    except OSError as error:
        raise UnusableFileError(f"{target} cannot be made: {error.strerror}") from error
    return half


def _copy(source: sqlite3.Connection, half: Path, target: Path) -> int:
    """Write the copy and read it back; what is said names the target."""
    with words_for(target):
        source.execute("BEGIN")  # no other program's write comes between the copy and the count
        try:
            wanted = source.execute("select count(*) from log").fetchone()[0]
            copy = connect(half, "rwc")
            try:
                source.backup(copy, pages=-1)
            finally:
                copy.close()
        finally:
            source.execute("ROLLBACK")
    count = _read_back(half)
    if count != wanted:
        raise UnusableFileError(f"{target}: the copy read back is not whole; try again")
    half.chmod(0o600)
    return count


def _read_back(path: Path) -> int:
    look_at_header(path)
    connection = open_file(path)
    try:
        with words_for(path):
            verdict = connection.execute("pragma integrity_check").fetchone()[0]
            if verdict != "ok":
                raise UnusableFileError(f"{path}: the copy is damaged ({verdict})")
            count: int = connection.execute("select count(*) from log").fetchone()[0]
            return count
    finally:
        connection.close()


def restore(backup: Path, target: Path, overwrite: bool) -> int:
    """Put a copy back in the fleet file's place; the file there is kept beside it.

    Raises RefusedError when there is one and `overwrite` is off. The file there stays where it is
    until the copy has been made and read back.
    """
    if not backup.exists():
        raise RefusedError(f"{backup} does not exist")
    if target.exists() and backup.samefile(target):
        raise RefusedError(f"{backup} is the fleet file itself; name a copy of it")
    if target.exists() and not overwrite:
        raise RefusedError(
            f"{target} exists; --overwrite puts the copy in its place and keeps it beside"
        )
    source = open_file(backup)
    half = _half_of(target)
    try:
        count = _copy(source, half, target)
        _move_aside(target)
        give_name(half, target)
    finally:
        source.close()
        half.unlink(missing_ok=True)
    return count


def _move_aside(target: Path) -> None:
    """Keep the file there, and the journal that belongs to it, under another name."""
    aside = target.with_name(f"{target.name}.before-restore")
    number = 1
    while aside.exists() or journal_of(aside).exists():
        number += 1
        aside = target.with_name(f"{target.name}.before-restore-{number}")
    for path, other in ((target, aside), (journal_of(target), journal_of(aside))):
        if path.exists():
            path.rename(other)
