"""US Army TM 55-1930-209-14&P-17, Table C-1, pp. C-12 to C-14: a workboat's stern drive,
not an outboard."""

from typing import Any

import pytest

Table = dict[str, Any]


def test_gear_oil_level_is_looked_at_every_25_hours_in_salt(base: Table) -> None:
    # item 11: leg oil level, 25 h. The months beside it are common practice, no source.
    assert base["gear oil peek"]["limits"]["salt"]["hours"] == 25


def test_a_salt_mooring_has_its_anodes_looked_at_every_25_hours(mooring: Table) -> None:
    # item 11: anodes, 25 h; 3 months: Proficiency in Survival Craft and Rescue Boats, p. 9-12
    assert mooring["anodes"]["limits"] == {"salt": {"hours": 25, "months": 3}}


def test_a_salt_mooring_has_its_steering_greased_every_25_hours(mooring: Table) -> None:
    # item 11: steering grease, 25 h; 30 days: a maker's handbook for the 4-10 hp class
    assert mooring["steering grease"]["limits"] == {"salt": {"hours": 25, "days": 30}}


def test_no_inner_anode_waits_beyond_200_hours(base: Table) -> None:
    # item 11f: internal anodes, 200 h
    assert max(pair["hours"] for pair in base["inner anodes"]["limits"].values()) == 200


@pytest.mark.parametrize("left", [50, 40, 30, 20, 10])
def test_an_anode_half_worn_is_renewed(words: Table, left: int) -> None:
    # item 11c: renew at 50 % worn (also its "not ready" limit); a club's text says the same.
    # Another maker renews at 2/3 worn: the stricter stands.
    entry = words["anode"][f"{left} % left"]
    assert entry["weight"] == "act"
    assert entry["follow_up"] == ["anodes"]


@pytest.mark.parametrize("left", [100, 90, 80, 70, 60])
def test_an_anode_less_than_half_worn_is_fine(words: Table, left: int) -> None:
    # item 11c, the other side of 50 %
    assert words["anode"][f"{left} % left"]["weight"] == "fine"


def test_both_anode_rules_are_named_side_by_side(base: Table) -> None:
    # item 11c: 50 %; a third maker: 2/3
    assert "50 %" in base["anodes"]["source"]
    assert "2/3" in base["anodes"]["source"]


def test_inner_anodes_turn_at_half_as_well(words: Table) -> None:
    # item 11c, carried over to the anodes inside: our design choice
    assert words["inner anode"]["over half left"]["weight"] == "fine"
    assert words["inner anode"]["half left or less"]["weight"] == "act"
