"""What people type has exactly one reading, or is refused in words."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet.days import day, spoken
from fleetcare.fleet.figures import count, hours, number, rounded, shown

steady = settings(deadline=None, derandomize=True, database=None)

TODAY = date(2026, 5, 12)

# --- days -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "on"),
    [
        ("2026-05-02", date(2026, 5, 2)),  # ISO 8601 extended and basic format
        ("20260502", date(2026, 5, 2)),
        ("today", TODAY),
        (" Yesterday ", date(2026, 5, 11)),
        ("1 day ago", date(2026, 5, 11)),
        ("12 days ago", date(2026, 4, 30)),
        ("0 days ago", TODAY),
    ],
)
def test_a_day_is_read_as_it_is_spoken(text: str, on: date) -> None:
    assert day(text, "--on", TODAY) == on


@pytest.mark.parametrize("text", ["today", "yesterday", "3 days ago"])
def test_a_table_takes_no_day_that_depends_on_when_it_is_read(text: str) -> None:
    assert isinstance(day(text, "on"), Fault)


def test_a_day_that_could_be_two_is_refused_with_both() -> None:
    told = str(day("03/04/2026", "--on", TODAY))
    assert told == ('--on: "03/04/2026" could be 2026-04-03 or 2026-03-04. Write it as YYYY-MM-DD.')
    assert "could be 2026-04-13. " in str(day("13.4.26", "--on", TODAY))


@pytest.mark.parametrize(
    "text", ["", "2026-02-29", "2026-13-01", "1 May", "2026", "46115", "99/99/99", "1899-12-31",
             "0000-00-00", "٢٠٢٦-٠٥-٠٢", "-5 days ago", "tomorrow", "2026-05-02T10:00"],
)  # fmt: skip
def test_what_is_no_day_is_refused(text: str) -> None:
    found = day(text, "--on", TODAY)
    assert isinstance(found, Fault) and found.where == "--on"


@steady
@given(st.text(max_size=20))
def test_any_text_is_a_day_or_refused(text: str) -> None:
    assert isinstance(day(text, "on", TODAY), date | Fault)


@steady
@given(st.dates(date(1950, 1, 1)))
def test_every_day_is_read_back_from_its_iso_form(on: date) -> None:
    assert day(on.isoformat(), "on") == on


def test_a_day_is_spoken_with_its_year_when_it_is_another() -> None:
    assert spoken(date(2026, 5, 2), TODAY) == "2 May"
    assert spoken(date(2025, 5, 2), TODAY) == "2 May 2025"
    assert spoken(date(2026, 5, 2)) == "2 May 2026"


# --- figures ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "hundredths"),
    [
        ("412", 41200), ("412.0", 41200), ("12.5", 1250), ("12,5", 1250), ("0.01", 1),
        ("12:30", 1250), ("12h30", 1250), ("12.5 h", 1250), ("12h", 1200), ("0:01", 2),
        ("０12.5", 1250), ("999999.99", 99_999_999),
    ],
)  # fmt: skip
def test_hours_are_whole_hundredths_however_they_are_typed(text: str, hundredths: int) -> None:
    assert hours(text, "hours") == hundredths


@pytest.mark.parametrize(
    "text", ["", "-1", "−1", "1e3", "nan", "inf", "1_000", "12.345", "1,234.5", "12:60", "h",
             "12 13", "0x10", "٣:٣٠", "99999999999:00", "1000000", "12.", ".5", "+5"],
)  # fmt: skip
def test_hours_that_are_none_are_refused(text: str) -> None:
    assert isinstance(hours(text, "hours"), Fault)


def test_a_figure_that_could_be_two_is_refused_with_both() -> None:
    assert '"1,234" could be 1.234 or 1234' in str(number("1,234", "cost"))
    assert '"1.000" could be 1 or 1000' in str(number("1.000", "cost"))
    assert number("1.234", "share", decimals=3) == Fraction(1234, 1000)


@steady
@given(st.integers(0, 99_999_999))
def test_hours_are_read_back_as_they_are_shown(hundredths: int) -> None:
    assert hours(shown(hundredths), "hours") == hundredths


@steady
@given(st.text(max_size=12))
def test_any_text_is_a_figure_or_refused(text: str) -> None:
    for read in (hours, number, count):
        found = read(text, "hours")
        assert isinstance(found, Fault) or 0 <= found < 10**9


@pytest.mark.parametrize(
    ("text", "pieces"), [("3", 3), ("0", 0), (" 12 ", 12), ("-1", None), ("1.5", None), ("", None)]
)
def test_pieces_are_whole(text: str, pieces: int | None) -> None:
    found = count(text, "count")
    assert isinstance(found, Fault) if pieces is None else found == pieces


@pytest.mark.parametrize(
    ("value", "places", "half_up"),
    [
        (Fraction(1, 2), 0, 1.0),
        (Fraction(5, 2), 0, 3.0),  # to the even one it would be 2
        (Fraction(1, 200), 2, 0.01),
        (Fraction(25, 10_000_000), 6, 0.000003),
        (Fraction(-1, 2), 0, 0.0),  # half up is towards more, not away from zero
        (Fraction(-3, 200), 2, -0.01),
    ],
)
def test_a_half_goes_up(value: Fraction, places: int, half_up: float) -> None:
    # Worked by hand: floor(x * 10^n + 1/2) / 10^n.
    assert rounded(value, places) == half_up


@steady
@given(st.fractions(0, 1000, max_denominator=2000), st.sampled_from([0, 2, 6]))
def test_shares_are_rounded_half_up(value: Fraction, places: int) -> None:
    # Against the decimal module; 60 digits are exact enough, a tie is an exact decimal.
    step = Decimal(1).scaleb(-places)
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    assert rounded(value, places) == float(exact.quantize(step, rounding=ROUND_HALF_UP))


@steady
@given(st.dates(date(1951, 1, 1)), st.integers(0, 300))
def test_days_ago_count_back_from_today(today: date, ago: int) -> None:
    assert day(f"{ago} days ago", "on", today) == today - timedelta(days=ago)
