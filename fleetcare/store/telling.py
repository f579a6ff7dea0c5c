"""What the database and the system say of a file, as sentences with their exit codes."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fleetcare.errors import BusyError, FleetcareError, RefusedError, UnusableFileError

WAIT_SECONDS = 15.0
RESTORE = "Restore a copy: fleetcare restore BACKUP --fleet FILE"

# What an error's name begins with, and what is said of it; the first that fits counts.
_UNUSABLE: tuple[tuple[str, str], ...] = (
    (
        "SQLITE_FULL",
        "{path}: the disk is full; nothing of this was kept, all before it was. Make room and try "
        "again",
    ),
    (
        "SQLITE_READONLY_DBMOVED",
        "{path} was moved, or a copy was put in its place, while it was in use; nothing of this "
        "was kept. Try again",
    ),
    (
        "SQLITE_READONLY_ROLLBACK",
        "{path} was left in the middle of a write, which cannot be taken back here: the file or "
        "its folder is read-only. Copy it and the file {path}-journal to where they can be "
        "written, and use it there",
    ),
    (
        "SQLITE_READONLY",
        "{path} cannot be written here: the file or its folder is read-only, or it was moved while "
        "in use",
    ),
    ("SQLITE_CORRUPT", "{path} is damaged ({message}); left as it is. {restore}"),
    ("SQLITE_NOTADB", "{path} is damaged ({message}); left as it is. {restore}"),
    (
        "SQLITE_CANTOPEN",
        "{path} cannot be used: {message}. Its folder may be read-only, or the disk full",
    ),
    (
        "SQLITE_IOERR",
        "{path} cannot be used: the disk fails ({message}). What was said to be stored before is "
        "kept; whether this was, fleetcare log shows. Put the file on another disk",
    ),
    ("SQLITE_PERM", "{path} cannot be used: {message}"),
)
_OF_THE_DISK = (
    errno.EACCES, errno.EDQUOT, errno.EIO, errno.ENOSPC, errno.EPERM, errno.EROFS
)  # fmt: skip
_LOST = ("no such index: ", "no such table: ", "no such column: ", "no query solution")


@contextmanager
def words_for(path: Path) -> Iterator[None]:
    """Turn the database's own errors into sentences with their exit codes."""
    try:
        yield
    except (sqlite3.Error, UnicodeDecodeError) as error:
        told = told_of(path, error)
        if told is None:
            raise
        raise told from error


def is_no_text(error: Exception) -> bool:
    """Whether a text in the file, or in what SQLite says of it, is no text any more."""
    return isinstance(error, UnicodeDecodeError) or str(error).startswith("Could not decode")


def told_of(path: Path, error: BaseException) -> FleetcareError | None:
    """The sentence for an error that nobody met where it arose; None when it is none of these.

    `path` is the fleet file, of which the database speaks.
    """
    if isinstance(error, (sqlite3.Error, UnicodeDecodeError)) and is_no_text(error):
        return UnusableFileError(
            f"{path} is damaged (a text in it is none any more); left as it is. {RESTORE}"
        )
    if isinstance(error, sqlite3.Error):
        return _of_database(path, error)
    if isinstance(error, OSError) and error.errno in _OF_THE_DISK:
        where = error.filename or "a file"
        return UnusableFileError(f"{where} cannot be used: {error.strerror}")
    return None


def _of_database(path: Path, error: sqlite3.Error) -> FleetcareError | None:
    message = str(error)
    code = getattr(error, "sqlite_errorname", "") or ""
    if code.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return BusyError(
            f"{path} was in use by another program for {WAIT_SECONDS:.0f} s; nothing was "
            f"written. Try again"
        )
    for begin, words in _UNUSABLE:
        if code.startswith(begin):
            return UnusableFileError(words.format(path=path, message=message, restore=RESTORE))
    if code.startswith("SQLITE_TOOBIG"):
        return RefusedError("a text is too long to be stored")
    if message.startswith(_LOST):
        return UnusableFileError(
            f"{path} is not as fleetcare made it ({message}): another program changed it. {RESTORE}"
        )
    return None


@contextmanager
def words_of_system(path: Path, what: str = "cannot be written") -> Iterator[None]:
    """Turn an error of the system's about a file beside the database into a sentence."""
    try:
        yield
    except OSError as error:
        raise UnusableFileError(f"{path} {what}: {error.strerror or error}") from error


@contextmanager
def legible(path: Path) -> Iterator[None]:
    """What is read makes sense: a day that is none, an entry of no engine, is damage."""
    try:
        yield
    except (ArithmeticError, LookupError, TypeError, ValueError) as error:
        raise UnusableFileError(
            f"{path} holds what cannot be read ({type(error).__name__}: {error}); left as it is. "
            f"fleetcare check names it"
        ) from error
