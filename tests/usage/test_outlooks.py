"""What an engine's outlook stands on: its own log, its like while it is new, days it is away."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import pytest

from fleetcare.fleet.booked import Bookings, Busy
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import Booked, Outlook
from fleetcare.usage.outlooks import Forecast, booked_from
from tests.built import book_of, fleet_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES

TASK = {"name": "impeller", "component": "gearcase", "source": "invented", "limits": {"hours": 9}}
BOOK = book_of({"small-petrol": toml("small-petrol", "", [TASK])}, USES)
BOATS = """
    boat Otter, hire, lies in salt from 2029-01-01
    boat Heron, hire, lies in salt from 2029-01-01
"""


def readings(engine: str, first: date, weeks: int, a_week: float) -> str:
    """A reading a week from April to October, at an even pace."""
    lines, figure, day = [], 0.0, first
    for _ in range(weeks):
        day += timedelta(7)
        if 4 <= day.month <= 10:
            figure += a_week
        lines.append(f"{engine} reads {figure:.1f} on {day}")
    return "\n".join(lines)


def outlooks(lines: str, as_of: str, booked: dict[str, Booked] | None = None) -> dict[str, Outlook]:
    fleet, entries = fleet_of(tables(BOATS + lines))
    day = date.fromisoformat(as_of)
    carriage = Carriage(fleet, history(entries, day), day.toordinal())
    forecast = Forecast(BOOK.uses, None, booked)
    return {name: forecast.of(carriage, name) for name in carriage.known}


OLD = "engine Plover on Otter since 2029-01-05, reading 0\n" + readings(
    "Plover", date(2029, 1, 5), 130, 20
)
NEW = "\nengine Teal on Heron since 2031-06-01, reading 0\nTeal reads 5 on 2031-06-20"


def use(outlook: Outlook, days: int) -> float:
    return outlook.hours_by(outlook.start + days, 0.5)


def test_a_new_engine_borrows_from_its_like_and_an_old_one_does_not() -> None:
    alone = outlooks(NEW, "2031-07-01")["Teal"]
    together = outlooks(OLD + NEW, "2031-07-01")
    assert use(together["Teal"], 60) > use(alone, 60)  # its like ran 20 h a week
    assert together["Plover"].packed() == outlooks(OLD, "2031-07-01")["Plover"].packed()


def test_an_engine_of_another_water_is_not_its_like() -> None:
    fresh = OLD.replace("on Otter", "on Otter") + "\nOtter moves to fresh on 2031-06-30"
    alone = outlooks(NEW, "2031-07-01")["Teal"]
    assert outlooks(fresh + NEW, "2031-07-01")["Teal"].packed() == alone.packed()


def test_an_engine_laid_up_runs_again_from_the_seasons_first_day() -> None:
    lines = OLD + "\nPlover laid up on 2031-07-10"
    outlook = outlooks(lines, "2031-07-20")["Plover"]
    season = date(2032, 4, 1).toordinal()
    at_lay_up = outlook.hours_by(date(2031, 7, 10).toordinal(), 0.9)
    assert outlook.hours_by(season - 1, 0.9) == pytest.approx(at_lay_up)
    assert outlook.hours_by(season + 60, 0.5) > outlook.hours_by(season - 1, 0.5) + 50


def test_one_still_laid_up_after_that_day_is_expected_any_day() -> None:
    lines = OLD + "\nPlover laid up on 2031-07-10"
    outlook = outlooks(lines, "2032-05-15")["Plover"]
    today = date(2032, 5, 15).toordinal()
    assert outlook.hours_by(today + 30, 0.5) > outlook.hours_by(today, 0.5) + 10


def test_an_engine_in_store_is_not_expected_to_run() -> None:
    outlook = outlooks(OLD + "\nPlover into store on 2031-07-10", "2031-07-20")["Plover"]
    after = date(2031, 7, 9).toordinal()
    assert outlook.hours_by(after + 3000, 0.9) == pytest.approx(outlook.hours_by(after, 0.9))


def test_booked_weeks_bring_the_hours_forward() -> None:
    today = date(2031, 7, 1).toordinal()
    every_day = Booked(frozenset(range(today + 1, today + 29)), today + 1, today + 28)
    none = Booked(frozenset(), today + 1, today + 28)
    plain = outlooks(OLD, "2031-07-01")["Plover"]
    full = outlooks(OLD, "2031-07-01", {"Otter": every_day})["Plover"]
    empty = outlooks(OLD, "2031-07-01", {"Otter": none})["Plover"]
    at = today + 28
    assert empty.hours_by(at, 0.5) < plain.hours_by(at, 0.5) < full.hours_by(at, 0.5)


def test_bookings_are_taken_as_whole_for_four_weeks_and_up_to_what_nobody_could_read() -> None:
    def taken(booked: set[int], unknown: Iterable[int] = ()) -> Booked | None:
        busy = Busy(frozenset(booked), frozenset(), frozenset(unknown))
        return booked_from(Bookings(600, 1400, {"Otter": busy}), 1000).get("Otter")

    days = {700, 990, 1005, 1100}
    assert taken(days) == Booked(frozenset(days), 700, 1028)
    assert taken(days, {1010}) == Booked(frozenset(days), 700, 1009)
    assert taken(days, {800}) == Booked(frozenset(days), 801, 1028)
    assert taken({1005}) == Booked(frozenset({1005}), 1001, 1028)
    assert taken(days, {1001}) is None
