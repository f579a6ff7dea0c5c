"""Reading what the log says of the shelf: deliveries and counts, without all the rest."""

from __future__ import annotations

import sqlite3
from datetime import date

from fleetcare.log.entries import Count, Delivery
from fleetcare.store.fetch import withdrawn

STATEMENT = (
    "select id, day, event, item, count, cost, by, note from log "
    "where event in ('delivery', 'count') and day <= ? order by id"
)


def fetch_shelf(connection: sqlite3.Connection, as_of: date) -> list[Delivery | Count]:
    """The deliveries and counts up to a day that were not withdrawn, as they were written."""
    dead = withdrawn(connection)
    found: list[Delivery | Count] = []
    for number, day, event, item, count, cost, by, note in connection.execute(
        STATEMENT, (as_of.toordinal(),)
    ):
        if number in dead:
            continue
        on = date.fromordinal(day)
        if event == "delivery":
            found.append(
                Delivery(
                    on=on, number=number, by=by, note=note, item=item, count=count, cost=cost
                )
            )  # fmt: skip
        else:
            found.append(Count(on=on, number=number, by=by, note=note, item=item, count=count))
    return found
