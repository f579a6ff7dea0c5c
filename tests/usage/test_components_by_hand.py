"""Components along the engines that carried them, and the waters they bring: worked by hand."""

from __future__ import annotations

from datetime import date

from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from tests.built import fleet_of
from tests.oracle.cases import tables


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


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
