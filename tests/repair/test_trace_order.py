"""The next look: against every order and every way written out, and the p/c rule.

D. Heckerman, J. Breese, K. Rommelse, Decision-theoretic troubleshooting, Comm. ACM 38(3), 1995:
with one fault and looks that settle it, falling chance over cost is the best order. With access
steps shared between looks it no longer is (T. Ottosen, F. Jensen, arXiv 1203.3502, abstract).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from fractions import Fraction

import pytest
from hypothesis import given, settings

from fleetcare.repair.trace_bayes import chances
from fleetcare.repair.trace_order import next_look, with_included
from fleetcare.rules.rule import Access
from fleetcare.rules.symptoms import OTHER, Look, Outcome, Symptom
from tests.repair.fault_tables import OVERHEATING, STEPS, STIFF, shares, steps, tables

ACCESS = steps(cowl=2, cover=15, leg=25, head=90)


def settled(name: str, minutes: int, proves: str, *access: str) -> Look:
    """A look that settles one cause for good."""
    return Look(
        name, "hands", "", minutes, (Outcome("good", ""), Outcome("bad", "", proves=proves)),
        (Fraction(1), Fraction(0)), {proves: (Fraction(0), Fraction(1))}, access=access,
    )  # fmt: skip


def causes(*of_hundred: int) -> dict[str, Fraction]:
    return {f"cause {at}": Fraction(item, 100) for at, item in enumerate(of_hundred)}


# -- the textbook case -----------------------------------------------------------------------------


def test_with_looks_that_settle_it_the_largest_chance_over_minutes_comes_first() -> None:
    # p/c: 0.40/10, 0.35/5, 0.25/1; expected by hand 1 + 0.75 * 5 + 0.40 * 10 = 8.75
    looks = [settled("a", 10, "cause 0"), settled("b", 5, "cause 1"), settled("c", 1, "cause 2")]
    choice = next_look(looks, causes(40, 35, 25), (), {})
    assert choice is not None and choice.look.name == "c"
    assert choice.expected == pytest.approx(8.75)
    after = next_look(looks[:2], {"cause 0": Fraction(40, 75), "cause 1": Fraction(35, 75)}, (), {})
    assert after is not None and after.look.name == "b"


@settings(max_examples=80)
@given(tables(most_causes=5, most_looks=1, sure=True).map(shares))
def test_the_p_over_c_rule_holds_on_random_tables(weights: dict[str, Fraction]) -> None:
    total = sum(weights.values())
    now = {name: share / total for name, share in weights.items()}
    looks = [
        settled(name, 1 + (7 * at + 3) % 11, name) for at, name in enumerate(now) if name != OTHER
    ]
    choice = next_look(looks, now, (), {})
    assert choice is not None
    ratio = {look.name: now[look.name] / look.minutes for look in looks}
    assert ratio[choice.look.name] == max(ratio.values())


# -- against every order, and every way --------------------------------------------------------


def of_order(
    order: tuple[Look, ...], now: Mapping[str, Fraction], access: Mapping[str, Access]
) -> Fraction:
    """The work to be expected of one order of looks that settle: minutes until the cause's own."""
    total = Fraction(0)
    for cause, chance in now.items():
        spent, opened = Fraction(0), set()
        for look in order:
            spent += look.minutes
            spent += sum(access[name].minutes for name in look.access if name not in opened)
            opened |= set(look.access)
            if any(item.proves == cause for item in look.outcomes):
                break
        total += chance * spent
    return total


@settings(max_examples=80)
@given(tables(most_causes=4, most_looks=5, sure=True, access=("cowl", "cover", "leg", "head")))
def test_the_order_with_shared_access_equals_the_best_of_all_orders(symptom: Symptom) -> None:
    now = chances(symptom, shares(symptom), {})
    orders = list(itertools.permutations(symptom.looks))
    costs = [of_order(order, now, ACCESS) for order in orders]
    best = min(costs)
    choice = next_look(symptom.looks, now, (), ACCESS)
    assert choice is not None and choice.expected == pytest.approx(float(best))
    starts = {
        order[0].name
        for order, cost in zip(orders, costs, strict=True)
        if float(cost - best) < 1e-6
    }
    assert choice.look.name in starts


def least(
    weights: dict[str, Fraction], looks: tuple[Look, ...], opened: frozenset[str]
) -> tuple[Fraction, set[str]]:
    """The least work over every way through the looks, whatever they show, and its first looks."""
    if not any(item.proves for look in looks for item in look.outcomes):
        return Fraction(0), set()
    found = {}
    for look in looks:
        minutes = look.minutes + sum(ACCESS[name].minutes for name in set(look.access) - opened)
        cost = minutes * sum(weights.values())
        for at, outcome in enumerate(look.outcomes):
            then = {
                cause: weight * look.chances(cause)[at]
                for cause, weight in weights.items()
                if cause != outcome.proves
            }
            rest = tuple(item for item in looks if item is not look)
            cost += least(then, rest, opened | set(look.access))[0]
        found[look.name] = cost
    best = min(found.values())
    return best, {name for name, cost in found.items() if float(cost - best) < 1e-6}


@settings(max_examples=60)
@given(tables(most_causes=3, most_looks=4, access=("cowl", "cover", "leg")))
def test_the_next_look_equals_the_best_of_every_way_on_small_tables(symptom: Symptom) -> None:
    now = chances(symptom, shares(symptom), {})
    cost, firsts = least(now, symptom.looks, frozenset())
    choice = next_look(symptom.looks, now, (), ACCESS)
    if not firsts:
        assert choice is None
        return
    assert choice is not None and choice.expected == pytest.approx(float(cost), abs=1e-6)
    assert choice.look.name in firsts


# -- access ----------------------------------------------------------------------------------------


def test_open_access_is_paid_once() -> None:
    looks = [settled("thermostat", 8, "cause 0", "cowl", "cover")]
    shut = next_look(looks, causes(60, 40), (), ACCESS)
    open_already = next_look(looks, causes(60, 40), ("cowl", "cover"), ACCESS)
    assert shut is not None and open_already is not None
    assert (shut.minutes, shut.opens) == (25, ("cover", "cowl"))
    assert (open_already.minutes, open_already.opens) == (8, ())


def test_what_a_step_brings_with_it_is_open_too() -> None:
    # The shipped set: a stripped swivel brings the powerhead and the leg off
    assert with_included(["swivel stripped"], STEPS) == {
        "swivel stripped", "powerhead off", "leg off"
    }  # fmt: skip
    assert with_included(["a step nobody knows"], STEPS) == set()


def test_shared_access_can_turn_the_p_over_c_order() -> None:
    # Alone: a 30/10, b and c each 25/(90 + 1) with the head off; together b and c pay it once
    looks = [
        settled("a", 60, "cause 0"),
        settled("b", 1, "cause 1", "head"),
        settled("c", 1, "cause 2", "head"),
    ]
    now = causes(37, 32, 31)
    alone = {"a": 37 / 60, "b": 32 / 91, "c": 31 / 91}
    assert max(alone, key=alone.__getitem__) == "a"
    choice = next_look(looks, now, (), ACCESS)
    assert choice is not None and choice.look.name == "b"
    # by hand: b, c, a: 91 + 0.68 * 1 + 0.37 * 60 = 113.88; a, b, c: 60 + 0.63 * 91 + 0.31 = 117.64
    assert choice.expected == pytest.approx(113.88)


def test_a_look_waits_for_those_that_come_before_it() -> None:
    first, then = settled("slow", 50, "cause 0"), settled("quick", 1, "cause 1")
    waiting = Look(
        then.name, then.kind, "", then.minutes, then.outcomes, then.usual, then.given,
        after=("slow",),
    )  # fmt: skip
    assert next_look([first, then], causes(50, 50), (), {}).look.name == "quick"  # type: ignore[union-attr]
    assert next_look([first, waiting], causes(50, 50), (), {}).look.name == "slow"  # type: ignore[union-attr]


def test_of_equally_good_looks_it_is_the_first_and_no_look_is_no_answer() -> None:
    looks = [settled("one", 5, "cause 0"), settled("two", 5, "cause 1")]
    assert next_look(looks, causes(50, 50), (), {}).look.name == "one"  # type: ignore[union-attr]
    assert next_look([], causes(50, 50), (), {}) is None


@pytest.mark.parametrize("symptom", [OVERHEATING, STIFF])
def test_the_shipped_tables_give_the_same_answer_every_time(symptom: Symptom) -> None:
    now = chances(symptom, shares(symptom), {})
    looks = [look for look in symptom.looks if look.offered and not look.first]
    found = [next_look(looks, now, (), STEPS) for _ in range(2)]
    assert found[0] == found[1]
