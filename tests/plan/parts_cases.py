"""Small cases of uses, a shelf and terms, for the tests of what to order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from fleetcare.plan.items import Items
from fleetcare.plan.orders import Asked, Orders, orders
from fleetcare.plan.shelf import Stock
from fleetcare.plan.short import Receipt
from fleetcare.plan.terms import Terms
from fleetcare.plan.uses import Use
from fleetcare.rules.rule import Kit, Part

OIL = "gear oil"


def use(day: int, count: int, item: str = OIL, engine: str = "", precursor: bool = False) -> Use:
    harm = "overheating" if precursor else ""
    return Use(item, day, count, engine or f"E{day}", ("job",), harm)


def items(prices: Mapping[str, int] | None = None, **kits: tuple[int, Mapping[str, int]]) -> Items:
    """Items with prices, and kits by name: the price, and what each holds."""
    held = {
        name: Kit(name, tuple(Part(item, count) for item, count in holds.items()), Fraction(price))
        for name, (price, holds) in kits.items()
    }
    given = {item: Fraction(price) for item, price in (prices or {}).items()}
    return Items({}, given, frozenset(), frozenset(), held)


def ordered(
    uses: Sequence[Use], stock: Mapping[str, int], terms: Terms, as_of: int = 0,
    receipts: Sequence[Receipt] = (), known: Items | None = None,
) -> Orders:  # fmt: skip
    stocks = {item: Stock(item, count, None, ()) for item, count in stock.items()}
    return orders(Asked(uses, stocks, receipts, terms, known or items(), as_of))
