"""Checksums of what people wrote, so that a figure changed by a failing disk does not go unseen.

SQLite's own check compares indexes with their tables and cannot know a note, a water or the first
figure of an engine. So each write leaves beside the settings how far the log goes, the checksum
(CRC-32) of its rows in order, and that of settings, boats, engines, subscribers and the plan. The
log is only added to: its checksum goes on from where it was, and old rows are not read for it.
"""

from __future__ import annotations

import re
import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

SEAL = "seal"  # the row's name among the settings
# What is small and stays; of plans only the last one counts.
_ROWS = (
    "setting order by name", "boat order by id", "engine order by id", "subscriber order by id",
    "heading order by profile, heading", "plan order by id desc limit 1",
)  # fmt: skip
_FORM = re.compile(r"(\d+) ([0-9a-f]{8}) ([0-9a-f]{8})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Seal:
    """The last entry that is sealed, the log's checksum up to it, and that of the fleet."""

    last: int
    log: int
    fleet: int

    def __str__(self) -> str:
        return f"{self.last} {self.log:08x} {self.fleet:08x}"


def read_seal(connection: sqlite3.Connection) -> Seal | str | None:
    """The seal; its text when it makes no sense; None in a file that has none yet."""
    row = connection.execute("select value from setting where name = ?", (SEAL,)).fetchone()
    if row is None:
        return None
    match = _FORM.fullmatch(row[0])
    return Seal(int(match[1]), int(match[2], 16), int(match[3], 16)) if match else str(row[0])


def log_mark(
    connection: sqlite3.Connection, after: int = 0, mark: int = 0, last: int | None = None
) -> tuple[int, int]:
    """The last entry's number, and the checksum of the log going on from that of an entry."""
    end = "" if last is None else f" and id <= {last:d}"
    rows = connection.execute(f"select * from log where id > ?{end} order by id", (after,))  # noqa: S608 - a number
    for row in rows:
        mark = zlib.crc32(ascii(row).encode(), mark)
        after = row[0]
    return after, mark


def fleet_mark(connection: sqlite3.Connection) -> int:
    """The checksum of settings, boats, engines, subscribers, headings and the kept plan."""
    mark = 0
    for text in _ROWS:
        rows = connection.execute(f"select * from {text}").fetchall()  # noqa: S608 - its own
        told = [row for row in rows if row[0] != SEAL]
        mark = zlib.crc32(ascii(told).encode(), mark)
    return mark


@contextmanager
def sealing(connection: sqlite3.Connection) -> Iterator[None]:
    """Seal what is written inside; what was not as sealed before stays unlike its seal."""
    before = fleet_mark(connection)
    yield
    old = read_seal(connection)
    if isinstance(old, str):
        return
    last, log = log_mark(connection) if old is None else log_mark(connection, old.last, old.log)
    after = fleet_mark(connection)
    new = Seal(last, log, after if old is None or before == old.fleet else old.fleet)
    if new != old:
        connection.execute(
            "insert into setting (name, value) values (?, ?) "
            "on conflict (name) do update set value = excluded.value",
            (SEAL, str(new)),
        )
