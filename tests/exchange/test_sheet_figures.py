"""Figures of sheets: one reading or none, against a reference that tries every way to read one.

The reference knows no rule of the product's: it writes down every number that a text of digits,
points and commas can stand for in the writings of Europe and America, and asks for just one.
"""

from __future__ import annotations

import itertools
import re
from datetime import date, datetime, time, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.exchange import figure_cells
from fleetcare.exchange.cell import Broken, Cell, looks
from fleetcare.exchange.figure_cells import Figure


def hours(cell: Cell, decimal: str = "") -> int | str | None:
    """Hundredths, or what is wrong, or None."""
    found = figure_cells.hours(cell, "Hours", decimal)
    if isinstance(found, Fault):
        return str(found)
    return None if found is None else found.value


@pytest.mark.parametrize(
    ("text", "hundredths"),
    [
        ("12.5", 1250), ("12,5", 1250), ("12:30", 1250), ("12h30", 1250), ("12 h 30", 1250),
        ("12.5 h", 1250), ("12,5 Std.", 1250), ("90 min", 150), ("1 h 30 min", 150),
        ("12:30:00", 1250), ("0:20", 33), ("0:40", 67), ("7", 700), ("007", 700), (" 7 ", 700),
        ("1.234,5", 123450), ("1,234.5", 123450), ("1 234,5", 123450), ("1\u00a0234,5", 123450),
        ("1\u202f234,5", 123450), ("1'234.5", 123450), ("1’234", 123400), ("1.234.567,8", None),
        ("１２.５", 1250), ("\u200b12.5\ufeff", 1250), ("1234.567", 123457), ("12.3456", 1235),
    ],
)  # fmt: skip
def test_figures_as_people_write_them_have_one_reading(text: str, hundredths: int | None) -> None:
    if hundredths is None:
        assert "absurdly large" in str(hours(text))
    else:
        assert hours(text) == hundredths


@pytest.mark.parametrize("text", ["", " ", "-", "–", "—", "\u00a0", "--", "."])
def test_blanks_and_lone_dashes_are_no_figure(text: str) -> None:
    assert hours(text) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,234", "could be 1.234 or 1234"), ("1.234", "could be 1.234 or 1234"),
        ("12.345", "could be 12.345 or 12345"),
        ("−5", "is negative"), ("-5", "is negative"), ("- 5,5", "is negative"),
        ("nan", "takes a number"), ("inf", "takes a number"), ("1e3", "takes a number"),
        ("1_000", "takes a number"), ("١٢", "takes a number"), ("12²", "takes a number"),
        ("½", "takes a number"), ("twelve", "takes a number"), ("12 5", "takes a number"),
        ("1.2.3", "takes a number"), ("12.", "takes a number"), ("1,23,456", "takes a number"),
        ("ca. 12", "is not sure"), ("12?", "is not sure"), ("12 or 13", "is not sure"),
        ("~12", "is not sure"), ("etwa 12", "is not sure"), ("<12", "is not sure"),
        ("12:75", "more than 59"), ("12:30:61", "more than 59"),
        ("#REF!", "shows an error"), ("#DIV/0!", "shows an error"), ("#####", "shows an error"),
        ("9" * 60, "absurdly large"), ("9" * 61, "takes a number"), ("1" * 200_000, "takes a num"),
        ("9999999:00", "absurdly large"),
    ],
)  # fmt: skip
def test_figures_with_two_readings_or_none_are_refused_in_words(text: str, said: str) -> None:
    assert said in str(hours(text))


@pytest.mark.parametrize(
    ("text", "decimal", "reading"),
    [
        ("1,234", ".", 123400), ("1,234", ",", 123), ("1.234", ",", 123400), ("1.234", ".", 123),
        ("12,5", ",", 1250), ("12.5", ".", 1250), ("1.234,5", ",", 123450),
        ("1,234,567", ",", "thousands"), ("12,5", ".", "--decimal says"),
        ("12.5", ",", "--decimal says"), ("1.234,5", ".", "--decimal says"),
    ],
)  # fmt: skip
def test_a_decimal_mark_once_said_holds_for_every_figure(
    text: str, decimal: str, reading: int | str
) -> None:
    found = hours(text, decimal)
    assert found == reading if isinstance(reading, int) else reading in str(found)


@pytest.mark.parametrize(
    ("cell", "hundredths"),
    [
        (12, 1200), (12.5, 1250), (0.1 + 0.2, 30), (12.333333333333334, 1233), (0.005, 1),
        (time(12, 30), 1250), (timedelta(hours=130, minutes=30), 13050), (time(0, 0), 0),
        (time(12, 30, 15), 1250), (timedelta(seconds=18), 1),
    ],
)  # fmt: skip
def test_cells_with_a_type_of_their_own_are_hours(cell: Cell, hundredths: int) -> None:
    assert hours(cell) == hundredths


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        (datetime(2026, 5, 12), "turned this into a date (\"12 May 2026\"). Was it 12.5 or 5.12"),
        (date(2026, 5, 12), "turned this into a date"),
        (datetime(1900, 1, 5, 10, 30), "whole days before it"),
        (-1, "is negative"), (float("nan"), "is no figure"), (float("inf"), "is no figure"),
        (10**9, "absurdly large"), (timedelta(hours=-1), "is negative"),
        (Broken("#REF!", "the sheet shows an error"), "shows an error"),
    ],
)  # fmt: skip
def test_cells_that_are_no_hours_are_refused_in_words(cell: Cell, said: str) -> None:
    assert said in str(hours(cell))


def test_minutes_litres_and_gallons_become_hundredths_of_an_hour_or_a_litre() -> None:
    assert figure_cells.minutes("90", "") == Figure(150)
    assert figure_cells.minutes(20, "") == Figure(33, True)
    assert isinstance(figure_cells.minutes("1:30", ""), Fault)
    assert figure_cells.litres("3,5 l", "", "US gallons") == Figure(350)
    # NIST Handbook 44, appendix C: 1 gallon [231 cubic inches] = 3.785 412 litres
    assert figure_cells.litres("10 gal", "", "litres") == Figure(3785, True)
    assert figure_cells.litres(10, "", "US gallons") == Figure(3785, True)
    assert figure_cells.count("3", "") == 3
    assert isinstance(figure_cells.count("3.5", ""), Fault)


# -- every way to read one ---------------------------------------------------------------------


def ways(text: str) -> set[Fraction]:
    """Every number that digits with points and commas stand for, somewhere."""
    found: set[Fraction] = set()
    for group, point in ((",", "."), (".", ","), ("", "."), ("", ",")):
        whole, mark, tail = text.partition(point)
        if mark and not re.fullmatch(r"\d+", tail):
            continue
        if group and group in whole:
            if not re.fullmatch(rf"[1-9]\d{{0,2}}(?:{re.escape(group)}\d{{3}})+", whole):
                continue
            whole = whole.replace(group, "")
        if re.fullmatch(r"\d+", whole):
            found.add(Fraction(f"{whole}.{tail or '0'}"))
    return found


TEXTS = ["".join(chars) for size in range(1, 8) for chars in itertools.product("05.,", repeat=size)]


def test_every_text_of_digits_and_marks_is_read_in_its_one_way_or_refused() -> None:
    """All 21,844 texts of up to seven of 0, 5, point and comma."""
    seen = {"read": 0, "two": 0, "none": 0}
    for text in TEXTS:
        found, expected = hours(text), ways(text)
        if not set(text) & {"0", "5"}:
            assert found is None or "takes a number" in str(found), text
            continue
        if len(expected) == 1:
            value = next(iter(expected))
            if value < 1_000_000:
                assert found == (200 * value + 1) // 2, text
            else:
                assert "absurdly large" in str(found), text
            seen["read"] += 1
        else:
            assert isinstance(found, str), (text, found, expected)
            seen["two" if expected else "none"] += 1
    assert min(seen.values()) > 100, seen


@settings(deadline=None, derandomize=True, database=None, max_examples=400)
@given(st.text(max_size=12) | st.text("0123456789.,:h min'-–~?\u00a0", max_size=10))
def test_no_text_at_all_is_more_than_a_figure_a_blank_or_a_refusal(text: str) -> None:
    found = figure_cells.hours(text, "Hours")
    assert found is None or isinstance(found, Fault | Figure)
    if isinstance(found, Figure):
        assert any(char.isdigit() for char in text)
        again = looks(found.value / 100)
        assert hours(again) in (found.value, f'Hours: "{again}" could be {again} or {again}')


@settings(deadline=None, derandomize=True, database=None, max_examples=300)
@given(st.integers(0, 99_999_999))
def test_a_figure_is_read_the_same_from_a_number_a_text_and_a_comma(hundredths: int) -> None:
    whole, rest = divmod(hundredths, 100)
    assert hours(hundredths / 100) == hundredths
    assert hours(f"{whole}.{rest:02}") == hundredths
    assert hours(f"{whole},{rest:02}") == hundredths
    assert hours(f"{whole:,}.{rest:02}") == hundredths
    assert hours(f"{whole:,}.{rest:02}".translate(str.maketrans(",.", ".,"))) == hundredths
