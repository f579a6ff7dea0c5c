"""Hours where meters come and go, and what fuel may have hidden: worked by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

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
    assert [hours(found, f"2031-05-{on}") for on in (11, 12)] == [112, 115]
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
        Plover burns 10 l on 2031-05-02
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
