"""Kits in rule files: read, laid over one another, and refused in words when they are wrong."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fleetcare.errors import FaultsError
from fleetcare.rules.kits import items_of
from fleetcare.rules.rule import Kit, Part, RuleSet
from fleetcare.rules.sets import read_set
from fleetcare.rules.shipped import all_texts

OURS = """[set]
name = "ours"
extends = "small-petrol"
"""
PUMP = """[[kit]]
name = "pump service kit"
holds = [{ item = "impeller kit" }, { item = "drive-shaft O-ring", count = 2 }]
price = 41.5
source = "our supplier's list"
"""


def ours(text: str, name: str = "ours", **beneath: str) -> RuleSet:
    texts = {**all_texts(None), **{key: (value, f"{key}.toml") for key, value in beneath.items()}}
    return read_set(name, {**texts, name: (text, f"{name}.toml")})


def fault(text: str) -> str:
    with pytest.raises(FaultsError) as caught:
        ours(OURS + text)
    return str(caught.value)


def test_a_kit_holds_items_for_a_price() -> None:
    kit = ours(OURS + PUMP).kits["pump service kit"]
    parts = (Part("impeller kit"), Part("drive-shaft O-ring", 2))
    assert kit == Kit("pump service kit", parts, Fraction(83, 2), "our supplier's list")


def test_a_set_takes_over_the_kits_beneath_it_and_changes_them_key_by_key() -> None:
    upper = """[set]
name = "upper"
extends = "ours"
[[kit]]
name = "pump service kit"
price = 39
"""
    kit = ours(upper, "upper", ours=OURS + PUMP).kits["pump service kit"]
    assert (kit.price, len(kit.holds)) == (39, 2)


def test_the_shipped_sets_hold_no_kit() -> None:
    assert [name for name in all_texts(None) if read_set(name, all_texts(None)).kits] == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[kit]\nx = 1\n", "Begin each kit with [[kit]]."),
        ("[[kit]]\nprice = 3\n", "[[kit]] number 1: has no name"),
        (PUMP + PUMP, 'kit "pump service kit": stands twice'),
        (PUMP.replace("price = 41.5\n", ""), "price: is missing. price = 48"),
        (PUMP.replace("41.5", "41.555"), "takes a sum of at most two decimals"),
        (PUMP.replace("41.5", "-2"), "takes a sum of at most two decimals"),
        (PUMP.replace("holds", "hold"), 'hold: is not a key here. Did you mean "holds"?'),
        (PUMP.replace("holds", "hold"), "holds: names no item"),
        (PUMP.replace("impeller kit", "impeler kit"), 'no job uses "impeler kit". Did you mean'),
        (PUMP.replace('O-ring"', 'O-ring", price = 2'), "Price the kit."),
        (PUMP.replace("drive-shaft O-ring", "impeller kit"), "names an item twice"),
        (PUMP.replace("pump service kit", "impeller kit"), "is named as an item of a job is"),
        (PUMP.replace("pump service kit", "pump  kit"), 'name = "pump kit"'),
        (PUMP.replace("source", "#"), "source: is missing"),
    ],
)
def test_what_is_wrong_with_a_kit_is_told_with_its_place(text: str, told: str) -> None:
    assert told in fault(text)


def test_the_items_of_a_set_are_those_of_its_jobs_and_of_its_access() -> None:
    items = items_of(read_set("small-petrol", all_texts(None)))
    assert items["impeller kit"] == 35
    assert items["base gasket"] is None
    dearer = '[[task]]\nname = "plugs"\nparts = [{ item = "spark plug" }]\n'
    assert items_of(ours(OURS + dearer))["spark plug"] is None
