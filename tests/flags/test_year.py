"""Looking back, on small fleets worked by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fleetcare.flags.days_held import days_held
from fleetcare.flags.year import Account, Asked, Year, year
from fleetcare.log.history import history
from fleetcare.rules.sets import RuleBook, read_set
from tests.built import fleet_of
from tests.flags.small_fleets import BOOK, entry, seen
from tests.oracle.cases import tables

RULES = """
[set]
name = "small-petrol"
[access."leg off"]
minutes = 25
source = "invented for this test"
consumes = [{ item = "screw", count = 2 }]
[[task]]
name = "impeller"
title = "Fit an impeller"
component = "gearcase"
access = ["leg off"]
minutes = 20
parts = [{ item = "impeller kit" }]
leads_to = ["overheating"]
chain = "vanes shed, it overheats"
limits = { hours = 100, months = 12 }
source = "invented for this test"
[[task]]
name = "anode"
title = "Look at the anode"
component = "gearcase"
access = ["leg off"]
minutes = 5
limits = { hours = 100, months = 12 }
source = "invented for this test"
"""
SETS = {"small-petrol": read_set("small-petrol", {"small-petrol": (RULES, "mine.toml")})}
MINE = RuleBook(SETS, BOOK.uses, BOOK.conditions, BOOK.incidents)
BOATS = """
    boat Otter lies in fresh from 2029-01-01
    boat Heron lies in salt from 2029-01-01
"""
TWO = """
    engine Plover on Otter since 2029-05-01, reading 100
    engine Teal on Heron since 2029-05-01, no meter
"""


def back(
    text: str, first: str = "2031-01-01", last: str = "2031-12-31", as_of: str = "2033-01-01",
    book: RuleBook = MINE, **more: Any,
) -> Year:  # fmt: skip
    fleet, entries = fleet_of(tables(BOATS + text))
    day = date.fromisoformat(as_of)
    asked = Asked(date.fromisoformat(first), date.fromisoformat(last), **more)
    return year(fleet, history(entries, day), book, day, asked)


def of(found: Year, boat: str | None, engine: str | None = None) -> Account:
    return next(item for item in found.accounts if (item.boat, item.engine) == (boat, engine))


def test_a_boat_with_two_engines_counts_both_and_its_day_once() -> None:
    found = back(
        """
        engine Plover on Otter since 2029-05-01, no meter
        engine Teal on Otter since 2029-05-01, no meter
        Plover runs 3 on 2031-06-01
        Teal runs 4 on 2031-06-01
        Teal runs 1 in salt on 2031-06-02"""
    )
    assert (of(found, "Otter").hours, of(found, "Otter").run_days) == (800, 2)
    assert of(found, "Otter").mix[:3] == (700, 0, 100)
    assert of(found, "Heron").hours == 0
    assert [item.boat for item in found.accounts] == ["Heron", "Otter"]  # nothing lay in store


def test_a_row_for_each_engine_on_each_boat() -> None:
    moved = TWO + "Plover into store on 2031-06-01\n Plover onto Heron on 2031-07-01\n"
    found = back(moved + "Plover runs 2 on 2031-07-02", by_engine=True)
    keys = [(item.boat, item.engine) for item in found.accounts]
    assert keys == [("Heron", "Plover"), ("Heron", "Teal"), ("Otter", "Plover"), (None, "Plover")]
    alone = back(moved + "Plover runs 2 on 2031-07-02", engine="Plover")
    assert [(item.boat, item.engine) for item in alone.accounts] == [keys[0], *keys[2:]]


def test_jobs_of_one_engine_and_day_share_their_access() -> None:
    found = back(
        TWO + """
        Plover impeller done on 2031-05-01
        Plover anode done on 2031-05-01
        Teal anode done on 2031-05-01
        Teal impeller done on 2031-05-02"""
    )  # fmt: skip
    otter, heron = of(found, "Otter"), of(found, "Heron")
    assert (otter.jobs, otter.precursor_jobs, otter.minutes) == (2, 1, 25 + 20 + 5)
    assert (heron.jobs, heron.precursor_jobs, heron.minutes) == (2, 1, 25 + 5 + 25 + 20)
    assert otter.parts == {"impeller kit": 1, "screw": 2}
    assert found.total.parts == {"impeller kit": 2, "screw": 6}
    assert (found.total.jobs, found.total.minutes) == (4, 125)


def test_a_job_of_no_rule_is_counted_and_said_to_have_no_minutes() -> None:
    found = back(TWO + "Plover polish done on 2031-05-01")
    assert (found.total.jobs, found.total.minutes, found.total.without_rule) == (1, 0, 1)


def test_only_the_days_asked_for_count() -> None:
    text = TWO + "".join(
        f"\n Plover impeller done on {day}\n Plover overheated on {day}"
        for day in ("2030-12-31", "2031-01-01", "2031-12-31", "2032-01-01")
    )
    assert (of(back(text), "Otter").jobs, of(back(text), "Otter").incidents) == (2, 2)
    season = back(text, "2030-12-31", "2031-01-01")
    assert (of(season, "Otter").jobs, of(season, "Otter").incidents) == (2, 2)


def test_jobs_from_before_the_engine_was_known_belong_to_no_boat() -> None:
    found = back(TWO + "Plover impeller done at 90 on 2029-02-01", "2029-01-01", "2029-12-31")
    assert (found.total.jobs, found.earlier_jobs) == (0, 1)
    assert found.known_from == {
        name: date(2029, 5, 1).toordinal() for name in ("Plover", "Teal")
    }  # fmt: skip


def test_findings_that_are_fine_are_not_counted() -> None:
    looks = "".join(
        f"\n Plover gear oil found {word} on 2031-06-0{at}"
        for at, word in enumerate(("clean", "milky", "not looked at", "dark"), 1)
    )
    assert BOOK.conditions["gear oil"]["clean"].weight == "fine"
    assert of(back(TWO + looks), "Otter").findings == 3


def test_the_year_before_stands_beside_only_where_both_are_wholly_known() -> None:
    text = (
        TWO
        + """
        Plover reads 100 on 2029-12-31
        Plover reads 200 on 2030-12-31
        Plover reads 312 on 2031-12-31
        Teal runs 10 on 2030-06-01
        Teal runs 9 on 2031-06-01"""
    )
    found = back(text)
    assert (of(found, "Otter").hours, of(found, "Otter").before) == (11200, 10000)
    assert (of(found, "Heron").hours, of(found, "Heron").before) == (900, 1000)
    assert found.total.before == 11000
    # the year that is not over, and the one whose year before began without them
    assert of(back(text, "2032-01-01", "2032-12-31", "2032-06-01"), "Otter").before is None
    assert of(back(text, "2030-01-01", "2030-12-31"), "Otter").before is None


def test_hours_after_the_last_reading_keep_a_year_from_being_compared() -> None:
    text = (
        TWO
        + """
        Plover reads 100 on 2029-12-31
        Plover reads 200 on 2030-12-31
        Plover reads 300 on 2031-09-12"""
    )
    found = back(text)
    assert of(found, "Otter").before is None
    assert of(found, "Otter").figures_to == date(2031, 9, 12).toordinal()
    assert found.figures_to == {"Plover": date(2031, 9, 12).toordinal()}
    assert of(found, "Heron").before == 0  # wholly known: it did not run
    assert found.total.before is None


def test_the_year_before_of_a_leap_february_is_a_whole_february() -> None:
    asked = Asked(date(2032, 2, 1), date(2032, 2, 29)).year_before()
    assert (asked.first, asked.last) == (date(2031, 2, 1), date(2031, 2, 28))
    back_again = Asked(date(2033, 2, 1), date(2033, 2, 28)).year_before()
    assert back_again.last == date(2032, 2, 29)


def held(
    first: str, last: str, as_of: str, *log: dict[str, str], engine: str = "Plover"
) -> list[str]:
    now = seen(as_of, *log)
    begin, end = (date.fromisoformat(day).toordinal() for day in (first, last))
    days = days_held(now.fleet, now.history, now.book, engine, begin, end)
    return [date.fromordinal(day).isoformat() for day in days]


def hot_and_mended(mended: str) -> list[dict[str, str]]:
    jobs = [
        entry(mended, "job", "Plover", task=task)
        for task in BOOK.incidents["overheated"].holds_until
    ]
    return [entry("2031-07-10", "incident", "Plover", condition="overheated"), *jobs]


def test_days_held_are_those_that_closed_with_the_hold() -> None:
    log = hot_and_mended("2031-07-13")
    whole = held("2031-07-01", "2031-07-31", "2031-08-01", *log)
    assert whole == ["2031-07-10", "2031-07-11", "2031-07-12"]
    assert held("2031-07-11", "2031-07-11", "2031-08-01", *log) == ["2031-07-11"]
    assert held("2031-07-13", "2031-07-31", "2031-08-01", *log) == []
    assert held("2031-07-01", "2031-07-31", "2031-08-01", *log, engine="Knot") == []


def test_a_hold_lifted_the_same_day_holds_no_day() -> None:
    assert held("2031-07-01", "2031-07-31", "2031-08-01", *hot_and_mended("2031-07-10")) == []


def test_a_hold_that_stands_lasts_to_the_end() -> None:
    days = held("2031-07-01", "2031-07-14", "2031-07-14", hot_and_mended("2031-07-10")[0])
    assert len(days) == 5


@pytest.mark.parametrize("day", range(1, 32))
def test_a_day_is_held_when_that_days_own_list_says_so(day: int) -> None:
    as_of = f"2031-07-{day:02}"
    log = [
        *hot_and_mended("2031-07-13"),
        entry("2031-07-20", "finding", "Plover", part="tell-tale", condition="weak"),
        entry("2031-07-25", "finding", "Plover", part="gear oil", condition="clean"),
        entry("2031-07-29", "retire", "Plover"),
    ]
    now = seen(as_of, *[item for item in log if item["on"] <= as_of])
    stands = any(item.holds for item in now.stands.get("Plover", ()))
    assert (as_of in held("2031-07-01", "2031-07-31", "2031-08-01", *log)) == stands


def test_a_boat_laid_up_is_not_kept_from_going_out() -> None:
    text = (
        TWO
        + """
        Teal laid up on 2031-11-05
        Teal overheated on 2031-11-01"""
    )
    # held from the first to the fourth; from the fifth nobody wants it
    assert of(back(text, book=BOOK), "Heron").held_days == 4
    assert (
        of(back(text.replace("Teal laid up", "Teal into store"), book=BOOK), "Heron").held_days == 4
    )


def test_a_boat_is_held_once_on_a_day_however_many_of_its_engines_are() -> None:
    text = """
        engine Plover on Otter since 2029-05-01, no meter
        engine Teal on Otter since 2029-05-01, no meter
        Plover overheated on 2031-12-30
        Teal overheated on 2031-12-29"""
    found = back(text, book=BOOK)
    assert (of(found, "Otter").held_days, found.total.held_days) == (3, 3)
