"""Hires out and in become hours: held to the clock arithmetic of the standard library."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet.hires import hired, is_hire

MIDNIGHT = datetime(2031, 7, 18)  # a day without a zone: only differences count
WAYS = ("%H:%M", "%H%M", "%Hh%M")


def hundredths(spent: timedelta) -> int:
    """Hours to 0.01 out of a time span, by another road: decimals, rounded half up."""
    exact = Decimal(spent // timedelta(minutes=1)) / Decimal(60)
    return int(exact.quantize(Decimal("0.01"), ROUND_HALF_UP) * 100)


@given(
    st.lists(st.integers(0, 23 * 60 + 59), min_size=2, max_size=8, unique=True),
    st.sampled_from(WAYS),
    st.sampled_from([",", "+", " + ", ", "]),
    st.sampled_from(["-", "–", " - "]),
)
def test_hires_add_up_as_the_clock_does(
    minutes: list[int], way: str, between: str, dash: str
) -> None:
    marks = [MIDNIGHT + timedelta(minutes=item) for item in sorted(minutes)]
    hires = list(zip(marks[::2], marks[1::2], strict=False))
    text = between.join(f"{out.strftime(way)}{dash}{back.strftime(way)}" for out, back in hires)
    spent = sum((back - out for out, back in hires), timedelta())
    assert hired(text, "hours") == hundredths(spent)
    assert is_hire(text)


@given(st.integers(0, 23 * 60 + 59), st.integers(0, 23 * 60 + 59))
def test_in_before_out_is_refused_as_a_hire_over_midnight(first: int, second: int) -> None:
    out, back = (MIDNIGHT + timedelta(minutes=max(first, second)),
                 MIDNIGHT + timedelta(minutes=min(first, second)))  # fmt: skip
    found = hired(f"{out:%H:%M}-{back:%H:%M}", "hours")
    assert isinstance(found, Fault)
    assert ("midnight" in str(found)) is (out != back)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("9:30-12:15", 275),
        ("0930-1215", 275),
        ("930-1215", 275),
        ("9-12", 300),
        ("9h30-12h15", 275),
        ("22:00-24:00", 200),
        ("9:00-9:20", 33),  # 20 minutes are a third of an hour
        ("9:00-9:20+10:00-10:20+11:00-11:20", 100),  # three thirds: rounded once, not thrice
        ("9-11+1,5", 350),
        ("2.75", 275),
        ("2,75", 275),
        ("2:45", 275),
        ("0", 0),
    ],
)
def test_hires_and_hours_are_written_in_any_of_these_ways(text: str, expected: int) -> None:
    assert hired(text, "hours") == expected


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("22:30-1:15", "comes back before it goes out"),
        ("9-9", "no time at all"),
        ("9:75-12", '"9:75" is no time of day'),
        ("9-25", '"25" is no time of day'),
        ("9-24:01", '"24:01" is no time of day'),
        ("9.30-12", '"9.30" is no time of day'),
        ("9-11+10-12", "overlap"),
        ("9-11,2", "is no time of day"),
        ("9-", "is no time of day"),
        ("-3", "is negative"),
        ("x", "takes a number"),
        ("9-11+x", "takes a number"),
    ],
)
def test_what_is_no_hire_is_refused_in_words(text: str, hint: str) -> None:
    found = hired(text, "hours")
    assert isinstance(found, Fault)
    assert hint in str(found)


def test_a_figure_is_no_hire() -> None:
    assert not any(map(is_hire, ["61.2", "12:30", "-5", "0"]))
