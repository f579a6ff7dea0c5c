"""Settling events against what was last sent, and remembering it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from fleetcare.show.events import Event, Sent, settled
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.sent import SentRow, fetch_sent, keep_sent


def settle(
    file: FleetFile, events: Sequence[Event], as_of: date, now: datetime
) -> tuple[Event, ...]:
    """The events as they are to be sent now; the fleet file remembers them."""
    with file.writing() as connection:
        before = {row[0]: _sent(row) for row in fetch_sent(connection)}
        events, after = settled(events, before, as_of, now)
        keep_sent(
            connection, [_row(item) for uid, item in after.items() if before.get(uid) != item]
        )
    return tuple(events)


def _sent(row: SentRow) -> Sent:
    return Sent(
        row[0], date.fromordinal(row[1]), row[2], row[3], row[4], datetime.fromisoformat(row[5])
    )


def _row(item: Sent) -> SentRow:
    return (
        item.uid, item.on.toordinal(), item.title, item.status, item.sequence,
        item.changed.isoformat(),
    )  # fmt: skip
