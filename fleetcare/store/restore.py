"""Putting a copy back in the fleet file's place, and saying what was written since it was made."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from fleetcare.errors import FleetcareError, RefusedError, UnusableFileError
from fleetcare.store.backup import copy_into, half_of, read_back
from fleetcare.store.fetch import FLEET_ID, withdrawn
from fleetcare.store.file import connect, content_of, give_name, journal_of, look_at_header
from fleetcare.store.files import keep_names, write_whole
from fleetcare.store.schema import VERSION
from fleetcare.store.seal import SEAL
from fleetcare.store.telling import words_for, words_of_system

_TABLES = {
    "log": "entries", "setting": "settings", "boat": "boats", "engine": "engines",
    "subscriber": "subscribers",
}  # fmt: skip
_BUSY = ("SQLITE_BUSY", "SQLITE_LOCKED")


@dataclass(frozen=True, slots=True)
class Since:
    """What the file that was there has and the copy has not.

    `withdrawn` are entries of both that were taken back since, which no table brings along.
    """

    entries: int
    others: tuple[str, ...]  # what else differs: settings, boats, engines, …
    another_fleet: bool
    withdrawn: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Restored:
    """A copy put back: what it holds, when its last entry was written, what it lacks.

    `written` is the UTC time in ISO 8601, empty without an entry. `aside` is where the file that
    was there is kept, None when there was none; `since` is None when that cannot be read.
    """

    entries: int
    written: str
    aside: Path | None
    since: Since | None


def restore(backup: Path, target: Path, overwrite: bool, keep: bool = True) -> Restored:
    """Put a copy back in the fleet file's place; the file there is kept beside it.

    Raises RefusedError when there is one and `overwrite` is off. There is a whole file under the
    fleet file's name at every moment. With `keep` off all is tried and nothing changed.
    """
    if not backup.exists():
        raise RefusedError(f"{backup} does not exist")
    if target.is_dir():
        raise UnusableFileError(f"{target} is a folder, not a fleet file")
    if target.exists() and backup.samefile(target):
        raise RefusedError(f"{backup} is the fleet file itself; name a copy of it")
    if target.exists() and not overwrite:
        raise RefusedError(
            f"{target} exists; --overwrite puts the copy in its place and keeps it beside"
        )
    with half_of(target) as half:
        _take(backup, half, target)
        return _put(half, target, keep)


def _take(backup: Path, half: Path, target: Path) -> None:
    """The copy into the half-made file, read back; it is not changed itself."""
    version = look_at_header(backup)
    if version > VERSION:
        raise UnusableFileError(
            f"{backup} was written by a newer fleetcare (file {version}, this one knows {VERSION})"
        )
    # a journal beside it has to be played into it, or what is read is half a write
    with words_for(backup):
        source = connect(backup, "rw" if journal_of(backup).exists() else "ro")
        try:
            count = copy_into(half, source, target)
        finally:
            source.close()
    read_back(half, backup, count)


def _put(half: Path, target: Path, keep: bool) -> Restored:
    there = target.exists()
    with _alone_with(target if there else None) as old:
        entries, written = _told(half)
        since = _missing(old, half) if old is not None else None
        aside = _free_name(target) if there or journal_of(target).exists() else None
        if keep:
            with words_of_system(target):
                _switch(half, target, aside, there)
    return Restored(entries, written, aside if there else None, since)


def _told(path: Path) -> tuple[int, str]:
    """The number of entries, and when the last was written."""
    with words_for(path):
        connection = connect(path, "ro")
        try:
            found: tuple[int, str] = connection.execute(
                "select count(*), coalesce((select at from log order by id desc limit 1), '') "
                "from log"
            ).fetchone()
            return found
        finally:
            connection.close()


@contextmanager
def _alone_with(target: Path | None) -> Iterator[sqlite3.Connection | None]:
    """The file there, healed and with everybody else kept out; None when it cannot be opened.

    Without the lock another program's journal could be played into the copy that takes its place.
    Raises BusyError when it is in use longer than the wait.
    """
    connection = None
    if target is not None and _is_ours(target):  # of others SQLite would take the journal away
        with words_for(target):
            try:
                connection = connect(target, "rw")
                connection.execute("BEGIN EXCLUSIVE")
                connection.execute("select count(*) from log")
            except sqlite3.Error as error:
                if connection is not None:
                    connection.close()
                    connection = None
                if (getattr(error, "sqlite_errorname", "") or "").startswith(_BUSY):
                    raise
    try:
        yield connection
    finally:
        if connection is not None:
            connection.close()


def _is_ours(path: Path) -> bool:
    try:
        look_at_header(path)
    except UnusableFileError:
        return False
    return True


def _missing(old: sqlite3.Connection, half: Path) -> Since | None:
    """What the file there has and the copy has not, or None when that cannot be read."""
    with words_for(half):
        copy = connect(half, "ro")
        try:
            here = {table: _hashes(copy, table) for table in _TABLES}
            ours, counts = _fleet_id(copy), _counting(copy)
        finally:
            copy.close()
    try:
        there = {table: _hashes(old, table) for table in _TABLES}
        theirs = _fleet_id(old)
        again = _withdrawn(old).items() & counts.items()
    except sqlite3.Error:
        return None
    more = there["log"] - here["log"]
    others = [words for table, words in _TABLES.items() if here[table] != there[table]]
    known = tuple(word for word in others if word != "entries")
    return Since(len(more), known, ours != theirs, tuple(sorted(number for number, _ in again)))


def _fleet_id(connection: sqlite3.Connection) -> object:
    row = connection.execute("select value from setting where name = ?", (FLEET_ID,)).fetchone()
    return row and row[0]


def _hashes(connection: sqlite3.Connection, table: str) -> set[int]:
    """A hash of each row of a table, whichever order they lie in."""
    rows = connection.execute(f"select * from {table}")  # noqa: S608 - one of ours
    return {hash(row) for row in rows if row[0] != SEAL}


def _counting(connection: sqlite3.Connection) -> dict[int, int]:
    """A hash of each entry that is not withdrawn, by its number."""
    return _by_number(connection, dead=False)


def _withdrawn(connection: sqlite3.Connection) -> dict[int, int]:
    """A hash of each entry that is withdrawn, by its number."""
    return _by_number(connection, dead=True)


def _by_number(connection: sqlite3.Connection, dead: bool) -> dict[int, int]:
    with suppress(sqlite3.Error):  # of an older version, which keeps withdrawals otherwise
        gone = withdrawn(connection)
        rows = connection.execute("select * from log")
        return {row[0]: hash(row) for row in rows if (row[0] in gone) == dead}
    return {}


def _free_name(target: Path) -> Path:
    """Where the file there is kept."""
    aside = target.with_name(f"{target.name}.before-restore")
    number = 1
    while aside.exists() or journal_of(aside).exists():
        number += 1
        aside = target.with_name(f"{target.name}.before-restore-{number}")
    return aside


def _switch(half: Path, target: Path, aside: Path | None, there: bool) -> None:
    """Keep the file there under another name too, then let the copy take its name in one step.

    A journal that could not be healed goes aside with its file, since it would be played into the
    copy.
    """
    if there:
        _like(target, half)
    try:
        if aside is not None:
            _keep_aside(target, aside, there)
        if there:
            half.replace(target)
        else:
            give_name(half, target)
    except (OSError, FleetcareError):
        if aside is not None:
            _no_second_name(aside, target)
        raise
    keep_names(target.parent)


def _keep_aside(target: Path, aside: Path, there: bool) -> None:
    if there:
        _also_as(target, aside)
    if journal_of(target).exists():
        _also_as(journal_of(target), journal_of(aside))
        journal_of(target).unlink()
        keep_names(target.parent)


def _no_second_name(aside: Path, target: Path) -> None:
    """Take the second name away from a file that is not replaced after all."""
    with suppress(OSError):
        if not journal_of(aside).exists() and aside.samefile(target):
            aside.unlink()


def _also_as(path: Path, other: Path) -> None:
    """The file under a second name; a copy of it where the file system knows no second names."""
    try:
        os.link(path, other)
    except FileExistsError:
        raise
    except OSError:
        write_whole(other, content_of(path), mode=path.stat().st_mode & 0o777)
    keep_names(path.parent)


def _like(old: Path, new: Path) -> None:
    """Give the copy the mode and the owner of the file whose place it takes."""
    info = old.stat()
    new.chmod(info.st_mode & 0o777)
    if hasattr(os, "chown"):
        with suppress(PermissionError):
            os.chown(new, info.st_uid, info.st_gid)
