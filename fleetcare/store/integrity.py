"""Is the file whole, and its log plausible: what `check` looks at in the database."""

from __future__ import annotations

import sqlite3

from fleetcare.errors import Fault


def file_faults(connection: sqlite3.Connection) -> list[Fault]:
    """What SQLite and our own rules find wrong in the file itself."""
    found = [
        Fault("file", str(row[0]))
        for row in connection.execute("pragma integrity_check").fetchall()
        if row[0] != "ok"
    ]
    found += [
        Fault("file", f"row {row[1]} of {row[0]} points at nothing in {row[2]}")
        for row in connection.execute("pragma foreign_key_check").fetchall()
    ]
    gaps = connection.execute("select count(*), coalesce(max(id), 0) from log").fetchone()
    if gaps[0] != gaps[1]:
        found.append(Fault("log", f"has {gaps[0]} entries numbered up to {gaps[1]}: some are gone"))
    later = connection.execute(
        "select id, withdraws from log where withdraws is not null and withdraws >= id"
    ).fetchall()
    found += [Fault("log", f"entry {row[0]} withdraws {row[1]}, which came later") for row in later]
    return found
