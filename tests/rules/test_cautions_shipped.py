"""What could hurt a hand, or ruin a pump, is said with the job itself, for who reads only that."""

from __future__ import annotations

import pytest

from fleetcare.rules.rule import Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.shipped import read_book

SETS = ("small-petrol", "hire", "salt-mooring")
# The hand is at the leg, the propeller or the link: a maker's handbook stops the engine first.
AT_THE_LEG = {
    "anodes", "gear oil", "gear oil peek", "gearcase pressure", "gearcase strip", "impeller",
    "intakes look", "propeller", "pump housing", "pump look", "splines", "steering grease",
    "swing test", "water tube",
}  # fmt: skip
# The engine runs: never dry (AMSA Marine Notice 12/2017), nobody near the propeller.
RUNNING = {"flush", "kill cord", "proof run", "tank flush"}


@pytest.fixture(scope="module", name="book")
def shipped_book() -> RuleBook:
    return read_book(None, set(SETS))


def told(found: RuleSet, rule: Rule) -> str:
    """All cautions that a job's event and sheet show: its own and those of what is opened."""
    steps = [found.access[name] for name in rule.access]
    return " ".join([*rule.cautions, *(text for step in steps for text in step.cautions)])


@pytest.mark.parametrize("name", SETS)
def test_every_job_says_what_to_mind(book: RuleBook, name: str) -> None:
    found = book.sets[name]
    assert [rule.name for rule in found.rules.values() if not told(found, rule)] == []


@pytest.mark.parametrize("name", SETS)
def test_where_a_hand_goes_to_the_leg_the_kill_cord_is_off(book: RuleBook, name: str) -> None:
    found = book.sets[name]
    assert set(found.rules) >= AT_THE_LEG
    for task in AT_THE_LEG:
        assert "kill cord off" in told(found, found.rules[task]).lower(), task


@pytest.mark.parametrize("name", SETS)
def test_where_it_runs_there_is_water_first_and_nobody_at_the_propeller(
    book: RuleBook, name: str
) -> None:
    found = book.sets[name]
    assert set(found.rules) >= RUNNING
    for task in RUNNING:
        cautions = told(found, found.rules[task]).lower()
        assert any(word in cautions for word in ("water on", "water over", "in the water")), task
        assert "propeller" in cautions, task
        # on a sheet what was opened for other jobs stands open until it is closed up
        assert task == "kill cord" or "all closed up" in cautions, task
