"""What the forecast learned of each engine, kept so that a list need not learn it again.

A kept fit counts as long as nothing was written about its engine since, and no later day of its
log lies behind the day asked for. The table can be emptied at any time.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from datetime import date

from fleetcare.usage.outlooks import KeptFit

KEPT = (
    "select engine.id, engine.name, fit.entry, fit.day, fit.ground, fit.learned, fit.outlook "
    "from fit join engine on engine.id = fit.engine"
)
# Whom the entries after a number concern; a withdrawal concerns whom the withdrawn one did.
WRITTEN_SINCE = (
    "select log.id, coalesce(log.engine, old.engine), coalesce(log.other, old.other) from log "
    "left join log as old on old.id = log.withdraws where log.id > ?"
)


def last_entry(connection: sqlite3.Connection) -> int:
    """The number of the last entry, 0 in an empty log."""
    number: int = connection.execute("select coalesce(max(id), 0) from log").fetchone()[0]
    return number


def fetch_fits(connection: sqlite3.Connection, as_of: date) -> dict[str, KeptFit]:
    """The fits that still count, by the engine's name."""
    rows = connection.execute(KEPT).fetchall()
    if not rows:
        return {}
    written: dict[int, int] = {}
    for number, *engines in connection.execute(WRITTEN_SINCE, (min(row[2] for row in rows),)):
        for engine in engines:
            if engine is not None:
                written[engine] = max(number, written.get(engine, 0))
    last = as_of.toordinal()
    return {
        name: KeptFit(day, ground, learned, outlook)
        for key, name, entry, day, ground, learned, outlook in rows
        if day <= last and written.get(key, 0) <= entry
    }


def keep_fits(
    connection: sqlite3.Connection,
    made: Mapping[str, KeptFit],
    kept: Mapping[str, KeptFit],
    entry: int,
    as_of: date,
) -> None:
    """Keep fits made from the log as it stood at an entry; `kept` ones stood there as well.

    Fits of a day in the past, with entries after it, are not kept: they know less than the log.
    """
    later = connection.execute("select 1 from log where day > ? limit 1", (as_of.toordinal(),))
    if later.fetchone():
        return
    ids = dict(connection.execute("select name, id from engine").fetchall())
    connection.executemany(
        "insert into fit (engine, entry, day, ground, learned, outlook) values (?, ?, ?, ?, ?, ?) "
        "on conflict (engine) do update set entry = excluded.entry, day = excluded.day, "
        "ground = excluded.ground, learned = excluded.learned, outlook = excluded.outlook "
        "where excluded.entry >= fit.entry",
        [
            (ids[name], entry, fit.day, fit.ground, fit.learned, fit.outlook)
            for name, fit in sorted(made.items())
            if name in ids
        ],
    )
    connection.executemany(
        "update fit set entry = ? where engine = ? and entry < ?",
        [(entry, ids[name], entry) for name in sorted(kept) if name in ids and name not in made],
    )
