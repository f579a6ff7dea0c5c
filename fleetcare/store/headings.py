"""What the headings of somebody's spreadsheet mean, as a person once said, by profile."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping


def fetch_headings(connection: sqlite3.Connection, profile: str) -> dict[str, str]:
    """The meanings of a profile by heading; none when there is no such profile."""
    rows = connection.execute(
        "select heading, meaning from heading where profile = ? order by heading", (profile,)
    )
    return dict(rows.fetchall())


def profiles(connection: sqlite3.Connection) -> list[str]:
    """The names of the profiles that are kept."""
    rows = connection.execute("select distinct profile from heading order by profile")
    return [name for (name,) in rows]


def keep_headings(
    connection: sqlite3.Connection, profile: str, meanings: Mapping[str, str]
) -> None:
    """Keep what headings mean, inside a write transaction of the caller's; what was said before
    of other headings stays."""
    connection.executemany(
        "insert into heading (profile, heading, meaning) values (?, ?, ?) "
        "on conflict (profile, heading) do update set meaning = excluded.meaning",
        [(profile, heading, meaning) for heading, meaning in meanings.items()],
    )
