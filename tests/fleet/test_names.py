"""Names are kept tidy, compared without case, ordered as people count, and never invisible."""

from __future__ import annotations

import sys
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.fleet.names import (
    did_you_mean,
    folded,
    has_controls,
    natural,
    nearest,
    tidy,
    wrong_with,
)

steady = settings(deadline=None, derandomize=True, database=None)

# Unicode Standard Annex 9, table 3 and section 2: the explicit formatting characters and marks.
BIDI_CLASSES = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
BIDI_MARKS = {"\u200e", "\u200f", "\u061c"}
plain_names = st.text("abcdefgXYZ0123456789-' ", min_size=1, max_size=12)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Plover ", "Plover"),
        ("Rolling \t  Pin", "Rolling Pin"),
        ("Rolling\u00a0Pin", "Rolling Pin"),
        ("Re\u0301union", "R\u00e9union"),  # Unicode Standard Annex 15: NFC composes
    ],
)
def test_a_name_is_kept_composed_and_with_single_spaces(typed: str, kept: str) -> None:
    assert tidy(typed) == kept


@steady
@given(st.text(max_size=20))
def test_tidying_twice_changes_nothing_more(name: str) -> None:
    assert tidy(tidy(name)) == tidy(name)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("PLOVER", "plover"),
        ("Straße", "STRASSE"),  # Unicode Standard, section 5.18: full case folding
        ("ＯＢ-7", "ob-7"),  # full-width letters are compatibility forms
        ("Re\u0301union", "R\u00c9UNION"),
        ("OB  07", " ob 07 "),
    ],
)
def test_names_that_look_the_same_are_the_same(one: str, other: str) -> None:
    assert folded(one) == folded(other)


@pytest.mark.parametrize(("one", "other"), [("OB-1", "OB-01"), ("Teal", "Seal"), ("OB 7", "OB-7")])
def test_names_that_differ_stay_apart(one: str, other: str) -> None:
    assert folded(one) != folded(other)


@steady
@given(st.text(max_size=20))
def test_a_name_and_its_tidy_form_are_the_same_name(name: str) -> None:
    assert folded(tidy(name)) == folded(name)


@pytest.mark.parametrize("code", [*range(0x20), *range(0x7F, 0xA0)])
def test_no_control_character_can_stand_in_a_name(code: int) -> None:
    assert wrong_with(f"Plo{chr(code)}ver") == "holds a control character"


def test_nothing_that_turns_the_direction_of_writing_can_stand_in_a_name() -> None:
    turning = {
        char
        for char in map(chr, range(sys.maxunicode + 1))
        if unicodedata.bidirectional(char) in BIDI_CLASSES
    }
    assert len(turning) == 9
    for char in turning | BIDI_MARKS:
        assert wrong_with(f"Plo{char}ver") == "holds a control character", hex(ord(char))
        assert has_controls(char)


@pytest.mark.parametrize("unseen", ["\u200b", "\ufeff", "\u00ad", "\u2060"])
def test_two_names_never_differ_by_something_that_cannot_be_seen(unseen: str) -> None:
    assert wrong_with(f"Plo{unseen}ver") == "holds a character that cannot be seen"


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("", "is empty"),
        (" \u00a0 ", "is empty"),
        ("x" * 81, "is longer than 80 characters"),
        ("Plover; Teal", 'holds a ";", which separates names in tables'),
        ("\ud800", "holds a control character"),
    ],
)
def test_what_cannot_be_a_name_is_told_why(name: str, wrong: str) -> None:
    assert wrong_with(name) == wrong


@pytest.mark.parametrize(
    "name", ["Plover", "OB-07", "x" * 80, "O'Hara's", "Ruđa", "かわうそ", "Boat №7", "نورس", "=1+1"]
)
def test_any_letters_can_be_a_name(name: str) -> None:
    assert wrong_with(name) is None


def test_ob_2_stands_before_ob_10() -> None:
    names = ["OB-10", "OB-2", "ob-1", "Boat 12b", "Boat 12a", "Boat 3", "7", "10", "Otter"]
    assert sorted(names, key=natural) == [
        "7", "10", "Boat 3", "Boat 12a", "Boat 12b", "ob-1", "OB-2", "OB-10", "Otter",
    ]  # fmt: skip


@steady
@given(st.integers(0, 10**30), st.integers(0, 10**30))
def test_numbered_names_stand_in_the_order_of_their_numbers(one: int, other: int) -> None:
    assert (natural(f"OB-{one}") < natural(f"OB-{other}")) == (one < other)


@steady
@given(st.lists(st.text(max_size=8), max_size=6))
def test_any_names_can_be_put_in_order(names: list[str]) -> None:
    keys = [natural(name) for name in sorted(names, key=natural)]
    assert keys == sorted(keys)


def test_the_nearest_names_come_best_first_as_they_are_written() -> None:
    known = ["Plover", "Teal", "Clover", "Snipe"]
    assert nearest("plovr", known) == ["Plover", "Clover"]
    assert nearest("plovr", known, 1) == ["Plover"]
    assert nearest("Gannet", ["Teal"]) == []
    assert nearest("", known) == []


@steady
@given(st.lists(plain_names, max_size=8), plain_names)
def test_a_name_that_is_known_is_always_the_nearest(known: list[str], name: str) -> None:
    assert folded(nearest(name, [*known, name])[0]) == folded(name)


def test_the_question_names_the_nearest_or_is_not_asked() -> None:
    assert did_you_mean("Tael", ["Teal", "Plover"]) == 'Did you mean "Teal"?'
    both = did_you_mean("OB-1", ["OB-11", "OB-12"])
    assert both == 'Did you mean "OB-11" or "OB-12"?' or both == 'Did you mean "OB-12" or "OB-11"?'
    assert did_you_mean("Gannet", ["Teal"]) == ""
