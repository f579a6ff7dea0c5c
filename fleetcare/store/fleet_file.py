"""The fleet file as the rooms above see it: open, read, write, close."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import TracebackType

from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.store.fetch import Kept, fetch_fleet, fetch_history, fetch_log
from fleetcare.store.file import make_file, open_file, words_for, writing


class FleetFile:
    """An open fleet file. Use it in a `with` statement."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.connection: sqlite3.Connection = open_file(path)

    @staticmethod
    def make(path: Path) -> FleetFile:
        """Make a new file and open it; refused when the name is taken."""
        make_file(path)
        return FleetFile(path)

    def __enter__(self) -> FleetFile:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.connection.close()

    @contextmanager
    def writing(self, keep: bool = True) -> Iterator[sqlite3.Connection]:
        """One write transaction; with `keep` off all of it is tried and taken back."""
        with writing(self.path, self.connection, keep):
            yield self.connection

    @contextmanager
    def reading(self) -> Iterator[None]:
        """All reads inside see the file at one moment, whatever others write meanwhile."""
        with words_for(self.path):
            if self.connection.in_transaction:
                yield
                return
            self.connection.execute("BEGIN")
            try:
                yield
            finally:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")

    def fleet(self) -> Fleet:
        """Everything there is."""
        with self.reading():
            return fetch_fleet(self.connection)

    def history(self, as_of: date | None = None, last_jobs: bool = False) -> History:
        """What happened up to a day; with `last_jobs` of most engines only their last jobs."""
        with self.reading():
            return fetch_history(self.connection, as_of, last_jobs=last_jobs)

    def log(self, engine: str | None = None) -> list[Kept]:
        """The entries as records."""
        with self.reading():
            return fetch_log(self.connection, engine)
