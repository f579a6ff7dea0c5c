"""The readings most worth taking: those that could change what the list says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from fleetcare.due.records import OVERDUE, Due
from fleetcare.fleet.names import natural

PRECURSOR_WEIGHT = 3  # how much more a job counts that leads to overheating or a seized swivel


class WorthReading(NamedTuple):
    """An engine whose reading could change the list, and the jobs that could be used up by now.

    `known_through` is the day (ordinal) up to which its hours are known, `likely_hours` what it
    likely ran since (hundredths), `most_hours` what it ran at most with nine chances in ten,
    `worth` the sum of the jobs' chances, precursors counted more.
    """

    engine: str
    boat: str | None
    known_through: int
    likely_hours: int
    most_hours: int
    tasks: tuple[str, ...]
    worth: float


def readings_worth_taking(rows: Sequence[Due]) -> list[WorthReading]:
    """In order of what they could change: by the chance that jobs are used up unseen."""
    by_engine: dict[str, list[Due]] = {}
    for row in rows:
        if row.chance_used and row.status != OVERDUE:
            by_engine.setdefault(row.engine, []).append(row)
    found = [_worth(mine) for mine in by_engine.values()]
    return sorted(found, key=lambda item: (-item.worth, natural(item.engine)))


def _worth(rows: list[Due]) -> WorthReading:
    rows = sorted(rows, key=lambda row: (-_weight(row), row.task))
    first = rows[0]
    return WorthReading(
        first.engine, first.boat, first.known_through or 0,
        max(row.likely_since_read for row in rows), max(row.most_since_read for row in rows),
        tuple(row.task for row in rows),
        round(sum(_weight(row) for row in rows), 6),
    )  # fmt: skip


def _weight(row: Due) -> float:
    leads = row.rule.is_precursor
    return row.chance_used * (PRECURSOR_WEIGHT if leads else 1)
