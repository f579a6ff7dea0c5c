"""Which engines a question about some is about too: whose parts they carry, who lay on a boat."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection

from fleetcare.store.fetch import LAST_DAY, other_rows, withdrawn
from fleetcare.store.swaps import fetch_swaps

GIVEN = "select engine.name, boat.name from engine join boat on boat.id = engine.boat"


def fetch_kin(connection: sqlite3.Connection, engines: Collection[str]) -> frozenset[str]:
    """Engines with all that ever swapped with them, or with those."""
    others: dict[str, set[str]] = {}
    for swap in fetch_swaps(connection):
        others.setdefault(swap.engine, set()).add(swap.other)
        others.setdefault(swap.other, set()).add(swap.engine)
    kin, new = set(engines), set(engines)
    while new:
        new = {other for name in new for other in others.get(name, ())} - kin
        kin |= new
    return frozenset(kin)


def fetch_engines_of(connection: sqlite3.Connection, boats: Collection[str]) -> frozenset[str]:
    """The engines that boats were given, and those ever mounted on them."""
    mounted = (
        (row["engine"], row["boat"])
        for row in other_rows(connection, LAST_DAY, withdrawn(connection))
        if row["event"] == "mount"
    )
    pairs = (*connection.execute(GIVEN), *mounted)
    return frozenset(engine for engine, boat in pairs if boat in boats)
