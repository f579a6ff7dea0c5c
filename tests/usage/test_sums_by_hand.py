"""Hours where meters come and go, and what fuel may have hidden: worked by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

import pytest

from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import EngineUse
from fleetcare.usage.places import NEVER
from tests.built import fleet_of
from tests.oracle.cases import tables

OTTER = "boat Otter lies in fresh from 2031-01-01\n"
METERED = OTTER + "engine Plover on Otter since 2031-05-01, reading 100, burns 1\n"
WITHOUT = OTTER + "engine Plover on Otter since 2031-05-01, no meter, burns 1\n"


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def use(text: str, as_of: str = "2031-06-30") -> EngineUse:
    fleet, entries = fleet_of(tables(text))
    as_of_day = date.fromisoformat(as_of)
    return Carriage(fleet, history(entries, as_of_day), as_of_day.toordinal()).uses["Plover"]


def mix(found: EngineUse, on: str, known: str = "2031-06-30") -> tuple[F, ...]:
    """Hours in fresh, brackish and salt, and then likely ones."""
    return tuple(F(value) / 100 for value in found.mix_to(day(on), day(known)))


def hours(found: EngineUse, on: str, known: str = "2031-06-30") -> F:
    return F(found.hours_to(day(on), day(known))) / 100


def test_an_engine_without_a_meter_starts_at_none_and_has_its_runs() -> None:
    found = use(WITHOUT + "Plover runs 2 on 2031-05-01\nPlover runs 3 on 2031-05-03")
    days = ("2031-04-30", "2031-05-01", "2031-05-02", "2031-05-03")
    assert [hours(found, on) for on in days] == [0, 2, 2, 5]


def test_a_meter_that_stops_on_the_first_day_leaves_that_days_runs_out() -> None:
    lines = """
        Plover meter stops at 100 on 2031-05-01
        Plover runs 2 on 2031-05-01
        Plover runs 3 on 2031-05-02"""
    found = use(METERED + lines)
    assert [hours(found, on) for on in ("2031-05-01", "2031-05-02")] == [100, 103]


def test_on_the_day_a_meter_stops_the_runs_of_that_day_alone_are_added() -> None:
    lines = """
        Plover runs 1 on 2031-05-10
        Plover runs 2 on 2031-05-11
        Plover meter stops at 110 on 2031-05-11
        Plover runs 3 on 2031-05-12"""
    found = use(METERED + lines)
    # nine of the ten hours before it stopped have no run: a tenth of them on each of ten days
    assert [hours(found, f"2031-05-{on}") for on in (10, 11, 12)] == [F("109.1"), 112, 115]
    assert found.closes.unmetered == [(day("2031-05-11"), NEVER)]
    assert found.closes.stops == {1: 11_000}


def test_a_time_without_a_meter_ends_the_day_before_one_is_fitted() -> None:
    lines = """
        Plover meter stops at 110 on 2031-05-11
        Plover runs 3 on 2031-05-12
        Plover meter fitted at 7 on 2031-05-20
        Plover reads 9 on 2031-05-25"""
    found = use(METERED + lines)
    assert found.closes.unmetered == [(day("2031-05-11"), day("2031-05-19"))]
    assert [hours(found, f"2031-05-{on}") for on in (11, 12, 19, 25)] == [110, 113, 113, 115]
    first = use(WITHOUT + "Plover runs 4 on 2031-05-01\nPlover meter fitted at 7 on 2031-05-01")
    assert hours(first, "2031-05-01") == 4


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


TWO = """
    boat Otter lies in fresh from 2031-01-01
    boat Heron lies in salt from 2031-01-01
    engine Plover on Otter since 2031-05-01, reading 0
    engine Teal on Heron since 2031-05-01, reading 0
"""


def carriage(lines: str, as_of: str = "2031-06-30") -> Carriage:
    fleet, entries = fleet_of(tables(TWO + lines))
    on = date.fromisoformat(as_of)
    return Carriage(fleet, history(entries, on), on.toordinal())


def test_a_component_is_with_its_engine_to_the_day_before_the_swap() -> None:
    swap = "Plover swaps gearcase with Teal on 2031-05-12\n"
    back = swap + "Plover swaps gearcase with Teal on 2031-05-20"
    here = carriage(swap).under("Plover", "gearcase")
    assert [here.water_on(day(f"2031-05-{on}")) for on in (10, 11, 12, 13)] == [2, 2, 0, 0]
    assert here.days_by_water(day("2031-05-11"), day("2031-05-13")) == [2, 0, 1]
    twice = carriage(back).under("Plover", "gearcase")
    assert [twice.water_on(day(f"2031-05-{on}")) for on in (11, 12, 19, 20, 31)] == [0, 2, 2, 0, 0]
    assert [(span.engine, span.first - day("2031-05-01")) for span in twice.spans] == [
        ("Plover", 0), ("Teal", 11), ("Plover", 19),
    ]  # fmt: skip


def test_days_before_it_was_known_count_in_the_water_of_the_first() -> None:
    use_of = carriage("Otter moves to salt on 2031-05-03").under("Plover", "gearcase")
    assert use_of.days_by_water(day("2031-04-21"), day("2031-05-04")) == [12, 0, 2]
    assert use_of.days_by_water(day("2031-04-21"), day("2031-04-25")) == [5, 0, 0]
    assert use_of.days_by_water(day("2031-04-21"), day("2031-04-20")) == [0, 0, 0]
    assert use_of.days_by_water(day("2031-04-21"), day("2031-04-01")) == [0, 0, 0]
    assert use_of.water_on(day("2031-04-01")) == 0


def test_run_days_are_found_within_a_span_of_one_day() -> None:
    lines = """
        Plover swaps gearcase with Teal on 2031-05-12
        Plover runs 1 on 2031-05-12
        Plover swaps gearcase with Teal on 2031-05-13"""
    found = carriage(lines).under("Teal", "gearcase")
    assert found.run_days_in(frozenset({0}), day("2031-05-01"), day("2031-05-31")) == [
        day("2031-05-12")
    ]
    assert found.mix(day("2031-05-01"), day("2031-05-31"), day("2031-06-30"))[:3] == (100, 0, 0)


def test_the_boat_an_engine_is_on_or_was_on_last() -> None:
    stored = carriage("Plover into store on 2031-05-10")
    assert (stored.boat_of("Plover"), stored.last_boat_of("Plover")) == (None, "Otter")
    lines = """
        Plover into store on 2031-05-10
        Teal into store on 2031-05-11
        Plover onto Heron on 2031-05-12
        Plover into store on 2031-05-14"""
    moved = carriage(lines)
    assert (moved.boat_of("Plover"), moved.last_boat_of("Plover")) == (None, "Heron")


def test_an_engine_in_no_swap_is_alone_and_the_two_of_one_are_not() -> None:
    swapped = carriage("Plover swaps gearcase with Teal on 2031-05-12")
    assert not swapped.is_alone("Plover") and not swapped.is_alone("Teal")
    assert carriage("").is_alone("Plover")


def test_a_component_knows_whether_any_engines_runs_were_scaled_down() -> None:
    lines = """
        Plover runs 9 on 2031-05-05
        Plover reads 4 on 2031-05-06
        Plover swaps gearcase with Teal on 2031-05-12"""
    scaled = carriage(lines)
    assert not scaled.under("Teal", "gearcase").has_exact_runs()
    assert not scaled.under("Plover", "gearcase").has_exact_runs()
    assert scaled.under("Teal", "powerhead").has_exact_runs()


def test_a_gearcase_keeps_its_salt_through_every_engine_in_store() -> None:
    text = """
        engine Knot in store since 2031-05-01, reading 0
        engine Smew in store since 2031-05-01, reading 0
        Teal swaps gearcase with Knot on 2031-05-05
        Knot swaps gearcase with Smew on 2031-05-08
        Smew swaps gearcase with Plover on 2031-05-11"""
    found = carriage(text).under("Plover", "gearcase")
    assert found.component.engine == "Teal"
    assert [span.engine for span in found.spans] == ["Teal", "Knot", "Smew", "Plover"]
    assert found.days_by_water(day("2031-05-01"), day("2031-05-12")) == [2, 0, 10]
    fresh = carriage(text.replace("Teal swaps", "Plover swaps").replace("with Plover", "with Teal"))
    other = fresh.under("Teal", "gearcase")
    assert other.component.engine == "Plover"
    # engines in store whose boat is not known are taken for salt; what comes out of fresh is not
    assert other.days_by_water(day("2031-05-01"), day("2031-05-12")) == [10, 0, 2]


def test_a_component_out_of_fresh_is_fresh_in_a_salt_engines_last_day_in_store() -> None:
    lines = """
        Teal into store on 2031-05-05
        Teal swaps gearcase with Plover on 2031-05-10
        Teal onto Heron on 2031-05-11"""
    found = carriage(lines).under("Teal", "gearcase")
    assert [found.water_on(day(f"2031-05-{on:02}")) for on in (9, 10, 11)] == [0, 0, 2]
    assert found.days_by_water(day("2031-05-01"), day("2031-05-12")) == [10, 0, 2]
    assert len(found.spans) == 3
