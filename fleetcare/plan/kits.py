"""Kits in place of single items, where the whole is cheaper than what of it is wanted.

The counts of kits are those that save most over all that is to be ordered: what an item costs
singly, for each piece that a kit spares buying. An item without a price spares nothing. A kit is
bought for the first use that lacks one of its items, and the others it holds serve later ones.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from math import prod

from fleetcare.plan.items import Items
from fleetcare.plan.short import Short
from fleetcare.plan.terms import Terms
from fleetcare.rules.rule import Kit

MOST_TRIED = 4000  # counts of kits that share items tried one by one; above it, step by step


@dataclass(slots=True)
class Bought:
    """One kit that is bought: the uses its items serve, and what of it is left."""

    name: str
    serves: list[Short] = field(default_factory=list)
    left: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Choice:
    """The kits to buy, what is still to be bought singly, and the money this saves."""

    bought: tuple[Bought, ...] = ()
    left: tuple[Short, ...] = ()
    saved: Fraction = Fraction(0)


def kits_to_buy(shorts: Sequence[Short], items: Items, terms: Terms, as_of: int) -> Choice:
    """The kits that save money on what is short, in the order of the uses."""
    if not items.kits or not shorts:
        return Choice(left=tuple(shorts))
    kits = [kit for _, kit in sorted(items.kits.items())]
    fitting = [short for short in shorts if _comes_in_time(short, kits, items, terms, as_of)]
    needs: dict[str, int] = {}
    for short in fitting:
        needs[short.use.item] = needs.get(short.use.item, 0) + short.count
    counts: dict[str, int] = {}
    for group in _sharing(kits, items):
        chosen = best_counts([holds_of(kit, items) for kit in group],
                             [kit.price for kit in group], needs, items.prices)  # fmt: skip
        counts.update(zip((kit.name for kit in group), chosen, strict=True))
    return _buy(shorts, set(map(id, fitting)), kits, counts, items)


def holds_of(kit: Kit, items: Items) -> dict[str, int]:
    """The pieces a kit holds, by the one name of each item."""
    held: dict[str, int] = {}
    for part in kit.holds:
        name = items.name(part.item)
        held[name] = held.get(name, 0) + part.count
    return held


def _comes_in_time(
    short: Short, kits: Sequence[Kit], items: Items, terms: Terms, as_of: int
) -> bool:
    """Whether every kit that holds the item would come in time, or no later than the item."""
    item = short.use.item
    latest = max(short.use.day, terms.there_by(item, as_of))
    return all(
        terms.there_by(kit.name, as_of) <= latest for kit in kits if item in holds_of(kit, items)
    )


def _sharing(kits: Sequence[Kit], items: Items) -> list[list[Kit]]:
    """The kits in groups that have no item in common."""
    groups: list[tuple[set[str], list[Kit]]] = []
    for kit in kits:
        held, together = set(holds_of(kit, items)), [kit]
        apart = []
        for names, group in groups:
            if names.isdisjoint(held):
                apart.append((names, group))
            else:
                held |= names
                together = [*group, *together]
        groups = [*apart, (held, together)]
    return [group for _, group in groups]


def best_counts(
    holds: Sequence[Mapping[str, int]], prices: Sequence[Fraction], needs: Mapping[str, int],
    singly: Mapping[str, Fraction],
) -> tuple[int, ...]:  # fmt: skip
    """How many of each kit save most; the fewest, where several do."""
    most = [
        max((-(-needs.get(item, 0) // count) for item, count in held.items()), default=0)
        for held in holds
    ]

    def saved(counts: Sequence[int]) -> Fraction:
        total = Fraction(0)
        for item, need in needs.items():
            brought = sum(
                count * held.get(item, 0) for count, held in zip(counts, holds, strict=True)
            )
            total += singly.get(item, Fraction(0)) * min(need, brought)
        return total - sum(
            (count * price for count, price in zip(counts, prices, strict=True)), Fraction(0)
        )

    if prod(top + 1 for top in most) > MOST_TRIED:
        return _step_by_step(most, saved)
    best, most_saved = (0,) * len(holds), Fraction(0)
    for counts in sorted(product(*(range(top + 1) for top in most)), key=sum):
        here = saved(counts)
        if here > most_saved:
            best, most_saved = counts, here
    return best


def _step_by_step(
    most: Sequence[int], saved: Callable[[Sequence[int]], Fraction]
) -> tuple[int, ...]:
    """One kit more or fewer, or one for another, for as long as that saves more."""
    counts, best = [0] * len(most), Fraction(0)
    while True:
        steps = []
        for at in range(len(most)):
            for other in range(-1, len(most)):
                tried = list(counts)
                tried[at] += 1
                if other >= 0:
                    tried[other] -= 1 if other != at else 2
                if all(0 <= count <= top for count, top in zip(tried, most, strict=True)):
                    steps.append(tried)
        found = max(steps, key=lambda tried: (saved(tried), [-count for count in tried]))
        if saved(found) <= best:
            return tuple(counts)
        counts, best = found, saved(found)


def _buy(
    shorts: Sequence[Short], fitting: set[int], kits: Sequence[Kit], counts: dict[str, int],
    items: Items,
) -> Choice:  # fmt: skip
    """Serve the uses in turn from kits bought before, then from one more kit, else singly."""
    bought: list[Bought] = []
    left: list[Short] = []
    saved = Fraction(0)
    for short in shorts:
        lack, item = short.count, short.use.item
        while lack and id(short) in fitting:
            source = next((one for one in bought if one.left.get(item)), None)
            if source is None:
                source = _one_more(item, kits, counts, items)
                if source is None:
                    break
                saved -= items.kits[source.name].price
                bought.append(source)
            given = min(lack, source.left[item])
            source.left[item] -= given
            source.serves.append(_part(short, given))
            saved += given * items.prices.get(item, Fraction(0))
            lack -= given
        if lack:
            left.append(_part(short, lack))
    return Choice(tuple(bought), tuple(left), saved)


def _one_more(
    item: str, kits: Sequence[Kit], counts: dict[str, int], items: Items
) -> Bought | None:  # fmt: skip
    for kit in kits:
        held = holds_of(kit, items)
        if counts.get(kit.name, 0) and item in held:
            counts[kit.name] -= 1
            return Bought(kit.name, left=held)
    return None


def _part(short: Short, count: int) -> Short:
    return Short(short.use, count)
