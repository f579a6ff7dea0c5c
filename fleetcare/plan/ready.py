"""What to have ready: items that may be called for, where the chance times the wait is worth it.

An item that is called for and not there costs its boat's days until it comes, or the boat's coming
in again, and the opening once more; one that is there and not called for costs its price. The
number to have is the newsvendor's, over the time that an order of today and of the next look
would take. That a piece left over is money lost is the careful reading for the purse.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fleetcare.fleet.names import natural
from fleetcare.plan.called import Called
from fleetcare.plan.demand import (
    critical_ratio,
    enough,
    in_lots,
    poisson,
    reorder,
    together,
)
from fleetcare.plan.items import Items
from fleetcare.plan.shelf import Stock, on_hand
from fleetcare.plan.short import Receipt
from fleetcare.plan.terms import Terms
from fleetcare.plan.uses import Use

REVIEW = 7  # days until the list is looked at again: our design choice
DEAR = 50.0  # what an item without any price is taken to cost where no other has one: our judgement


@dataclass(frozen=True, slots=True)
class Rates:
    """A workshop hour and a boat's day lost; what an order costs beside its goods."""

    hour: float
    boat_day: float
    order_cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Ready:
    """One item that may be called for.

    `have` is how many to have beyond what is surely used, to be fetched when `reorder` or fewer are
    left, one less where an order costs nothing beside its goods; `spare` lies there beyond it,
    `buy` is what to fetch now. `chance` is that any is called for,
    `worth` the price up to which one is worth having; `price` is `guessed` where none is known.
    `called` are what would call for it, the likeliest first; `learned` the share of the chance
    that findings or the log stand behind.
    """

    item: str
    have: int
    reorder: int
    spare: int
    buy: int
    chance: float
    worth: float
    price: float
    guessed: bool
    called: tuple[Called, ...]
    learned: float


@dataclass(frozen=True, slots=True)
class Asked:
    """What it is worked out from, beside what may be called for."""

    uses: Sequence[Use]
    stocks: Mapping[str, Stock]
    receipts: Sequence[Receipt]
    terms: Terms
    items: Items
    rates: Rates
    as_of: int


def looked_at_until(terms: Terms, as_of: int) -> int:
    """The last day whose looks can matter to any item: until an order of the next look comes."""
    return max(terms.there_by(item, as_of) for item in ("", *terms.leads)) + REVIEW


def ready(called: Iterable[Called], asked: Asked) -> list[Ready]:
    """Every item that may be called for, the likeliest first; `have` is 0 where it is no gain."""
    by_item: dict[str, list[tuple[Called, int]]] = {}
    for one in called:
        for item, count in one.items:
            by_item.setdefault(asked.items.name(item), []).append((one, count))
    found = []
    for item, wanting in by_item.items():
        until = asked.terms.there_by(item, asked.as_of) + REVIEW
        within = [(one, count) for one, count in wanting if one.day <= until]
        if within:
            found.append(_ready(item, within, until, asked))
    return sorted(found, key=lambda one: (not one.have, -one.chance, natural(one.item)))


def _ready(item: str, wanting: list[tuple[Called, int]], until: int, asked: Asked) -> Ready:
    days = until - asked.as_of
    weights = [one.chance + one.a_day * days for one, _ in wanting]
    total = sum(weights)
    loss = sum(
        weight * _loss(one, item, asked)
        for weight, (one, _) in zip(weights, wanting, strict=True)
    ) / total  # fmt: skip
    chances = chances_of(wanting, days)
    price, guessed = price_of(item, asked.items)
    have = again = 0
    if loss > price:
        have = enough(chances, critical_ratio(price, loss - price))
        again = max(0, have - 1)
        if have and asked.rates.order_cost:
            low, have, _ = reorder(chances, price, loss - price, asked.rates.order_cost)
            again = max(0, low)
    spare = _spare(item, until, asked)
    order = sorted(range(len(wanting)), key=lambda at: -weights[at])
    learned = sum(weight for weight, (one, _) in zip(weights, wanting, strict=True) if one.learned)
    return Ready(
        item, have, again, spare, have - spare if have and spare <= again else 0, 1.0 - chances[0],
        (1.0 - chances[0]) * loss, price, guessed, tuple(wanting[at][0] for at in order),
        learned / total,
    )  # fmt: skip


def _loss(one: Called, item: str, asked: Asked) -> float:
    """What it costs to be without: days of the boat, and the opening once more."""
    rates = asked.rates
    wait = asked.terms.there_by(item, asked.as_of) - asked.as_of
    return (wait if one.stops else 1) * rates.boat_day + one.minutes * rates.hour / 60


def chances_of(wanting: Iterable[tuple[Called, int]], days: int) -> list[float]:
    """The chances of each number of pieces being called for within so many days.

    What one look may find excludes the rest of it; looks, and what happens, are apart.
    """
    looks: dict[tuple[str, int, str], dict[int, float]] = {}
    means: dict[int, float] = {}
    for one, count in wanting:
        if one.engine:
            found = looks.setdefault((one.engine, one.day, one.part), {})
            found[count] = found.get(count, 0.0) + one.chance
        else:
            means[count] = means.get(count, 0.0) + one.a_day * days
    chances = [1.0]
    for _, found in sorted(looks.items()):
        each = [0.0] * (max(found) + 1)
        for count, chance in found.items():
            each[count] = chance
        each[0] = 1.0 - sum(found.values())
        chances = together(chances, each)
    for count, mean in sorted(means.items()):
        chances = together(chances, in_lots(poisson(mean), count))
    return chances


def price_of(item: str, items: Items) -> tuple[float, bool]:
    """What a piece costs, and whether that is a guess: the dearest price known of any."""
    if item in items.prices:
        return float(items.prices[item]), False
    return float(max(items.prices.values(), default=0)) or DEAR, True


def _spare(item: str, until: int, asked: Asked) -> int:
    """Pieces that will lie there by then beyond what is surely used."""
    used = sum(use.count for use in asked.uses if use.item == item and use.day <= until)
    coming = sum(one.count for one in asked.receipts if one.item == item and one.day <= until)
    return max(0, on_hand(asked.stocks, item) + coming - used)
