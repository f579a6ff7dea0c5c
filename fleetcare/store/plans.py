"""The plan that is kept in the fleet file, as text: the last one counts, earlier ones stay."""

from __future__ import annotations

import sqlite3


def fetch_plan(connection: sqlite3.Connection) -> tuple[int, str] | None:
    """The day the kept plan was made and its text, or None without one."""
    found: tuple[int, str] | None = connection.execute(
        "select made, text from plan order by id desc limit 1"
    ).fetchone()
    return found


def keep_plan(connection: sqlite3.Connection, made: int, text: str) -> None:
    """Keep a plan, inside a write transaction of the caller's."""
    connection.execute("insert into plan (made, text) values (?, ?)", (made, text))
