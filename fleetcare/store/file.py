"""Opening, making and writing the fleet file.

Settings, and why: rollback journal and full sync, because the file may then be copied, mailed and
put on a stick at any moment; every write is one BEGIN IMMEDIATE transaction, because a plain one
that reads before it writes fails at once beside another writer, whatever the time-out.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fleetcare.errors import BusyError, RefusedError, UnusableFileError
from fleetcare.store.schema import APPLICATION_ID, GUARDS, TABLES, VERSION, migrations

WAIT_SECONDS = 15.0
MAGIC = b"SQLite format 3\x00"
_SETTINGS = (
    "foreign_keys = on", "recursive_triggers = on", "trusted_schema = off",
    "cell_size_check = on", "synchronous = extra",
)  # fmt: skip
RESTORE = "Restore a copy: fleetcare restore BACKUP --fleet FILE"


def connect(path: Path, mode: str, wait: float = WAIT_SECONDS) -> sqlite3.Connection:
    """A connection to an existing file (ro, rw) or a new one (rwc), with our settings."""
    if sqlite3.sqlite_version_info < (3, 37):
        raise UnusableFileError(
            f"this Python's SQLite is {sqlite3.sqlite_version}; fleetcare needs 3.37 or later"
        )
    uri = f"{path.resolve().as_uri()}?mode={mode}"
    connection = sqlite3.connect(uri, uri=True, timeout=wait, isolation_level=None)
    try:
        for setting in _SETTINGS:
            connection.execute(f"pragma {setting}")
    except BaseException:
        connection.close()
        raise
    return connection


@contextmanager
def words_for(path: Path) -> Iterator[None]:
    """Turn the database's own errors into sentences with their exit codes."""
    try:
        yield
    except sqlite3.Error as error:
        message = str(error)
        code = getattr(error, "sqlite_errorname", "") or ""
        if code.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            raise BusyError(
                f"{path} was in use by another program for {WAIT_SECONDS:.0f} s; nothing was "
                f"written. Try again"
            ) from error
        if code.startswith("SQLITE_FULL"):
            raise UnusableFileError(
                f"{path}: the disk is full; nothing of this was kept, all before it was. "
                f"Make room and try again"
            ) from error
        if code.startswith("SQLITE_READONLY"):
            raise UnusableFileError(
                f"{path} cannot be written here: the file or its folder is read-only, or it was "
                f"moved while in use"
            ) from error
        if code.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
            raise UnusableFileError(
                f"{path} is damaged ({message}); left as it is. {RESTORE}"
            ) from error
        if code.startswith(("SQLITE_CANTOPEN", "SQLITE_IOERR", "SQLITE_PERM")):
            raise UnusableFileError(f"{path} cannot be used: {message}") from error
        if code.startswith("SQLITE_TOOBIG"):
            raise RefusedError("a text is too long to be stored") from error
        raise


def journal_of(path: Path) -> Path:
    """Where SQLite keeps what it needs to take an unfinished write back."""
    return path.with_name(f"{path.name}-journal")


def refuse_stray_journal(path: Path) -> None:
    """Refuse a new file beside the journal of a lost one, which would be played into it."""
    if journal_of(path).exists():
        raise RefusedError(
            f"{journal_of(path)} is left of a file that is gone; move it away and try again"
        )


_HEADS: dict[tuple[int, int], int] = {}


def _head_of(path: Path) -> bytes:
    """The file's first bytes, by a descriptor that stays open as long as this program runs.

    Closing one would drop every lock that this program's connections hold on the file (POSIX
    advisory locks; sqlite.org, How To Corrupt An SQLite Database File, 2.2).
    """
    if not hasattr(os, "pread"):  # no such locks there
        with path.open("rb") as file:
            return file.read(100)
    info = path.stat()
    known = _HEADS.get((info.st_dev, info.st_ino))
    if known is None:
        known = os.open(path, os.O_RDONLY | getattr(os, "O_CLOEXEC", 0))
        info = os.fstat(known)
        _HEADS[info.st_dev, info.st_ino] = known
    elif not os.access(path, os.R_OK, effective_ids=os.access in os.supports_effective_ids):
        raise PermissionError
    return os.pread(known, 100, 0)


def look_at_header(path: Path) -> int:
    """The schema version in the file's head; refused in words when it is no fleet file of ours."""
    try:
        head = _head_of(path)
        # asked in this order, a writer at work cannot make a whole file look cut short
        hot = journal_of(path).exists()
        size = path.stat().st_size
    except IsADirectoryError as error:
        raise UnusableFileError(f"{path} is a folder, not a fleet file") from error
    except PermissionError as error:
        raise UnusableFileError(f"{path} may not be read by this user") from error
    except OSError as error:
        raise UnusableFileError(f"{path} cannot be read: {error.strerror}") from error
    if size == 0:
        raise UnusableFileError(
            f"{path} is empty (0 bytes): it never was a fleet, or was lost. {RESTORE}"
        )
    if len(head) < 100 or not head.startswith(MAGIC):
        raise UnusableFileError(f"{path} is not a fleet file; left as it is")
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise UnusableFileError(f"{path} is another program's database; left as it is")
    page = int.from_bytes(head[16:18], "big")
    pages = int.from_bytes(head[28:32], "big")
    page = 65536 if page == 1 else page
    if not hot and head[24:28] == head[92:96] and size < page * pages:
        raise UnusableFileError(f"{path} is cut short; left as it is. {RESTORE}")
    return int.from_bytes(head[60:64], "big")


def open_file(path: Path, wait: float = WAIT_SECONDS) -> sqlite3.Connection:
    """The fleet file, verified and at this program's schema.

    Raises UnusableFileError for a file that is missing its guards, damaged, foreign or newer.
    """
    version = look_at_header(path)
    if version > VERSION:
        raise UnusableFileError(
            f"{path} was written by a newer fleetcare (file {version}, this one knows {VERSION}); "
            f"left as it is. Install the newer program"
        )
    with words_for(path):
        connection = connect(path, "rw", wait)
        try:
            if version < VERSION:
                _migrate(path, connection)
            _verify(path, connection)
        except BaseException:
            connection.close()
            raise
    return connection


def _verify(path: Path, connection: sqlite3.Connection) -> None:
    rows = connection.execute("select type, name, sql from sqlite_master").fetchall()
    tables = {name for kind, name, _ in rows if kind == "table"}
    triggers = {name: sql for kind, name, sql in rows if kind == "trigger"}
    missing = [name for name in TABLES if name not in tables]
    if missing:
        raise UnusableFileError(f"{path} has lost its table {missing[0]}. {RESTORE}")
    if triggers != {name: _as_kept(sql) for name, sql in GUARDS.items()}:
        raise UnusableFileError(
            f"{path} has lost the guards of its log: another program changed it. {RESTORE}"
        )


def _as_kept(sql: str) -> str:
    """How SQLite keeps a trigger's text: the first words in capitals."""
    return sql.replace("create trigger", "CREATE TRIGGER", 1)


def _migrate(path: Path, connection: sqlite3.Connection) -> None:
    """Bring the schema up to date inside one transaction of ours."""
    from sqlite_utils import Database

    connection.execute("BEGIN IMMEDIATE")
    try:
        now = connection.execute("pragma user_version").fetchone()[0]
        if now < VERSION:
            migrations().apply(Database(connection, execute_plugins=False))
            connection.execute(f"pragma user_version = {VERSION:d}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def make_file(path: Path) -> None:
    """A new, empty fleet file; refused when the name is taken. Appears whole or not at all."""
    if path.exists():
        raise RefusedError(f"{path} exists already; choose another name, or use it as it is")
    refuse_stray_journal(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f".{path.name}.{os.getpid()}.new")
        half.unlink(missing_ok=True)
        os.close(os.open(half, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except OSError as error:
        raise UnusableFileError(f"{path} cannot be made: {error.strerror}") from error
    try:
        with words_for(path):
            connection = connect(half, "rw")
            try:
                connection.execute("pragma journal_mode = delete")
                connection.execute(f"pragma application_id = {APPLICATION_ID:d}")
                _migrate(half, connection)
            finally:
                connection.close()
        give_name(half, path)
    finally:
        half.unlink(missing_ok=True)


def give_name(half: Path, path: Path) -> None:
    """Let a finished file appear under its name, which no other program took meanwhile."""
    try:
        os.link(half, path)
    except FileExistsError as error:
        raise RefusedError(f"{path} exists already; choose another name") from error
    except OSError:  # a file system without links
        half.rename(path)


@contextmanager
def writing(path: Path, connection: sqlite3.Connection, keep: bool = True) -> Iterator[None]:
    """One write: all of it is kept at the end, or, on any error or when `keep` is off, nothing."""
    with words_for(path):
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            connection.execute("COMMIT" if keep else "ROLLBACK")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


@contextmanager
def without_waiting(connection: sqlite3.Connection) -> Iterator[None]:
    """A write that gives up at once beside another writer; the errors are SQLite's own."""
    wait = connection.execute("pragma busy_timeout").fetchone()[0]
    connection.execute("pragma busy_timeout = 0")
    try:
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("COMMIT")
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        connection.execute(f"pragma busy_timeout = {wait:d}")
