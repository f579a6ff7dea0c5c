"""Swaps that count, and those that stand on one which does not as it did when they were written."""

from __future__ import annotations

import sqlite3

from fleetcare.log.history import Exchange, History
from fleetcare.store.fetch import LAST_DAY, other_rows, withdrawn

Pair = tuple[int, int]


def fetch_swaps(connection: sqlite3.Connection) -> list[Exchange]:
    """The swaps that count, by day."""
    history = History()
    for row in other_rows(connection, LAST_DAY, withdrawn(connection)):
        if row["event"] == "swap":
            history.tell("swap", row["day"], row["id"], row)
    history.sort()
    return history.swaps


def hanging_swaps(connection: sqlite3.Connection) -> list[Pair]:
    """Pairs of entries: a swap that counts, and an earlier one that it stands on no more.

    It stands on the swaps of its component, at one of its two places, that lay before it and were
    in the file when it was written. When one of those is withdrawn since, or back, other things
    changed places than the person who wrote it saw.
    """
    swaps = connection.execute(
        "select id, day, component, engine, other from log where event = 'swap' order by id"
    ).fetchall()
    if len(swaps) < 2:
        return []
    withdrawals = connection.execute(
        "select id, withdraws from log where withdraws is not null order by id"
    ).fetchall()
    now = _dead(withdrawals, None)
    found = []
    for number, day, component, *places in swaps:
        if number in now:
            continue
        then = _dead(withdrawals, number)
        found += [
            (number, earlier)
            for earlier, before, what, *others in swaps
            if (before, earlier) < (day, number) and earlier < number and what == component
            and set(places) & set(others) and (earlier in then) != (earlier in now)
        ]  # fmt: skip
    return found


def _dead(withdrawals: list[Pair], until: int | None) -> set[int]:
    """The entries that did not count when an entry was written, or do not now."""
    dead: set[int] = set()
    for number, target in reversed(withdrawals):
        if (until is None or number < until) and number not in dead:
            dead.add(target)
    return dead
