"""A safe copy of the fleet file, and putting one back."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.store.file import connect, look_at_header, open_file, words_for


def back_up(source: sqlite3.Connection, target: Path) -> int:
    """Copy an open fleet file into a new one, read it back, and give its number of entries.

    Raises RefusedError when the target exists: a copy never overwrites.
    """
    if target.exists():
        raise RefusedError(f"{target} exists already; a copy never overwrites. Choose another name")
    target.parent.mkdir(parents=True, exist_ok=True)
    half = target.with_name(f".{target.name}.half")
    half.unlink(missing_ok=True)
    try:
        with words_for(target):
            copy = connect(half, "rwc")
            try:
                source.backup(copy, pages=-1)
            finally:
                copy.close()
        count = _read_back(half)
        if count != source.execute("select count(*) from log").fetchone()[0]:
            raise UnusableFileError(f"{target}: the copy read back is not whole; try again")
        half.chmod(0o600)
        half.rename(target)
    finally:
        half.unlink(missing_ok=True)
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

    Raises RefusedError when there is one and `overwrite` is off.
    """
    if not backup.exists():
        raise RefusedError(f"{backup} does not exist")
    if target.exists():
        if not overwrite:
            raise RefusedError(
                f"{target} exists; --overwrite puts the copy in its place and keeps it beside"
            )
        aside = target.with_name(f"{target.name}.before-restore")
        number = 1
        while aside.exists():
            number += 1
            aside = target.with_name(f"{target.name}.before-restore-{number}")
        target.rename(aside)
        journal = target.with_name(f"{target.name}-journal")
        if journal.exists():
            journal.rename(aside.with_name(f"{aside.name}-journal"))
    source = open_file(backup)
    try:
        return back_up(source, target)
    finally:
        source.close()
