"""The fleet file as the rooms above see it: open, read, write, close."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.store.fetch import Kept, fetch_fleet, fetch_history, fetch_log
from fleetcare.store.file import make_file, open_file, open_to_look, without_waiting, writing
from fleetcare.store.telling import legible, words_for

if TYPE_CHECKING:
    from fleetcare.usage.outlooks import KeptFit


class FleetFile:
    """An open fleet file. Use it in a `with` statement."""

    def __init__(self, path: Path, verified: bool = True) -> None:
        """Open it; with `verified` off also when it has lost its guards or tables."""
        self.path = path
        self.older: Path | None = None  # where it is kept as it was, if it was brought up to date
        opens = open_file if verified else open_to_look
        self.connection: sqlite3.Connection = opens(path, keep_older=self._keep_older)

    def _keep_older(self, path: Path, version: int) -> None:
        from fleetcare.store.older import keep_older

        self.older = keep_older(path, version)

    @staticmethod
    def make(path: Path, fill: Callable[[sqlite3.Connection], None] | None = None) -> FleetFile:
        """Make a new file and open it; refused when the name is taken.

        What `fill` writes is in it when it appears.
        """
        make_file(path, fill)
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
        with self.reading(), legible(self.path):
            return fetch_fleet(self.connection)

    def history(
        self, as_of: date | None = None, last_jobs: bool = False, whole: Collection[str] = (),
        engines: Collection[str] | None = None,
    ) -> History:  # fmt: skip
        """What happened up to a day; with `last_jobs` of most engines only their last jobs.

        Of the tasks in `whole` every job is brought all the same. `engines` are those it is asked
        of, all when None; boats' moves and swaps come whole.
        """
        with self.reading(), legible(self.path):
            return fetch_history(self.connection, as_of, engines, last_jobs, whole)

    def kin(self, engines: Collection[str]) -> frozenset[str]:
        """Engines with all that ever swapped with them, or with those: what their parts ran on."""
        from fleetcare.store.kin import fetch_kin

        with self.reading(), legible(self.path):
            return fetch_kin(self.connection, engines)

    def engines_of(self, boats: Collection[str]) -> frozenset[str]:
        """The engines that boats have, or ever had."""
        from fleetcare.store.kin import fetch_engines_of

        with self.reading(), legible(self.path):
            return fetch_engines_of(self.connection, boats)

    def fits(
        self, as_of: date, engines: Collection[str] | None = None
    ) -> tuple[dict[str, KeptFit], int]:
        """The forecast's fits that still count on a day, and the number of the last entry."""
        from fleetcare.store.fits import fetch_fits

        with self.reading(), legible(self.path):
            return fetch_fits(self.connection, as_of, engines), self.last_entry()

    def keep_fits(
        self, made: Mapping[str, KeptFit], kept: Mapping[str, KeptFit], entry: int, as_of: date
    ) -> bool:
        """Keep new fits if the file can be written at once; a list is right without them."""
        from fleetcare.store.fits import keep_fits

        try:
            with without_waiting(self.connection):
                keep_fits(self.connection, made, kept, entry, as_of)
        except sqlite3.Error:
            return False
        return True

    def last_entry(self) -> int:
        """The number of the last entry, 0 in an empty log."""
        from fleetcare.store.fits import last_entry

        with self.reading(), legible(self.path):
            return last_entry(self.connection)

    def log(self, engine: str | None = None) -> list[Kept]:
        """The entries as records."""
        with self.reading(), legible(self.path):
            return fetch_log(self.connection, engine)

    def last_written(self) -> tuple[date, str] | None:
        """The day of the last entry and when it was written (UTC, ISO 8601); None without one."""
        with self.reading(), legible(self.path):
            last = "select day, at from log order by id desc limit 1"
            row = self.connection.execute(last).fetchone()
            return None if row is None else (date.fromordinal(row[0]), row[1])
