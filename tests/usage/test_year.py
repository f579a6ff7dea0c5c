"""Hours by boat looking back: they add up, boat to boat and year to year, as the oracle's do.

The oracle (tests/oracle) writes the arithmetic of hours a second time, day by day, and shares no
code with the package.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from fractions import Fraction as F

import pytest

from fleetcare.fleet.waters import WORDS
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import NO_HOURS, Mix, plus
from fleetcare.usage.year import Stay, stays
from tests.built import fleet_of
from tests.oracle.cases import tables
from tests.oracle.given import read_fleet
from tests.oracle.known import Known
from tests.oracle.sample import Drawn, sample

FLEETS = 96
LAPWING = """
    boat Otter lies in fresh from 2030-01-01
    boat Heron lies in salt from 2030-01-01
"""


def carriage_of(rows: dict[str, list[dict[str, str]]], as_of: date) -> Carriage:
    fleet, entries = fleet_of(rows)
    return Carriage(fleet, history(entries, as_of), as_of.toordinal())


def looked(text: str, as_of: str, first: str, last: str) -> list[Stay]:
    carriage = carriage_of(tables(LAPWING + text), date.fromisoformat(as_of))
    return stays(carriage, *(date.fromisoformat(day).toordinal() for day in (first, last)))


def day(ordinal: int | None) -> str | None:
    return None if ordinal is None else date.fromordinal(ordinal).isoformat()


def by_place(found: list[Stay]) -> dict[str | None, Mix]:
    sums: dict[str | None, Mix] = defaultdict(lambda: NO_HOURS)
    for stay in found:
        sums[stay.boat] = plus(sums[stay.boat], stay.mix)
    return dict(sums)


def parts_of(drawn: Drawn) -> tuple[Carriage, int, int]:
    rows, _, as_of = drawn
    carriage = carriage_of(rows, as_of)
    first = min(engine.since for engine in carriage.known.values()).toordinal()
    return carriage, first, as_of.toordinal()


@pytest.mark.parametrize("part", range(4))
def test_all_boats_and_stores_add_up_to_the_engine_hours(part: int) -> None:
    for drawn in sample(FLEETS)[part::4]:
        carriage, first, last = parts_of(drawn)
        found = stays(carriage, first, last)
        for name, use in carriage.uses.items():
            ran = sum(sum(stay.mix[:3]) for stay in found if stay.engine == name)
            assert ran == use.hours_to(last, last) - use.hours_to(use.since - 1, last)


@pytest.mark.parametrize("part", range(4))
def test_years_add_up_to_the_whole_span(part: int) -> None:
    for drawn in sample(FLEETS)[part::4]:
        carriage, first, last = parts_of(drawn)
        whole = stays(carriage, first, last)
        years = range(date.fromordinal(first).year, date.fromordinal(last).year + 1)
        spans = [(date(year, 1, 1).toordinal(), date(year, 12, 31).toordinal()) for year in years]
        pieces = [stay for span in spans for stay in stays(carriage, *span)]
        assert by_place(pieces) == by_place(whole)
        for name in carriage.uses:
            days = [day for stay in whole if stay.engine == name for day in stay.run_days]
            assert days == [day for stay in pieces if stay.engine == name for day in stay.run_days]


@pytest.mark.parametrize("part", range(4))
def test_each_boat_has_the_hours_that_the_oracle_counts_day_by_day(part: int) -> None:
    for rows, _, as_of in sample(FLEETS)[part::4]:
        carriage = carriage_of(rows, as_of)
        known = Known(read_fleet(rows), as_of)
        first = min(engine.since for engine in carriage.known.values()) + timedelta(days=40)
        last = as_of - timedelta(days=10)
        ran: dict[tuple[str, str | None, int], F] = defaultdict(F)
        for engine in carriage.known:
            for share in known.hours(engine):
                if first <= share.day <= last:
                    water = share.water or known.home_water(engine, share.day)
                    place = known.boat_under(engine, share.day)
                    ran[engine, place, WORDS.index(water)] += share.hours
        ours: dict[tuple[str, str | None, int], F] = defaultdict(F)
        for stay in stays(carriage, first.toordinal(), last.toordinal()):
            for water in range(3):
                ours[stay.engine, stay.boat, water] += F(stay.mix[water]) / 100
        assert {key: hours for key, hours in ours.items() if hours} == {
            key: hours for key, hours in ran.items() if hours
        }


def test_an_engine_moved_counts_on_each_boat_its_own_days() -> None:
    found = looked(
        """
        engine Plover on Otter since 2031-05-01, reading 100
        Plover runs 3 on 2031-05-02
        Plover into store on 2031-05-03
        Plover onto Heron on 2031-05-10
        Plover runs 4 on 2031-05-10
        Plover reads 107 on 2031-05-10""",
        "2031-06-01", "2031-05-02", "2031-05-31",
    )  # fmt: skip
    told = [(stay.boat, day(stay.first), day(stay.last), stay.mix[:3]) for stay in found]
    assert told == [
        ("Otter", "2031-05-02", "2031-05-02", (300, 0, 0)),
        (None, "2031-05-03", "2031-05-09", (0, 0, 0)),
        ("Heron", "2031-05-10", "2031-05-31", (0, 0, 400)),
    ]


def test_a_reading_of_the_next_year_tells_of_this_one() -> None:
    # 60 h over the 60 days after 1 December: the 30 to the 31st are this year's
    found = looked(
        """
        engine Plover on Otter since 2031-12-01, reading 100
        Plover reads 160 on 2032-01-30""",
        "2032-02-01", "2031-01-01", "2031-12-31",
    )  # fmt: skip
    assert [(stay.mix[0], day(stay.figures_to)) for stay in found] == [(3000, "2031-12-31")]


def test_figures_reach_to_the_last_reading_and_the_winter_after_it() -> None:
    text = """
        engine Plover on Otter since 2031-03-01, reading 100
        Plover reads 130 on 2031-09-12"""
    ends = [day(stay.figures_to) for stay in looked(text, "2032-02-01", "2031-04-01", "2031-12-31")]
    assert ends == ["2031-09-12"]
    laid_up = text + "\n Plover laid up on 2031-09-13"
    found = looked(laid_up, "2032-02-01", "2031-04-01", "2031-12-31")
    assert [(day(stay.figures_to), stay.is_whole) for stay in found] == [("2031-12-31", True)]
    later = text + "\n Plover laid up on 2031-09-20"  # a week nobody read
    assert not looked(later, "2032-02-01", "2031-04-01", "2031-12-31")[0].is_whole


def test_an_engine_without_a_meter_is_known_by_its_runs() -> None:
    text = """
        engine Plover on Otter since 2031-03-01, no meter
        Plover runs 3 on 2031-04-02"""
    found = looked(text, "2032-02-01", "2031-04-01", "2031-12-31")
    assert [(stay.mix[0], len(stay.run_days), stay.is_whole) for stay in found] == [(300, 1, True)]


def test_an_engine_is_known_only_from_its_first_day_unless_it_was_new() -> None:
    line = "engine Plover on Otter since 2031-03-01, reading 5"
    (found,) = looked(line, "2031-12-31", "2031-01-01", "2031-12-31")
    assert day(found.known_from) == "2031-03-01"
    (new,) = looked(f"{line}, new", "2031-12-31", "2031-01-01", "2031-12-31")
    assert new.known_from is None
    (later,) = looked(line, "2031-12-31", "2031-03-02", "2031-12-31")
    assert later.known_from is None


def test_days_that_have_not_come_are_in_no_stay() -> None:
    line = "engine Plover on Otter since 2031-03-01, reading 5"
    (found,) = looked(line, "2031-05-05", "2031-01-01", "2031-12-31")
    assert day(found.last) == "2031-05-05"
    assert looked(line, "2031-05-05", "2031-06-01", "2031-12-31") == []


def test_a_retired_engine_is_gone_from_the_day_after() -> None:
    text = """
        engine Plover on Otter since 2031-03-01, reading 5
        Plover reads 9 on 2031-09-01
        Plover retires on 2031-09-01"""
    (last_year,) = looked(text, "2032-12-31", "2031-03-02", "2031-12-31")
    assert last_year.is_whole
    assert looked(text, "2032-12-31", "2032-01-01", "2032-12-31") == []
