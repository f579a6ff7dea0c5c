"""Makers' printed schedules and handbooks for small outboards (makers are not named)."""

from typing import Any

import pytest

Table = dict[str, Any]


def test_a_fresh_water_impeller_is_renewed_at_300_hours_or_three_years(base: Table) -> None:
    # A maker's four-stroke schedule: replace at 300 h or 36 months
    assert base["impeller"]["limits"]["fresh"] == {"hours": 300, "months": 36}


def test_the_pump_is_inspected_at_200_hours_or_a_year(base: Table) -> None:
    # The same maker's schedule: inspect at 200 h or 12 months
    assert base["pump look"]["limits"] == {"hours": 200, "months": 12}


@pytest.mark.parametrize("task", ["gear oil", "engine oil"])
def test_oils_are_changed_at_100_hours_or_a_year(base: Table, task: str) -> None:
    # The same maker's schedule: 100 h or 12 months
    assert base[task]["limits"] == {"hours": 100, "months": 12}


@pytest.mark.parametrize("task", ["gear oil", "engine oil"])
def test_the_first_service_comes_at_20_hours_or_a_month(base: Table, task: str) -> None:
    # The same maker's schedule: first service at 20 h or 1 month.
    # Another maker prints 20 h (3 months), a club's text 20-50 h for the first oil: not earlier.
    assert base[task]["first"] == {"hours": 20, "months": 1}


@pytest.mark.parametrize("task", ["propeller", "anodes", "bolts", "fuel line"])
def test_the_first_look_comes_at_20_hours(base: Table, task: str) -> None:
    # The same maker's schedule: looked at in the first service, 20 h
    assert base[task]["first"] == {"hours": 20}


def test_the_first_greasing_is_no_later_than_the_usual_one(base: Table) -> None:
    # First service at 20 h or 1 month; salt water's 30 days are stricter than a month of 31
    assert base["swivel grease"]["first"] == {"hours": 20, "days": 30}


@pytest.mark.parametrize("task", ["swivel grease", "tilt grease", "steering grease"])
def test_pivots_are_greased_at_60_days_fresh_and_30_salt(base: Table, task: str) -> None:
    # A maker's handbook for the 4-10 hp class: 60 days in fresh water, 30 in salt
    assert base[task]["limits"] == {"fresh": {"days": 60}, "salt": {"days": 30}}


def test_linkages_are_greased_at_60_days_fresh_and_30_salt(base: Table) -> None:
    # The same handbook, throttle and shift linkage
    assert base["linkage grease"]["limits"] == {"fresh": {"days": 60}, "salt": {"days": 30}}


def test_the_fuel_filter_is_renewed_at_400_hours_or_two_years(base: Table) -> None:
    # A maker's schedule, low-pressure fuel filter: 400 h or 24 months
    assert base["fuel filter"]["limits"] == {"hours": 400, "months": 24}


@pytest.mark.parametrize("task", ["plugs", "fuel line"])
def test_plugs_and_fuel_line_are_looked_at_at_100_hours_or_a_year(base: Table, task: str) -> None:
    # A maker's schedule, 100 h or 12 months column
    assert base[task]["limits"] == {"hours": 100, "months": 12}


def test_bolts_are_nipped_up_at_100_hours(base: Table) -> None:
    # A maker's schedule: tighten at 20 h, then every 100 h. Months in salt water
    # are common practice, no source.
    assert base["bolts"]["limits"]["fresh"] == {"hours": 100, "months": 12}
    assert base["bolts"]["limits"]["salt"]["hours"] == 100


def test_inner_anodes_stand_in_the_100_and_200_hour_columns(base: Table) -> None:
    # Two makers' schedules: 100 h and 200 h. Which water has which is common practice, no source.
    limits = base["inner anodes"]["limits"]
    assert (limits["salt"]["hours"], limits["fresh"]["hours"]) == (100, 200)


def test_oil_is_judged_only_after_settling_for_an_hour(base: Table, words: Table) -> None:
    # A maker's service manual: let the oil settle for 1 h before calling it milky
    assert "settle an hour" in base["gear oil"]["cautions"][0]
    assert words["gear oil"]["not settled yet"]["weight"] == "watch"
    assert words["gear oil"]["milky"]["weight"] == "stop"


def test_fuzz_on_the_magnet_is_wear_and_chips_are_damage(words: Table) -> None:
    # The same manual: fine fuzz is normal, chips are damage
    assert words["drain magnet"]["fuzz"]["weight"] == "fine"
    assert words["drain magnet"]["chips"]["weight"] == "stop"


def test_an_engine_that_the_kill_cord_does_not_stop_stays_in(words: Table) -> None:
    # A maker's handbook: the engine must stop when the cord is pulled
    assert words["kill cord"]["fails"]["weight"] == "stop"


@pytest.mark.parametrize(
    ("task", "water", "hours_a_year"),
    [
        # hours / (months / 12) of each printed pair, by hand
        ("impeller", "salt", 200),
        ("impeller", "fresh", 100),
        ("pump look", None, 200),
        ("gear oil", None, 100),
        ("engine oil", None, 100),
        ("fuel filter", None, 200),
    ],
)
def test_a_printed_pair_keeps_the_use_it_was_written_for(
    base: Table, task: str, water: str | None, hours_a_year: int
) -> None:
    limits = base[task]["limits"]
    pair = limits if water is None else limits[water]
    assert pair["hours"] * 12 == hours_a_year * pair["months"]
