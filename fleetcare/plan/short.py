"""What the uses of an item lack: running stock, day by day.

Receipts come before the uses of their day. What cannot be there in time is late: it waits for
the first that arrives, be it on order already or ordered today.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fleetcare.fleet.names import natural
from fleetcare.plan.uses import Use


@dataclass(frozen=True, slots=True)
class Receipt:
    """Pieces of an item that are on order and come on a day."""

    item: str
    day: int
    count: int


@dataclass(frozen=True, slots=True)
class Short:
    """Pieces of one use that the shelf cannot give, and are to be ordered for its day."""

    use: Use
    count: int


@dataclass(frozen=True, slots=True)
class Wait:
    """Pieces of a use that come after its day, on `until`; `on_order` when they are ordered."""

    use: Use
    count: int
    until: int
    on_order: bool

    @property
    def days(self) -> int:
        """How many days the jobs wait."""
        return self.until - self.use.day


def in_turn(use: Use) -> tuple[object, ...]:
    """By day; of one day what leads to overheating or a seized swivel is served first."""
    return (use.day, not use.is_precursor, natural(use.engine), natural(use.item))


def short_of(
    uses: Iterable[Use], stock: int, receipts: Iterable[Receipt], there: int
) -> tuple[list[Short], list[Wait]]:
    """What the uses of one item lack, and what waits; `there` is when an order of today comes.

    A use before that day which finds the shelf empty waits: receipts up to that day serve those
    that wait first, the order of today the rest.
    """
    todo = sorted(uses, key=in_turn)
    coming = sorted(receipts, key=lambda receipt: receipt.day)
    shorts: list[Short] = []
    waits: list[Wait] = []
    waiting: list[tuple[Use, int]] = []
    last = todo[-1].day if todo else there
    for day in sorted({*(use.day for use in todo), *(one.day for one in coming), there}):
        if day > max(last, there):
            break
        arrived = sum(receipt.count for receipt in coming if receipt.day == day)
        stock, waiting = _serve(waiting, stock + arrived, day, waits)
        if day >= there:
            shorts += [Short(use, count) for use, count in waiting]
            waits += [Wait(use, count, there, on_order=False) for use, count in waiting]
            waiting = []
        for use in (use for use in todo if use.day == day):
            given = min(stock, use.count)
            stock -= given
            if given == use.count:
                continue
            lack = use.count - given
            if day >= there:
                shorts.append(Short(use, lack))
            else:
                waiting.append((use, lack))
    return shorts, waits


def _serve(
    waiting: Iterable[tuple[Use, int]], stock: int, day: int, waits: list[Wait]
) -> tuple[int, list[tuple[Use, int]]]:
    """Give what came to those that wait; what is left of both."""
    still = []
    for use, lack in waiting:
        given = min(stock, lack)
        stock -= given
        if given:
            waits.append(Wait(use, given, day, on_order=True))
        if given < lack:
            still.append((use, lack - given))
    return stock, still
