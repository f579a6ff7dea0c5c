"""Whether a fleet file has changed, asked cheaply and often by a long-lived program."""

from __future__ import annotations

import hashlib
import sqlite3
from pathlib import Path

from fleetcare.errors import UnusableFileError
from fleetcare.store.integrity import quoted
from fleetcare.store.seal import SEAL
from fleetcare.store.telling import WAIT_SECONDS, words_for

# What is worked out of the rest and kept: writing it changes nothing that it is worked out of.
_WORKED_OUT = frozenset({"fit", "sent", "sent_feed", "pushed", "collected"})
_GROWS = "log"  # only ever by a last row: guards of the file see to that


class Watch:
    """Tells one state of a fleet file from another. Use it from one thread at a time.

    Times and sizes would not do: two writes within a tick of the clock leave both as they are.
    The database says whether anyone wrote since it was asked last; only then is it read what is
    there, so that feeds which remember what they sent are not taken for a change.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._connection: sqlite3.Connection | None = None
        self._file = (0, 0)
        self._writes = -1
        self._state = ""

    def mark(self) -> str:
        """A value that is another one when anything was logged, added or changed, else the same.

        Raises UnusableFileError when the file has gone, BusyError when it is held too long.
        """
        try:
            status = self.path.stat()
        except OSError as error:
            self.close()
            raise UnusableFileError(f"{self.path} has gone: {error.strerror}") from error
        with words_for(self.path):
            if self._connection is None or self._file != (status.st_dev, status.st_ino):
                self.close()
                self._file = (status.st_dev, status.st_ino)
                self._connection = self._open()
            writes: int = self._connection.execute("pragma data_version").fetchone()[0]
            if writes != self._writes:
                self._state = _state(self._connection)
                self._writes = writes  # of before the reading: what came meanwhile is seen next
        return self._state

    def _open(self) -> sqlite3.Connection:
        """A connection that may also undo what a killed writer left, as every reader must."""
        uri = f"{self.path.resolve().as_uri()}?mode=rw"
        return sqlite3.connect(
            uri, uri=True, timeout=WAIT_SECONDS, isolation_level=None, check_same_thread=False
        )

    def close(self) -> None:
        """Let the file go; the next mark opens it again."""
        if self._connection is not None:
            self._connection.close()
            self._connection, self._writes = None, -1


def _state(connection: sqlite3.Connection) -> str:
    """A digest of every table but those worked out of others; of the log, how far it goes."""
    told = hashlib.sha256()
    connection.execute("begin")  # all of it at one moment
    try:
        names = connection.execute(
            "select name from sqlite_master where type = 'table' and name not like 'sqlite%' "
            "order by name"
        ).fetchall()
        for (name,) in names:
            if name not in _WORKED_OUT:
                what = "max(id)" if name == _GROWS else "*"
                but = f"where name <> '{SEAL}'" if name == "setting" else ""
                rows = connection.execute(f"select {what} from {quoted(name)} {but}")  # noqa: S608 - its own
                told.update(repr((name, rows.fetchall())).encode())
    finally:
        connection.execute("rollback")
    return told.hexdigest()
