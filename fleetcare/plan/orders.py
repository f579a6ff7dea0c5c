"""What to order, how many, by when; kits where they are cheaper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.fleet.names import natural
from fleetcare.plan.items import Items
from fleetcare.plan.kits import Bought, kits_to_buy
from fleetcare.plan.shelf import Stock, on_hand
from fleetcare.plan.short import Receipt, Short, Wait, in_turn, short_of
from fleetcare.plan.terms import Terms, week_of
from fleetcare.plan.uses import Use


@dataclass(frozen=True, slots=True)
class Line:
    """One item, or kit, of one order.

    `order_by` is the order's day, the earliest its lines have; `last_day` the line's own, and
    before today when it is late. `wanted` is the first day a piece is wanted, `shorts` the uses it
    serves (of a kit: those it was bought for), `price` of one piece, None where none is known.
    `spare` are the pieces that a kit brings beyond those: by item.
    """

    item: str
    count: int
    order_by: int
    last_day: int
    wanted: int
    shorts: tuple[Short, ...]
    price: Fraction | None
    is_kit: bool = False
    spare: tuple[tuple[str, int], ...] = ()

    @property
    def cost(self) -> Fraction | None:
        """What the line costs, None where no price is known."""
        return None if self.price is None else self.price * self.count


@dataclass(frozen=True, slots=True)
class Orders:
    """The lines by the day to order, what waits all the same, and what kits save in money."""

    lines: tuple[Line, ...]
    waits: tuple[Wait, ...]
    saved: Fraction = Fraction(0)

    @property
    def cost(self) -> Fraction:
        """What the lines cost whose price is known."""
        return sum((line.cost for line in self.lines if line.cost is not None), Fraction(0))

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The items without a price."""
        return tuple(dict.fromkeys(line.item for line in self.lines if line.price is None))


@dataclass(frozen=True, slots=True)
class Asked:
    """What orders are made from: uses to come, the shelf, what is on order, lead times, today.

    What is to be ordered within `weeks` weeks, this one the first, is one order.
    """

    uses: Sequence[Use]
    stocks: Mapping[str, Stock]
    receipts: Sequence[Receipt]
    terms: Terms
    items: Items
    as_of: int
    weeks: int = 1


def orders(asked: Asked) -> Orders:
    """What to order: one line an item and order, kits where they are cheaper."""
    shorts, waits = _all_short(asked)
    kits = kits_to_buy(shorts, asked.items, asked.terms, asked.as_of)
    lines = _merged(kits.bought, kits.left, asked)
    return Orders(
        tuple(sorted(lines, key=_by_day)),
        tuple(sorted(waits, key=_worst_first)), kits.saved,
    )  # fmt: skip


def _by_day(line: Line) -> tuple[object, ...]:
    """By order; in an order first what is for jobs that keep off overheating or a seized swivel."""
    urgent = any(short.use.is_precursor for short in line.shorts)
    return (line.order_by, not urgent, natural(line.item))


def _worst_first(wait: Wait) -> tuple[object, ...]:
    use = wait.use
    return (not use.is_precursor, -wait.days, use.day, natural(use.engine), natural(use.item))


def _all_short(asked: Asked) -> tuple[list[Short], list[Wait]]:
    by_item: dict[str, list[Use]] = {}
    for use in asked.uses:
        by_item.setdefault(use.item, []).append(use)
    shorts: list[Short] = []
    waits: list[Wait] = []
    for item, uses in sorted(by_item.items()):
        receipts = [receipt for receipt in asked.receipts if receipt.item == item]
        there = asked.terms.there_by(item, asked.as_of)
        found, waiting = short_of(uses, on_hand(asked.stocks, item), receipts, there)
        shorts += found
        waits += waiting
    return sorted(shorts, key=lambda short: in_turn(short.use)), waits


def _merged(
    bought: Sequence[Bought], left: Sequence[Short], asked: Asked
) -> list[Line]:  # fmt: skip
    """Lines by item and order; the order of a week has the earliest day of its lines.

    What is late is ordered with this week's.
    """

    def turn(last_day: int) -> int:
        return max(0, week_of(last_day) - week_of(asked.as_of)) // asked.weeks

    groups: dict[tuple[int, str], _Group] = {}
    for kit in bought:
        last_day = min(asked.terms.order_by(kit.name, short.use.day) for short in kit.serves)
        key = (turn(last_day), kit.name)
        group = groups.setdefault(key, _Group(kit.name, is_kit=True))
        group.add(last_day, kit.serves, 1, kit.left)
    for short in left:
        item = short.use.item
        last_day = asked.terms.order_by(item, short.use.day)
        key = (turn(last_day), item)
        groups.setdefault(key, _Group(item)).add(last_day, [short], short.count)
    earliest: dict[int, int] = {}
    for (at, _), group in groups.items():
        earliest[at] = min(earliest.get(at, group.last_day), group.last_day)
    return [group.line(earliest[at], asked.items) for (at, _), group in groups.items()]


class _Group:
    """A line being gathered."""

    __slots__ = ("count", "is_kit", "item", "last_day", "shorts", "spare")

    def __init__(self, item: str, is_kit: bool = False) -> None:
        self.item, self.is_kit = item, is_kit
        self.count, self.last_day = 0, 0
        self.shorts: list[Short] = []
        self.spare: dict[str, int] = {}

    def add(
        self, last_day: int, shorts: Sequence[Short], count: int,
        spare: Mapping[str, int] | None = None,
    ) -> None:  # fmt: skip
        self.last_day = min(self.last_day, last_day) if self.count else last_day
        self.count += count
        self.shorts += shorts
        for item, more in (spare or {}).items():
            self.spare[item] = self.spare.get(item, 0) + more

    def line(self, order_by: int, items: Items) -> Line:
        price = items.kits[self.item].price if self.is_kit else items.prices.get(self.item)
        return Line(
            self.item, self.count, order_by, self.last_day,
            min(short.use.day for short in self.shorts),
            tuple(sorted(self.shorts, key=lambda short: in_turn(short.use))),
            price, self.is_kit,
            tuple((item, more) for item, more in sorted(self.spare.items()) if more),
        )  # fmt: skip
