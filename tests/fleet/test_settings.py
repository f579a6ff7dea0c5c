"""Settings are known by name, have defaults, and refuse what they cannot mean."""

from __future__ import annotations

import calendar
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet.settings import (
    MEANINGS,
    Settings,
    as_pairs,
    changed,
    month_day,
    season_of,
)

steady = settings(deadline=None, derandomize=True, database=None)


def set_to(name: str, text: str) -> Settings:
    found = changed(Settings(), name, text)
    assert isinstance(found, Settings), str(found)
    return found


def refused(name: str, text: str) -> str:
    found = changed(Settings(), name, text)
    assert isinstance(found, Fault)
    return str(found)


def test_every_setting_has_a_meaning_to_print() -> None:
    assert list(MEANINGS) == [field.name for field in fields(Settings)]


def test_a_fleet_that_sets_nothing_lies_in_the_north_and_counts_in_litres() -> None:
    plain = Settings()
    assert (plain.rules, plain.hemisphere, plain.season) == ("small-petrol", "northern", "")
    assert plain.fuel_unit == "litres"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("hemisphere", "southern"),
        ("hemisphere", "tropics"),
        ("fuel_unit", "US gallons"),
        ("season", "04-04/10-11"),
        ("season", "10-01/04-30"),
        ("season", ""),
        ("rules", "our-jetty"),
        ("rules_folder", "/srv/rules; mine"),
        ("by", "jetty"),
        ("calendar_name", "Boote am Møn: Motoren"),
    ],
)
def test_a_setting_takes_its_value_and_leaves_the_others(name: str, text: str) -> None:
    before, after = dict(as_pairs(Settings())), dict(as_pairs(set_to(name, text)))
    assert after == before | {name: text}


def test_settings_come_back_out_of_their_pairs() -> None:
    told = set_to("hemisphere", "southern")
    again = Settings()
    for name, text in as_pairs(told):
        found = changed(again, name, text)
        assert isinstance(found, Settings)
        again = found
    assert again == told


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        (
            "hemisfere",
            "southern",
            'setting "hemisfere": is not a setting. Did you mean "hemisphere"?',
        ),
        ("colour", "red", 'setting "colour": is not a setting'),
        (
            "hemisphere",
            "north",
            'setting "hemisphere": takes northern, southern or tropics, not "north"',
        ),
        ("fuel_unit", "pints", 'setting "fuel_unit": takes litres or US gallons, not "pints"'),
        (
            "season",
            "April to October",
            'setting "season": takes the first and last day as MM-DD/MM-DD, such as '
            '"04-04/10-11", not "April to October"',
        ),
        ("by", "jetty\x1b[31m", 'setting "by": holds a control character'),
        ("calendar_name", "A\nB", 'setting "calendar_name": holds a control character'),
    ],
)
def test_a_refused_setting_says_what_it_takes(name: str, text: str, told: str) -> None:
    assert refused(name, text) == told


@pytest.mark.parametrize("text", ["04-04", "04-04/", "/10-11", "04-04/10-32", "4-4/10-11", "a/b"])
def test_a_season_needs_two_days(text: str) -> None:
    assert season_of(text) is None
    assert refused("season", text)


def test_a_season_may_cross_the_years_end() -> None:
    assert season_of("10-01/04-30") == ((10, 1), (4, 30))
    assert season_of(" 10-01 / 04-30 ") == ((10, 1), (4, 30))


@pytest.mark.parametrize("month", range(15))
def test_a_season_day_is_one_that_every_year_has(month: int) -> None:
    # The calendar of 2023, a year without 29 February (proleptic Gregorian, Python's calendar).
    for day in range(34):
        exists = 1 <= month <= 12 and 1 <= day <= calendar.monthrange(2023, month)[1]
        assert month_day(f"{month:02}-{day:02}") == ((month, day) if exists else None)


@steady
@given(st.sampled_from([field.name for field in fields(Settings)]), st.text(max_size=30))
def test_any_text_is_taken_or_refused_in_words(name: str, text: str) -> None:
    found = changed(Settings(), name, text)
    if isinstance(found, Fault):
        assert found.where == f'setting "{name}"' and found.what
    else:
        assert getattr(found, name) == text
