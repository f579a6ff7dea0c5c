"""What was last sent of each calendar event and of each feed, as plain rows."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable

Connection = sqlite3.Connection  # as the rooms above name it
# UID, day ordinal, title, status, SEQUENCE, when it changed (ISO 8601 with its zone), its lines
# that move by themselves, what they rested on.
SentRow = tuple[str, int, str, str, int, str, str, str]
# Audience, note, digest of the UIDs it holds, UID of the event that warns, warning, when changed.
FeedRow = tuple[str, str, str, str, str, str]


def fetch_sent(connection: sqlite3.Connection) -> list[SentRow]:
    """The state of every event that was ever sent."""
    return connection.execute(
        "select uid, day, title, status, sequence, changed, moving, basis from sent order by uid"
    ).fetchall()


def keep_sent(connection: sqlite3.Connection, rows: Iterable[SentRow]) -> None:
    """Keep the new state of events."""
    connection.executemany(
        "insert into sent (uid, day, title, status, sequence, changed, moving, basis) "
        "values (?, ?, ?, ?, ?, ?, ?, ?) "
        "on conflict (uid) do update set day = excluded.day, title = excluded.title, "
        "status = excluded.status, sequence = excluded.sequence, changed = excluded.changed, "
        "moving = excluded.moving, basis = excluded.basis",
        rows,
    )


def fetch_sent_feeds(connection: sqlite3.Connection) -> list[FeedRow]:
    """What was last sent of each feed as a whole."""
    return connection.execute(
        "select audience, note, holds, first, warning, changed from sent_feed order by audience"
    ).fetchall()


def keep_sent_feeds(connection: sqlite3.Connection, rows: Iterable[FeedRow]) -> None:
    """Keep the new state of feeds."""
    connection.executemany(
        "insert into sent_feed (audience, note, holds, first, warning, changed) "
        "values (?, ?, ?, ?, ?, ?) "
        "on conflict (audience) do update set note = excluded.note, holds = excluded.holds, "
        "first = excluded.first, warning = excluded.warning, changed = excluded.changed",
        rows,
    )
