"""What the forecast learned of each engine, kept so that a list need not learn it again.

A kept fit counts as long as nothing was written about its engine since, and no later day of its
log lies behind the day asked for. The table can be emptied at any time. Each row carries its
checksum before what was learned, so that one that a failing disk changed is learned anew.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Collection, Mapping
from datetime import date

from fleetcare.store.telling import is_no_text
from fleetcare.usage.outlooks import KeptFit

_MARK = 8  # letters of a checksum
KEPT = (
    "select engine.id, engine.name, fit.entry, fit.day, fit.ground, fit.learned, fit.outlook "
    "from fit join engine on engine.id = fit.engine"
)
SOME = " where engine.name in (select value from json_each(?))"
# Whom the entries after a number concern; a withdrawal concerns whom the withdrawn one did.
WRITTEN_SINCE = (
    "select log.id, coalesce(log.engine, old.engine), coalesce(log.other, old.other) from log "
    "left join log as old on old.id = log.withdraws where log.id > ?"
)


def last_entry(connection: sqlite3.Connection) -> int:
    """The number of the last entry, 0 in an empty log."""
    number: int = connection.execute("select coalesce(max(id), 0) from log").fetchone()[0]
    return number


def fetch_fits(
    connection: sqlite3.Connection, as_of: date, engines: Collection[str] | None = None
) -> dict[str, KeptFit]:
    """The fits that still count, by the engine's name; of all engines or some."""
    statement, values = KEPT, list[str]()
    if engines is not None:
        statement, values = KEPT + SOME, [json.dumps(sorted(engines))]
    try:
        rows = connection.execute(statement, values).fetchall()
    except sqlite3.OperationalError as error:
        if not is_no_text(error):
            raise
        rows = []
    if not rows:
        return {}
    written: dict[int, int] = {}
    for number, *touched in connection.execute(WRITTEN_SINCE, (min(row[2] for row in rows),)):
        for engine in touched:
            if engine is not None:
                written[engine] = max(number, written.get(engine, 0))
    last = as_of.toordinal()
    found = {}
    for key, name, entry, day, ground, learned, outlook in rows:
        fit = KeptFit(day, ground, learned[_MARK:], outlook)
        if day <= last and written.get(key, 0) <= entry and learned == _marked(key, entry, fit):
            found[name] = fit
    return found


def _marked(engine: int, entry: int, fit: KeptFit) -> str:
    """What was learned, behind the checksum of the whole row."""
    mark = zlib.crc32(f"{engine} {entry} {fit.day} {fit.ground} {fit.learned}".encode())
    return f"{zlib.crc32(fit.outlook, mark):0{_MARK}x}{fit.learned}"


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
            (ids[name], entry, fit.day, fit.ground, _marked(ids[name], entry, fit), fit.outlook)
            for name, fit in sorted(made.items())
            if name in ids
        ],
    )
    connection.executemany(
        "update fit set entry = ?, learned = ? where engine = ? and entry < ?",
        [
            (entry, _marked(ids[name], entry, kept[name]), ids[name], entry)
            for name in sorted(kept)
            if name in ids and name not in made
        ],
    )
