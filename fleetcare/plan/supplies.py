"""Parts that are not there on every day: what is on the shelf, and what arrives when.

An item that nobody counts is taken to be at hand. Of one that is counted, what the shelf lacks
can be ordered on the day of planning and is there after the lead time, as much as is wanted. What
is said to arrive arrives on its day; without a count, as much as is wanted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleetcare.fleet.names import natural
from fleetcare.plan.problem import Supply


@dataclass(frozen=True, slots=True)
class Arrival:
    """Parts on order: on which day (an ordinal) how many come, None for all that are wanted."""

    item: str
    on: int
    count: int | None = None


def supplies_of(
    shelf: Mapping[str, int],
    arrivals: Sequence[Arrival],
    wanted: Mapping[str, int],
    first: int,
    days: int,
    lead: int,
) -> tuple[Supply, ...]:
    """By each day from 0 how many of an item will have come; only of items that are counted.

    `shelf` is what is there of items that are counted, `wanted` how many all jobs together use up.
    """
    found = []
    for item in sorted({*shelf, *(arrival.item for arrival in arrivals)}, key=natural):
        if wanted.get(item):
            mine = [arrival for arrival in arrivals if arrival.item == item]
            found.append(
                _supply(item, max(0, shelf.get(item, 0)), mine, wanted[item], first, days, lead)
            )
    return tuple(found)


def _supply(
    item: str, there: int, arrivals: Iterable[Arrival], wanted: int, first: int, days: int,
    lead: int,
) -> Supply:  # fmt: skip
    come = [0] * days
    enough = [lead]
    for arrival in arrivals:
        day = max(0, arrival.on - first)
        if arrival.count is None:
            enough.append(day)
        elif day < days:
            come[day] += arrival.count
    # whoever names a day knows the supplier: ordering anew helps no earlier than the last of them
    enough[0] = max(lead, *(max(0, arrival.on - first) for arrival in arrivals), 0)
    from_day = min(enough)
    by_day = []
    for day in range(days):
        there += come[day]
        by_day.append(there + wanted if day >= from_day else there)
    return Supply(item, tuple(by_day))
