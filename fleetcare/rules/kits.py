"""Kits: items that are sold together, for a price of the whole."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from fleetcare.fleet.names import did_you_mean, folded, tidy, wrong_with
from fleetcare.rules.reading import MOST_PRICE, Faults, in_cents, read_parts, sourced
from fleetcare.rules.rule import Kit, Part, RuleSet

KIT_KEYS = ("name", "holds", "price", "source")
SHAPE = 'holds = [{ item = "impeller kit" }, { item = "pump housing gasket" }]'


def kits_over(
    base: Mapping[str, Mapping[str, Any]], rows: Any, faults: Faults
) -> dict[str, Mapping[str, Any]]:
    """The kits of a file laid over those beneath it, by name, key by key."""
    kits = dict(base)
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        faults.at("kit", "takes tables", "Begin each kit with [[kit]].")
        return kits
    seen: set[str] = set()
    for at, row in enumerate(rows, start=1):
        name = row.get("name")
        if not isinstance(name, str) or not name.strip():
            faults.at(f"[[kit]] number {at}", "has no name", 'Write name = "…", as it is ordered.')
            continue
        if folded(name) in seen:
            faults.at(f'kit "{name}"', "stands twice in the file", "Keep one of them.")
        seen.add(folded(name))
        kits[name] = {**kits.get(name, {}), **row}
    return kits


def read_kit(name: str, row: Mapping[str, Any], faults: Faults) -> Kit:
    """One kit; it needs what it holds, its price and where both come from."""
    path = f'kit "{name}"'
    wrong = wrong_with(name)
    if wrong or tidy(name) != name:
        mend = "" if wrong else f'name = "{tidy(name)}"'
        faults.at(f"{path}: name", wrong or "has spaces that do not count", mend)
    faults.unknown(path, row, KIT_KEYS)
    return Kit(
        name, _holds(row, path, faults), _price(row, path, faults), sourced(row, path, faults)
    )


def _holds(row: Mapping[str, Any], path: str, faults: Faults) -> tuple[Part, ...]:
    parts = read_parts(row.get("holds", []), f"{path}: holds", faults)
    if not row.get("holds"):
        faults.at(f"{path}: holds", "names no item", SHAPE)
    for part in parts:
        if part.price is not None:
            faults.at(f"{path}: holds", f'"{part.item}" has a price of its own', "Price the kit.")
    names = [part.item for part in parts]
    if len(set(names)) < len(names):
        faults.at(f"{path}: holds", "names an item twice", "Give it a count instead.")
    return parts


def _price(row: Mapping[str, Any], path: str, faults: Faults) -> Fraction:
    price = row.get("price")
    if price is None or not in_cents(price, MOST_PRICE):
        wrong = "is missing" if price is None else "takes a sum of at most two decimals"
        faults.at(f"{path}: price", wrong, "price = 48")
        return Fraction(0)
    return Fraction(price)


def check_kits(ruleset: RuleSet, faults: Faults) -> None:
    """Note kits that hold what no job uses, or are named as an item is."""
    items = items_of(ruleset)
    for kit in ruleset.kits.values():
        if kit.name in items:
            faults.at(f'kit "{kit.name}"', "is named as an item of a job is", "Give it another.")
        for part in kit.holds:
            if part.item not in items:
                near = did_you_mean(part.item, items)
                faults.at(f'kit "{kit.name}": holds', f'no job uses "{part.item}"', near)


def items_of(ruleset: RuleSet) -> dict[str, Fraction | None]:
    """Every item that jobs and access steps use up, with the highest price given, if any."""
    items: dict[str, Fraction | None] = {}
    lists = [rule.parts for rule in ruleset.rules.values()]
    lists += [step.consumes for step in ruleset.access.values()]
    for parts in lists:
        for part in parts:
            known = items.setdefault(part.item, part.price)
            if part.price is not None and (known is None or known < part.price):
                items[part.item] = part.price
    return items
