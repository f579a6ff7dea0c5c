"""Items: one name for each however it is spelt, what it costs, the kits that hold it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.fleet.names import folded
from fleetcare.log.entries import Count, Delivery
from fleetcare.rules.kits import items_of
from fleetcare.rules.rule import Kit, RuleSet


@dataclass(frozen=True, slots=True)
class Items:
    """Every item that rules, kits and the log name.

    `prices` are of one piece, in the fleet's money: what was last paid, else the highest that the
    rules give; an item in `paid` has the former. `ruled` are those that some job uses up.
    """

    by_fold: Mapping[str, str]
    prices: Mapping[str, Fraction]
    paid: frozenset[str]
    ruled: frozenset[str]
    kits: Mapping[str, Kit]

    def name(self, text: str) -> str:
        """The one name of an item, whatever the spelling."""
        return self.by_fold.get(folded(text), text)

    def knows(self, text: str) -> bool:
        """Whether the rules, a kit or the log name it."""
        return folded(text) in self.by_fold


def items_known(
    rulesets: Mapping[str, RuleSet], entries: Iterable[Delivery | Count], as_of: int
) -> Items:
    """The items of rule sets and of the log up to a day, in the order of sets, then of the log."""
    by_fold: dict[str, str] = {}
    prices: dict[str, Fraction] = {}
    kits: dict[str, Kit] = {}
    for _, ruleset in sorted(rulesets.items()):
        for item, price in items_of(ruleset).items():
            name = by_fold.setdefault(folded(item), item)
            if price is not None:
                prices[name] = max(price, prices.get(name, price))
        for kit in ruleset.kits.values():
            kits.setdefault(kit.name, kit)
    ruled = frozenset(by_fold.values())
    for kit in kits.values():
        by_fold.setdefault(folded(kit.name), kit.name)
    paid: dict[str, Fraction] = {}
    for entry in sorted(entries, key=lambda entry: (entry.on, entry.number)):
        if entry.on.toordinal() > as_of:
            continue
        name = by_fold.setdefault(folded(entry.item), entry.item)
        if isinstance(entry, Delivery) and entry.cost is not None and entry.count:
            paid[name] = Fraction(entry.cost, 100 * entry.count)
    return Items(by_fold, {**prices, **paid}, frozenset(paid), ruled, kits)
