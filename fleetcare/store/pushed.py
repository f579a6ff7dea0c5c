"""To-dos that were put on a calendar server, and the tick-offs taken from it, as plain rows."""

from __future__ import annotations

import sqlite3

# Calendar's address, UID, path of the to-do, its entity tag, the engine's first name, the task,
# clock start, last day (ordinals), title, status, SEQUENCE, LAST-MODIFIED as it was written.
PushedRow = tuple[str, str, str, str, str, str, int, int | None, str, str, int, str]


def fetch_pushed(connection: sqlite3.Connection, calendar: str) -> list[PushedRow]:
    """Every to-do that is kept on a calendar, by title."""
    return connection.execute(
        "select calendar, uid, href, etag, engine, task, clock, due, title, status, sequence, "
        "changed from pushed where calendar = ? order by title, uid",
        (calendar,),
    ).fetchall()


def keep_pushed(connection: sqlite3.Connection, row: PushedRow) -> None:
    """Keep how a to-do was last sent."""
    connection.execute(
        "insert or replace into pushed (calendar, uid, href, etag, engine, task, clock, due, "
        "title, status, sequence, changed) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        row,
    )


def forget_pushed(connection: sqlite3.Connection, calendar: str, uid: str) -> None:
    """Forget a to-do that is answered."""
    connection.execute("delete from pushed where calendar = ? and uid = ?", (calendar, uid))


def is_collected(connection: sqlite3.Connection, uid: str, completed: str) -> bool:
    """Whether that very tick-off was taken already."""
    found = connection.execute(
        "select 1 from collected where uid = ? and completed = ?", (uid, completed)
    ).fetchone()
    return found is not None


def keep_collected(
    connection: sqlite3.Connection, uid: str, completed: str, entry: int | None
) -> None:
    """Keep that a tick-off was taken, and the entry it became (None when it was logged before)."""
    connection.execute(
        "insert or ignore into collected (uid, completed, entry) values (?, ?, ?)",
        (uid, completed, entry),
    )
