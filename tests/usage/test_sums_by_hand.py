"""Hours and their waters, and what fuel or readings may have hidden: worked by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

import pytest

from tests.usage.by_hand import METERED, WITHOUT, day, hours, mix, use


def test_fuel_burned_without_a_meter_may_hide_four_tenths_more() -> None:
    lines = """
        Plover burns 7 l on 2031-05-02
        Plover burns 3 l on 2031-05-09
        Plover meter fitted at 0 on 2031-05-10
        Plover burns 5 l in salt on 2031-05-12
        Plover reads 5 on 2031-05-20
        Plover burns 2 l on 2031-05-25"""
    found = use(WITHOUT + lines)
    assert mix(found, "2031-05-09") == (10, 0, 0, 4, 0, 0)
    # on the meter the five hours are sure, and after its last reading they are not
    assert mix(found, "2031-05-20") == (10, 0, 5, 4, 0, 0)
    assert mix(found, "2031-05-25") == (12, 0, 5, F("4.8"), 0, 0)
    assert mix(found, "2031-05-15", "2031-05-15") == (10, 0, 5, 4, 0, 2)


def test_what_ran_on_the_first_day_is_in_the_first_reading() -> None:
    lines = """
        Plover runs 3 in salt on 2031-05-01
        Plover runs 1 on 2031-05-02
        Plover reads 101 on 2031-05-03"""
    found = use(METERED + lines)
    assert mix(found, "2031-05-01") == (0,) * 6
    assert mix(found, "2031-05-03") == (1, 0, 0, 0, 0, 0)
    stopped = """
        Plover burns 2 l on 2031-05-01
        Plover meter stops at 100 on 2031-05-01
        Plover burns 5 l on 2031-05-02"""
    found = use(METERED + stopped)
    assert mix(found, "2031-05-01") == (0,) * 6
    assert mix(found, "2031-05-02") == (5, 0, 0, 2, 0, 0)


def test_fuel_burned_on_the_day_a_meter_stops_may_hide_more_and_the_day_before_may_not() -> None:
    lines = """
        Plover burns 1 l on 2031-05-10
        Plover burns 5 l on 2031-05-11
        Plover meter stops at 110 on 2031-05-11"""
    assert mix(use(METERED + lines), "2031-05-11") == (15, 0, 0, 2, 0, 0)


def test_runs_that_exceed_the_readings_are_scaled_to_the_day_before_the_meter_stops() -> None:
    lines = """
        Plover runs 6 in salt on 2031-05-09
        Plover runs 6 in salt on 2031-05-10
        Plover runs 2 in brackish on 2031-05-11
        Plover meter stops at 106 on 2031-05-11
        Plover runs 3 on 2031-05-12"""
    found = use(METERED + lines)
    assert found.scaled == {0: F(1, 2)}
    assert [hours(found, f"2031-05-{on:02}") for on in (9, 10, 11)] == [103, 106, 108]
    assert mix(found, "2031-05-11") == (0, 2, 6, 0, 0, 6)
    assert mix(found, "2031-05-12") == (3, 2, 6, 0, 0, 6)


@pytest.mark.parametrize("water", [0, 1, 2])
def test_hours_in_one_water_alone_count_from_the_first_reading(water: int) -> None:
    word = ("fresh", "brackish", "salt")[water]
    found = use((METERED + "Plover reads 110 on 2031-05-11").replace("in fresh", f"in {word}"))
    ten = tuple(10 if at == water else 0 for at in range(6))
    assert mix(found, "2031-05-01") == (0,) * 6
    assert mix(found, "2031-05-11") == ten


def test_a_day_is_told_by_what_was_known_on_the_day_asked_for_whatever_was_asked_before() -> None:
    found = use(METERED + "Plover reads 110 on 2031-05-11")
    # ten hours in ten days are five in five, once the reading is known
    assert mix(found, "2031-05-06", "2031-05-11")[0] == 5
    assert mix(found, "2031-05-06", "2031-05-10")[0] == 0
    assert mix(found, "2031-05-06", "2031-05-06")[0] == 0
    assert mix(found, "2031-05-06", "2031-05-12")[0] == 5


EXPLAINED = """
    Plover runs 4 on 2031-05-02
    Plover reads 110 on 2031-05-05
    Plover runs 5 on 2031-05-08
    Plover reads 115 on 2031-05-10
    Plover runs 9 on 2031-05-12"""


def test_runs_explain_what_the_last_readings_tell_or_a_share_of_it() -> None:
    found = use(METERED + EXPLAINED)
    assert found.runs_explain(1, F(1))
    # nine of the fifteen hours of both
    assert found.runs_explain(2, F(3, 5)) and not found.runs_explain(2, F(61, 100))
    assert not found.runs_explain(2, F(3, 5) + F(1, 100_000))
    assert found.runs_explain(9, F(3, 5)) and not found.runs_explain(9, F(61, 100))
    assert not use(METERED).runs_explain(3, F(0))
    assert not use(METERED + "Plover reads 100 on 2031-05-05").runs_explain(3, F(0))


def test_the_last_run_and_whether_fuel_was_burned_are_told() -> None:
    found = use(METERED + EXPLAINED)
    assert (found.last_run_day(), found.burns_fuel) == (day("2031-05-12"), False)
    burned = use(METERED + "Plover burns 3 l on 2031-05-07")
    assert (burned.last_run_day(), burned.burns_fuel) == (day("2031-05-07"), True)
    assert use(METERED).last_run_day() is None


def test_days_known_to_have_run_are_those_of_runs_and_of_rising_readings() -> None:
    lines = """
        Plover runs 0 on 2031-05-02
        Plover runs 0.01 on 2031-05-03
        Plover reads 101 on 2031-05-05
        Plover reads 101 on 2031-05-06
        Plover reads 101.01 on 2031-05-07"""
    known = use(METERED + lines).days_known_to_have_run()
    assert known == [day("2031-05-03"), day("2031-05-05"), day("2031-05-07")]


def test_a_meter_fitted_is_no_run_and_one_that_stopped_higher_is() -> None:
    fitted = """
        Plover runs 4 on 2031-05-10
        Plover meter fitted at 0 on 2031-05-15
        Plover reads 1 on 2031-05-18"""
    known = use(WITHOUT + fitted).days_known_to_have_run()
    assert known == [day("2031-05-10"), day("2031-05-18")]
    stopped = use(METERED + "Plover meter stops at 103 on 2031-05-09").days_known_to_have_run()
    assert stopped == [day("2031-05-09")]


def test_run_days_in_a_water_lie_between_the_days_asked_for() -> None:
    lines = """
        Plover runs 1 in salt on 2031-05-03
        Plover runs 1 on 2031-05-04
        Plover reads 102 on 2031-05-04
        Plover runs 1 in salt on 2031-05-06
        Plover reads 110 on 2031-05-08
        Plover runs 2 on 2031-05-10"""
    found = use(METERED + lines)
    salt, fresh = frozenset({2}), frozenset({0})

    def days(waters: frozenset[int], first: str, last: str) -> list[str]:
        got = found.run_days_in(waters, day(f"2031-05-{first}"), day(f"2031-05-{last}"))
        return [date.fromordinal(one).isoformat()[-2:] for one in got]

    assert days(salt, "01", "31") == ["03", "06"]
    assert days(salt, "03", "06") == ["03", "06"]
    assert days(salt, "04", "05") == []
    # the 8th by its reading alone: seven hours that no run tells of, at home in fresh
    assert days(fresh, "01", "31") == ["04", "08", "10"]
    assert days(fresh, "05", "08") == ["08"]
    assert days(fresh, "05", "07") == []
    assert days(fresh, "09", "10") == ["10"]


def test_a_hundredth_of_an_hour_is_a_run_and_none_at_all_is_none() -> None:
    lines = "Plover runs 0.01 in salt on 2031-05-03\nPlover runs 0 in salt on 2031-05-04"
    found = use(METERED + lines).run_days_in(frozenset({2}), day("2031-05-01"), day("2031-05-31"))
    assert found == [day("2031-05-03")]


def test_what_a_reading_alone_shows_lies_in_the_waters_of_the_days_after_the_one_before() -> None:
    lines = """
        Plover reads 101 on 2031-05-05
        Otter moves to salt on 2031-05-06
        Plover reads 105 on 2031-05-08"""
    found = use(METERED + lines)
    asked = day("2031-05-06"), day("2031-05-31")
    assert found.run_days_in(frozenset({0}), *asked) == []
    assert found.run_days_in(frozenset({2}), *asked) == [day("2031-05-08")]


def test_hours_that_fell_while_it_was_laid_up_all_along_fall_on_every_day() -> None:
    lines = """
        Plover laid up on 2031-05-02
        Plover reads 104 on 2031-05-05"""
    found = use(METERED + lines)
    days = [hours(found, f"2031-05-0{on}") for on in (1, 2, 3, 4, 5)]
    assert days == [100, 101, 102, 103, 104]
    assert found.run_days_in(frozenset({0}), day("2031-05-01"), day("2031-05-09")) == [
        day("2031-05-05")
    ]


def test_hours_spread_over_waters_go_by_the_days_it_was_not_laid_up() -> None:
    lines = """
        Otter moves to salt on 2031-05-04
        Plover laid up on 2031-05-03
        Plover launched on 2031-05-05
        Plover reads 103 on 2031-05-06"""
    found = use(METERED + lines)
    # a day in fresh (the 2nd), two laid up, two in salt
    assert mix(found, "2031-05-06") == (1, 0, 2, 0, 0, 0)
    assert mix(found, "2031-05-05") == (1, 0, 1, 0, 0, 0)
    assert mix(found, "2031-05-05", "2031-05-05") == (0, 0, 0, 0, 0, 0)


def test_runs_that_exceed_the_readings_are_scaled_and_the_rest_is_likely_in_its_water() -> None:
    lines = """
        Plover runs 6 in salt on 2031-05-02
        Plover runs 2 on 2031-05-03
        Plover reads 104 on 2031-05-05
        Plover runs 1 in brackish on 2031-05-07"""
    found = use(METERED + lines)
    assert found.scaled == {0: F(1, 2)}
    assert mix(found, "2031-05-02") == (0, 0, 3, 0, 0, 3)
    assert mix(found, "2031-05-05") == (1, 0, 3, 1, 0, 3)
    assert mix(found, "2031-05-07") == (1, 1, 3, 1, 0, 3)
    # before the reading was known, the runs as they were logged
    assert mix(found, "2031-05-03", "2031-05-03") == (2, 0, 6, 0, 0, 0)


def test_a_day_is_as_strict_as_the_strictest_run_of_it() -> None:
    lines = """
        Plover runs 1 in salt on 2031-05-03
        Plover runs 1 in brackish on 2031-05-03
        Plover runs 1 in brackish on 2031-05-05
        Plover runs 1 in fresh on 2031-05-05"""
    found = use(METERED + lines)
    assert [found.water_on(day(f"2031-05-0{on}")) for on in (2, 3, 4, 5, 6)] == [0, 2, 0, 1, 0]
    assert found.days_by_water(day("2031-05-03"), day("2031-05-05")) == [1, 1, 1]
    assert found.days_by_water(day("2031-05-04"), day("2031-05-04")) == [1, 0, 0]
    assert found.days_by_water(day("2031-05-05"), day("2031-05-04")) == [0, 0, 0]
