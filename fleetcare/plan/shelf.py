"""The shelf out of the log: deliveries add, counts set, jobs and their access use up.

Within a day deliveries come first, then jobs; a count says what lies there at the close of its
day. An item is known from its first delivery or count on: what was used before came from
elsewhere. A shelf below nothing shows that something was not logged, and is not hidden.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Count, Delivery
from fleetcare.log.history import History
from fleetcare.plan.items import Items
from fleetcare.plan.uses import SetOf, items_of_visit

DELIVERED, USED, COUNTED = "delivered", "used", "counted"
_ORDER = (DELIVERED, USED, COUNTED)


@dataclass(frozen=True, slots=True)
class Move:
    """One change of the shelf: by how many pieces, and how many lay there after it.

    A count's change is what it found beyond what the log had said. `number` is the entry's, 0 for
    what jobs used; `kit` names the kit that brought a delivery.
    """

    day: int
    what: str
    change: int
    after: int
    number: int = 0
    engine: str = ""
    jobs: tuple[str, ...] = ()
    kit: str = ""


@dataclass(frozen=True, slots=True)
class Stock:
    """One item of the shelf: what lies there by the log, and how it came to that."""

    item: str
    on_hand: int
    counted_on: int | None
    moves: tuple[Move, ...]

    @property
    def is_short(self) -> bool:
        """Whether the log says less than nothing: it wants counting."""
        return self.on_hand < 0

    def used(self, first: int, last: int) -> int:
        """Pieces that jobs used on the days from first to last."""
        return sum(
            -move.change for move in self.moves if move.what == USED and first <= move.day <= last
        )


@dataclass(frozen=True, slots=True)
class _Event:
    day: int
    what: str
    count: int
    number: int = 0
    engine: str = ""
    jobs: tuple[str, ...] = ()
    kit: str = ""


def shelf(
    fleet: Fleet, history: History, entries: Iterable[Delivery | Count], set_of: SetOf,
    items: Items, as_of: int,
) -> dict[str, Stock]:  # fmt: skip
    """The shelf as of a day, by item; items never delivered nor counted are not in it."""
    by_item: dict[str, list[_Event]] = {}
    for item, event in _arrivals(entries, items, as_of):
        by_item.setdefault(item, []).append(event)
    for item, event in _used(fleet, history, set_of, items, as_of):
        if item in by_item:
            by_item[item].append(event)
    return {item: _stock(item, events) for item, events in sorted(by_item.items())}


def _arrivals(
    entries: Iterable[Delivery | Count], items: Items, as_of: int
) -> Iterator[tuple[str, _Event]]:
    """Deliveries and counts; a kit that is delivered is what it holds."""
    for entry in entries:
        day, name = entry.on.toordinal(), items.name(entry.item)
        if day > as_of:
            continue
        kit = items.kits.get(name)
        if isinstance(entry, Count):
            yield name, _Event(day, COUNTED, entry.count, entry.number)
        elif kit is None:
            yield name, _Event(day, DELIVERED, entry.count, entry.number)
        else:
            for part in kit.holds:
                count = entry.count * part.count
                yield items.name(part.item), _Event(day, DELIVERED, count, entry.number, kit=name)


def _used(
    fleet: Fleet, history: History, set_of: SetOf, items: Items, as_of: int
) -> Iterator[tuple[str, _Event]]:
    """What jobs used since their engine was known, visit by visit."""
    for engine in fleet.engines:
        log = history.engines.get(engine)
        if log is None:
            continue
        since, ruleset = fleet.engines[engine].since.toordinal(), set_of(engine)
        visits: dict[int, list[str]] = {}
        for task, marks in sorted(log.jobs.items()):
            for mark in marks:
                if since <= mark.day <= as_of and task in ruleset.rules:
                    visits.setdefault(mark.day, []).append(task)
        for day, tasks in visits.items():
            for item, (count, jobs) in items_of_visit(ruleset, tasks).items():
                yield items.name(item), _Event(day, USED, count, engine=engine, jobs=jobs)


def _stock(item: str, events: list[_Event]) -> Stock:
    lying, counted_on, moves = 0, None, []
    known = False
    for event in sorted(events, key=_place):
        known = known or event.what != USED
        if not known:
            continue
        change = event.count - lying if event.what == COUNTED else event.count
        change = -event.count if event.what == USED else change
        lying += change
        if event.what == COUNTED:
            counted_on = event.day
        moves.append(
            Move(
                event.day, event.what, change, lying, event.number, event.engine, event.jobs,
                event.kit,
            )
        )  # fmt: skip
    return Stock(item, lying, counted_on, tuple(moves))


def _place(event: _Event) -> tuple[int, int, int, str]:
    return (event.day, _ORDER.index(event.what), event.number, event.engine)


def on_hand(stocks: Mapping[str, Stock], item: str) -> int:
    """Pieces that can be counted on: none where the log knows of none, or says less than none."""
    stock = stocks.get(item)
    return 0 if stock is None else max(0, stock.on_hand)
