"""Hours where meters come and go: worked by hand."""

from __future__ import annotations

from fractions import Fraction as F

from fleetcare.usage.places import NEVER
from tests.usage.by_hand import METERED, WITHOUT, day, hours, use


def test_an_engine_without_a_meter_starts_at_none_and_has_its_runs() -> None:
    found = use(WITHOUT + "Plover runs 2 on 2031-05-01\nPlover runs 3 on 2031-05-03")
    days = ("2031-04-30", "2031-05-01", "2031-05-02", "2031-05-03")
    assert [hours(found, on) for on in days] == [0, 2, 2, 5]


def test_the_highest_figure_of_the_first_day_is_its_close() -> None:
    higher = METERED + "Plover reads 101 on 2031-05-01\n"
    assert hours(use(higher), "2031-05-01") == 101
    assert hours(use(higher + "Plover meter 101 then 0 on 2031-05-09"), "2031-05-01") == 101
    assert hours(use(higher.replace("101", "99")), "2031-05-01") == 100


def test_without_a_meter_nothing_is_known_to_the_day_before_the_first() -> None:
    closes = use(WITHOUT).closes
    assert closes.days == [day("2031-04-30")]
    assert closes.unmetered == [(day("2031-04-30"), NEVER)]
    fitted = use(WITHOUT + "Plover meter fitted at 7 on 2031-05-10").closes
    assert fitted.days == [day("2031-04-30"), day("2031-05-09")]
    assert fitted.unmetered == [(day("2031-04-30"), day("2031-05-09"))]


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
