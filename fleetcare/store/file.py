"""Opening, making and writing the fleet file.

Settings, and why: rollback journal and full sync, because the file may then be copied, mailed and
put on a stick at any moment; every write is one BEGIN IMMEDIATE transaction, because a plain one
that reads before it writes fails at once beside another writer, whatever the time-out.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.store.files import give_mode, keep_names
from fleetcare.store.schema import APPLICATION_ID, GUARDS, TABLES, VERSION, migrations
from fleetcare.store.seal import sealing
from fleetcare.store.telling import RESTORE, WAIT_SECONDS, words_for, words_of_system

MAGIC = b"SQLite format 3\x00"
_SETTINGS = (
    "foreign_keys = on", "recursive_triggers = on", "trusted_schema = off",
    "cell_size_check = on", "synchronous = extra", "fullfsync = on",
)  # fmt: skip
KeepOlder = Callable[[Path, int], None]


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


def journal_of(path: Path) -> Path:
    """Where SQLite keeps what it needs to take an unfinished write back."""
    return path.with_name(f"{path.name}-journal")


def refuse_stray_journal(path: Path) -> None:
    """Refuse a new file beside the journal of a lost one, which would be played into it."""
    if journal_of(path).exists():
        raise RefusedError(
            f"{journal_of(path)} is left of a file that is gone; move it away and try again"
        )


_OPEN: dict[tuple[int, int], int] = {}


def _descriptor(path: Path) -> int:
    """A descriptor of the file that stays open as long as this program runs.

    Closing one would drop every lock that this program's connections hold on the file (POSIX
    advisory locks; sqlite.org, How To Corrupt An SQLite Database File, 2.2).
    """
    info = path.stat()
    known = _OPEN.get((info.st_dev, info.st_ino))
    if known is None:
        known = os.open(path, os.O_RDONLY | getattr(os, "O_CLOEXEC", 0))
        info = os.fstat(known)
        _OPEN[info.st_dev, info.st_ino] = known
    elif not os.access(path, os.R_OK, effective_ids=os.access in os.supports_effective_ids):
        raise PermissionError
    return known


def content_of(path: Path, most: int | None = None) -> bytes:
    """The file's bytes, or its first ones, without dropping any lock on it."""
    if not hasattr(os, "pread"):  # no such locks there
        with path.open("rb") as file:
            return file.read(-1 if most is None else most)
    handle = _descriptor(path)
    if most is not None:
        return os.pread(handle, most, 0)
    pieces: list[bytes] = []
    at = 0
    while piece := os.pread(handle, 1 << 20, at):
        pieces.append(piece)
        at += len(piece)
    return b"".join(pieces)


def look_at_header(path: Path) -> int:
    """The schema version in the file's head; refused in words when it is no fleet file of ours."""
    try:
        head = content_of(path, 100)
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


def open_file(
    path: Path, wait: float = WAIT_SECONDS, *, keep_older: KeepOlder | None = None
) -> sqlite3.Connection:
    """The fleet file, verified and at this program's schema.

    `keep_older` is given the path and the version of an older file before it is brought up to
    date. Raises UnusableFileError for a file that is missing its guards, damaged, foreign or newer.
    """
    connection = open_to_look(path, wait, keep_older=keep_older)
    try:
        with words_for(path):
            _verify(path, connection)
    except BaseException:
        connection.close()
        raise
    return connection


def open_to_look(
    path: Path, wait: float = WAIT_SECONDS, *, keep_older: KeepOlder | None = None
) -> sqlite3.Connection:
    """The fleet file at this program's schema, whatever it may have lost."""
    version = look_at_header(path)
    if version > VERSION:
        raise _newer(path, version)
    with words_for(path):
        connection = connect(path, "rw", wait)
        try:
            if version < VERSION:
                _migrate(path, connection, keep_older)
            _leave_log_ahead(connection)
        except BaseException:
            connection.close()
            raise
    return connection


def _newer(path: Path, version: int) -> UnusableFileError:
    return UnusableFileError(
        f"{path} was written by a newer fleetcare (file {version}, this one knows {VERSION}); "
        f"left as it is. Install the newer program"
    )


def _leave_log_ahead(connection: sqlite3.Connection) -> None:
    """Back to a rollback journal when another program chose a log written ahead.

    A copy of the file alone would lack what stands in that log. Left for the next time when
    somebody else has the file open.
    """
    if connection.execute("pragma journal_mode").fetchone()[0] == "wal":
        with suppress(sqlite3.OperationalError):
            connection.execute("pragma journal_mode = delete")


def _verify(path: Path, connection: sqlite3.Connection) -> None:
    rows = connection.execute("select type, name, sql from sqlite_master").fetchall()
    tables = {name for kind, name, _ in rows if kind == "table"}
    triggers = {name: sql for kind, name, sql in rows if kind == "trigger"}
    missing = [name for name in TABLES if name not in tables]
    if missing:
        raise UnusableFileError(f"{path} has lost its table {missing[0]}. {RESTORE}")
    if triggers != guards_as_kept():
        raise UnusableFileError(
            f"{path} has lost the guards of its log: another program changed it. {RESTORE}"
        )


def guards_as_kept() -> dict[str, str]:
    """The guards of the log as SQLite keeps their texts: the first words in capitals."""
    return {
        name: sql.replace("create trigger", "CREATE TRIGGER", 1) for name, sql in GUARDS.items()
    }


def _migrate(
    path: Path, connection: sqlite3.Connection, keep_older: KeepOlder | None = None
) -> None:
    """Bring the schema up to date inside one transaction of ours."""
    from sqlite_utils import Database

    connection.execute("BEGIN IMMEDIATE")
    try:
        now = connection.execute("pragma user_version").fetchone()[0]
        if now < VERSION:
            if now and keep_older is not None:
                keep_older(path, now)
            migrations().apply(Database(connection, execute_plugins=False))
            connection.execute(f"pragma user_version = {VERSION:d}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def make_file(path: Path, fill: Callable[[sqlite3.Connection], None] | None = None) -> None:
    """A new fleet file, empty or filled; refused when the name is taken.

    It appears with everything that `fill` wrote, or not at all.
    """
    if path.exists():
        raise RefusedError(f"{path} exists already; choose another name, or use it as it is")
    refuse_stray_journal(path)
    with words_of_system(path, "cannot be made"):
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f".{path.name}.{os.getpid()}.new")
        drop(half)
        make_private(half)
    try:
        with words_for(path):
            connection = connect(half, "rw")
            try:
                connection.execute("pragma journal_mode = delete")
                connection.execute(f"pragma application_id = {APPLICATION_ID:d}")
                _migrate(half, connection)
                if fill is not None:
                    with writing(path, connection):
                        fill(connection)
            finally:
                connection.close()
        give_name(half, path)
    finally:
        with suppress(OSError):
            drop(half)


def make_private(path: Path) -> None:
    """A new, empty file that only its owner may read and write, whatever the umask."""
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    try:
        give_mode(handle, path, 0o600)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    finally:
        os.close(handle)


def drop(half: Path) -> None:
    """Remove a file that was being made, and its journal."""
    half.unlink(missing_ok=True)
    journal_of(half).unlink(missing_ok=True)


def give_name(half: Path, path: Path) -> None:
    """Let a finished file appear under its name, which no other program took meanwhile."""
    try:
        os.link(half, path)
    except FileExistsError as error:
        raise RefusedError(f"{path} exists already; choose another name") from error
    except OSError:  # a file system without links
        with words_of_system(path, "cannot be made"):
            half.rename(path)
    with words_of_system(path):
        keep_names(path.parent)


@contextmanager
def writing(path: Path, connection: sqlite3.Connection, keep: bool = True) -> Iterator[None]:
    """One write: all of it is kept at the end, or, on any error or when `keep` is off, nothing."""
    with words_for(path):
        connection.execute("BEGIN IMMEDIATE")
        try:
            version = connection.execute("pragma user_version").fetchone()[0]
            if version > VERSION:  # since it was opened
                raise _newer(path, version)
            with sealing(connection) if keep else nullcontext():
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
