"""What was last sent of each calendar event, as plain rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

# UID, day ordinal, title, status, SEQUENCE, when it changed (ISO 8601 with its zone).
SentRow = tuple[str, int, str, str, int, str]


def fetch_sent(connection: sqlite3.Connection) -> list[SentRow]:
    """The state of every event that was ever sent."""
    return connection.execute(
        "select uid, day, title, status, sequence, changed from sent order by uid"
    ).fetchall()


def keep_sent(connection: sqlite3.Connection, rows: Iterable[SentRow]) -> None:
    """Keep the new state of events."""
    connection.executemany(
        "insert into sent (uid, day, title, status, sequence, changed) values (?, ?, ?, ?, ?, ?) "
        "on conflict (uid) do update set day = excluded.day, title = excluded.title, "
        "status = excluded.status, sequence = excluded.sequence, changed = excluded.changed",
        rows,
    )
