"""The harder rules, each on a case small enough to be worked by hand: every value here was."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F
from typing import Any

import pytest

from tests.oracle.by_hand import GRADED, a_set, clock, closes, row, rules, waters
from tests.oracle.cases import tables
from tests.oracle.oracle import due_rows
from tests.oracle.strategies import USES

OTTER = "boat Otter, hire, lies in fresh from 2031-01-01\n"
BOTH = OTTER + "boat Dipper lies in salt from 2031-01-01\n"
ON_OTTER = OTTER + "engine Plover on Otter since 2031-06-01, "
TWENTY = rules(limits={"hours": 20})


def some(row: dict[str, Any], *keys: str) -> list[Any]:
    return [row[key] for key in keys]


# --- components -----------------------------------------------------------------------------

SWAPPED = (
    BOTH
    + """
    engine Plover on Otter since 2031-05-01, no meter
    engine Teal on Dipper since 2031-05-01, no meter
    Plover impeller done on 2031-05-10
    Plover runs 4 on 2031-05-12
    Plover swaps gearcase with Teal on 2031-05-20
    Plover runs 5 on 2031-05-20
    Teal runs 3 on 2031-05-20
"""
)


def test_a_swapped_gearcase_brings_its_clock() -> None:
    sets = rules(limits=GRADED)
    _, counted = clock(SWAPPED, sets, "2031-05-30", engine="Teal")
    # the swap is made at the start of its day: 3 h and ten days in salt, ten days in fresh before
    assert counted.hours == waters("4", salt="3")
    assert counted.days == {"fresh": 10, "brackish": 0, "salt": 10}
    assert counted.by_hours == F(4, 100) + F(3, 50)
    assert counted.by_calendar == F(10, 366) + F(10, 184)  # to 2032-05-10 and 2031-11-10
    teal = row(SWAPPED, sets, "2031-05-30", engine="Teal")
    assert some(teal, "last_done_on", "water") == ["2031-05-10", "salt"]


def test_the_gearcase_that_came_in_has_its_own_past() -> None:
    plover = row(SWAPPED, rules(limits=GRADED), "2031-05-30")
    assert some(plover, "status", "life_used", "last_done_on") == ["no record", None, None]
    assert some(plover, "hours_since", "days_since", "hours_left") == [5.0, 29, None]
    # 19 days in salt to 2031-11-01, 10 in fresh to 2032-05-01
    assert plover["life_floor"] == round(19 / 184 + 10 / 366, 6)


KEPT = (
    BOTH
    + """
    engine Plover on Dipper since 2031-05-01, no meter
    engine Teal on Otter since 2031-05-01, no meter
    Plover impeller done on 2031-05-02
    Teal into store on 2031-05-05
    Plover swaps gearcase with Teal on 2031-05-10
    Teal runs 1 on 2031-05-12
    Teal onto Otter on 2031-05-20
    Teal runs 2 on 2031-05-20
"""
)


def test_a_component_put_into_an_engine_in_store_keeps_its_salt_until_the_mount() -> None:
    sets = rules(limits=GRADED)
    assert row(KEPT, sets, "2031-05-19", engine="Teal")["water"] == "salt"
    assert row(KEPT, sets, "2031-05-20", engine="Teal")["water"] == "fresh"
    _, counted = clock(KEPT, sets, "2031-05-25", engine="Teal")
    assert counted.hours == waters("2", salt="1")
    assert counted.days == {"fresh": 5, "brackish": 0, "salt": 18}  # 2 to 19 May, 20 to 24 May


def test_the_other_components_of_an_engine_in_store_keep_its_own_water() -> None:
    sets = a_set({"name": "plugs", "component": "powerhead", "limits": GRADED})
    _, counted = clock(KEPT, sets, "2031-05-25", engine="Teal", task="plugs")
    assert counted.hours == waters("3")
    assert counted.days == {"fresh": 24, "brackish": 0, "salt": 0}


def test_a_component_there_and_back_counts_what_it_ran_elsewhere() -> None:
    text = SWAPPED + "Plover swaps gearcase with Teal on 2031-05-25\nPlover runs 1 on 2031-05-25"
    _, counted = clock(text, rules(limits=GRADED), "2031-05-30")
    assert counted.hours == waters("5", salt="3")
    assert counted.days == {"fresh": 15, "brackish": 0, "salt": 5}


# --- before the first day -------------------------------------------------------------------

EARLIER = (
    OTTER
    + """
    engine Plover on Otter since 2031-05-01, reading 250
    Plover impeller done at 220 on 2030-11-01
    Otter moves to salt on 2031-05-11
    Plover reads 260 on 2031-05-21
"""
)


def test_a_job_from_before_the_first_day_counts_in_the_water_of_that_day() -> None:
    _, counted = clock(EARLIER, rules(limits=GRADED), "2031-05-21")
    # 30 h to the first day; then 10 h over twenty days, nine of them in fresh
    assert counted.hours == waters("34.5", salt="5.5")
    assert counted.days == {"fresh": 191, "brackish": 0, "salt": 10}


def test_its_months_run_from_its_own_day() -> None:
    late = row(EARLIER, rules(limits={"months": 3}), "2031-05-21")
    assert some(late, "due_on", "overdue_since") == ["2031-02-01", "2031-02-02"]


def test_its_hours_are_known_from_the_first_day_on() -> None:
    late = row(EARLIER, TWENTY, "2031-05-21")
    # 30 h spread over the 181 days to the first day: the twentieth falls in the 121st
    assert some(late, "due_on", "overdue_since") == ["2031-03-02", "2031-05-01"]
    assert some(late, "last_done_on", "last_done_hours") == ["2030-11-01", 220.0]


def test_without_a_reading_its_hours_count_from_the_first_day() -> None:
    text = EARLIER.replace(" at 220", "")
    _, counted = clock(text, rules(limits=GRADED), "2031-05-21")
    assert counted.hours == waters("4.5", salt="5.5")
    assert counted.days == {"fresh": 191, "brackish": 0, "salt": 10}


# --- meters ---------------------------------------------------------------------------------


def test_after_a_meter_stops_the_runs_count_in_full() -> None:
    text = (
        ON_OTTER
        + """reading 10
        Plover runs 3 on 2031-06-04
        Plover runs 2 on 2031-06-05
        Plover meter stops at 16 on 2031-06-05
        Plover runs 1.5 on 2031-06-08
        Plover impeller done on 2031-06-05"""
    )
    assert closes(text) == {"2031-06-01": 10, "2031-06-05": 18}
    # 6 h on the meter, 3 of them spread over four days; then 2 h that day, and 1.5
    _, counted = clock(text, TWENTY, "2031-06-10")
    assert counted.hours == waters("4.25")
    _, before = clock(text.replace("impeller done", "plugs done"), TWENTY, "2031-06-10")
    assert before.hours == waters("9.5")


def test_a_fitted_meter_starts_at_the_close_of_the_day_before() -> None:
    text = (
        ON_OTTER
        + """no meter
        Plover runs 2 on 2031-06-02
        Plover meter fitted at 50 on 2031-06-04
        Plover runs 1 on 2031-06-04
        Plover reads 56 on 2031-06-06"""
    )
    assert closes(text) == {"2031-06-03": 2, "2031-06-06": 8}
    _, counted = clock(text, TWENTY, "2031-06-10")
    assert counted.hours == waters("8")


def test_figures_on_the_day_of_a_new_meter_find_their_own_meter() -> None:
    text = (
        ON_OTTER
        + """reading 300
        Plover reads 308 on 2031-06-03
        Plover meter 310 then 2 on 2031-06-03
        Plover impeller done at 4 on 2031-06-03
        Plover reads 7 on 2031-06-05"""
    )
    assert list(closes(text).values()) == [300, 312, 315]
    due = row(text, TWENTY, "2031-06-05")
    assert some(due, "hours_since", "last_done_hours") == [3.0, 4.0]


def test_hours_after_a_reading_keep_the_mix_of_the_day() -> None:
    text = (
        OTTER
        + """
        engine Plover on Otter since 2031-06-04, reading 100
        Plover runs 4 in salt on 2031-06-05
        Plover impeller done at 102 on 2031-06-05
        Plover reads 106 on 2031-06-05"""
    )
    # the day: 4 h in salt, 2 h in fresh; four of the six came after the job
    _, counted = clock(text, TWENTY, "2031-06-06")
    assert counted.hours == {"fresh": F(4, 3), "brackish": 0, "salt": F(8, 3)}


def test_hours_are_spread_around_a_lay_up() -> None:
    text = (
        ON_OTTER
        + """reading 0
        Plover laid up on 2031-06-04
        Plover launched on 2031-06-09
        Otter moves to salt on 2031-06-04
        Plover reads 10 on 2031-06-11"""
    )
    _, counted = clock(text, TWENTY, "2031-06-12")
    # days 2 and 3 in fresh; 9, 10 and 11 in salt
    assert counted.hours == waters("4", salt="6")


# --- other triggers -------------------------------------------------------------------------


def test_a_job_for_each_run_is_due_at_once_and_overdue_after_its_misses() -> None:
    sets = rules(each_run=["salt"], misses=1)
    text = (
        ON_OTTER
        + """no meter
        Plover runs 1 in salt on 2031-06-02
        Plover runs 1 on 2031-06-03
        Plover runs 1 in salt on 2031-06-04"""
    )
    due, late = row(text, sets, "2031-06-03"), row(text, sets, "2031-06-04")
    assert some(due, "status", "due_on", "life_used") == ["due", "2031-06-02", None]
    assert some(late, "status", "overdue_since") == ["overdue", "2031-06-04"]
    answered = row(text + "\nPlover impeller done on 2031-06-04", sets, "2031-06-04")
    assert some(answered, "status", "due_on") == ["clear", None]


def test_hours_that_a_reading_alone_shows_open_it_once() -> None:
    text = ON_OTTER + "reading 0\nPlover reads 4 on 2031-06-05"
    assert row(text, rules(each_run=["salt"]), "2031-06-06")["status"] == "clear"
    due = row(text, rules(each_run=["fresh"], misses=1), "2031-06-06")
    assert some(due, "status", "due_on") == ["due", "2031-06-05"]


def test_a_job_after_an_incident_is_due_that_day_and_overdue_the_next() -> None:
    sets = rules(after=["overheated"])
    text = ON_OTTER + "reading 0\nPlover overheated on 2031-06-05"
    assert some(row(text, sets, "2031-06-05"), "status", "due_on") == ["due", "2031-06-05"]
    late = row(text, sets, "2031-06-07")
    assert some(late, "status", "overdue_since") == ["overdue", "2031-06-06"]
    assert row(text + "\nPlover impeller done on 2031-06-05", sets, "2031-06-07")["due_on"] is None


def test_an_idle_engine_is_due_until_it_runs_and_then_overdue() -> None:
    sets = rules(idle={"months": 1})
    text = (
        OTTER
        + """engine Plover on Otter since 2031-01-31, no meter
        Plover runs 1 on 2031-03-05"""
    )
    assert row(text, sets, "2031-02-27")["status"] == "clear"
    assert some(row(text, sets, "2031-02-28"), "status", "due_on") == ["due", "2031-02-28"]
    late = row(text, sets, "2031-03-05")
    assert some(late, "status", "due_on", "overdue_since") == [
        "overdue",
        "2031-02-28",
        "2031-03-05",
    ]
    text += "\nPlover impeller done on 2031-03-01"
    assert row(text, sets, "2031-03-05")["status"] == "clear"


def test_a_season_opens_thirty_days_before_or_with_the_engines_own_lay_up() -> None:
    sets = rules(season="lay-up")  # hire lays up on 31 October here
    text = ON_OTTER + "no meter"
    assert some(row(text, sets, "2031-09-30"), "status", "due_on") == ["clear", "2031-10-31"]
    assert some(row(text, sets, "2031-10-31"), "status", "due_on") == ["due", "2031-10-31"]
    assert row(text, sets, "2031-11-02")["overdue_since"] == "2031-11-01"
    own = text + "\nPlover laid up on 2031-08-15"
    assert some(row(own, sets, "2031-08-15"), "status", "due_on") == ["due", "2031-08-15"]
    assert row(own, sets, "2031-08-20")["overdue_since"] == "2031-08-16"
    done = own + "\nPlover impeller done on 2031-06-16"  # sixty days before
    assert some(row(done, sets, "2031-08-20"), "status", "due_on") == ["clear", "2032-10-31"]
    early = own + "\nPlover impeller done on 2031-06-15"
    assert row(early, sets, "2031-08-20")["status"] == "overdue"


# --- status and dates -----------------------------------------------------------------------


def test_likely_hours_raise_a_status_and_say_so() -> None:
    text = (
        ON_OTTER
        + """no meter, burns 2.5
        Plover impeller done on 2031-06-01
        Plover burns 18.75 l on 2031-06-10"""
    )
    # 7.5 h, and 3 more as likely; at 0.75 h a day 2.5 h are left for four days
    due = row(text, rules(limits={"hours": 10}), "2031-06-11")
    assert some(due, "status", "raised_by_likely_hours", "due_on") == ["due", True, "2031-06-15"]
    assert some(due, "life_used", "governed_by", "hours_left") == [0.75, "hours", 2.5]


def test_a_date_near_enough_is_due_within_a_quarter_of_its_span() -> None:
    text = ON_OTTER + "no meter\nPlover impeller done on 2031-06-01"
    sets = rules(limits={"days": 40})
    assert row(text, sets, "2031-06-30")["status"] == "clear"  # 11 days left
    assert some(row(text, sets, "2031-07-01"), "status", "due_on") == ["due", "2031-07-11"]
    assert row(text, sets, "2031-07-11")["status"] == "due"  # the anniversary itself
    late = row(text, sets, "2031-07-12")
    assert some(late, "status", "overdue_since") == ["overdue", "2031-07-12"]


def test_overdue_counts_from_the_reading_that_showed_it() -> None:
    text = (
        ON_OTTER
        + """reading 0
        Plover impeller done at 0 on 2031-06-01
        Plover reads 30 on 2031-06-16"""
    )
    # 2 h a day: twenty on the eleventh, but nobody knew before the sixteenth
    late = row(text, TWENTY, "2031-06-20")
    assert some(late, "due_on", "overdue_since") == ["2031-06-11", "2031-06-16"]


def test_an_unused_engine_takes_the_pace_of_its_use() -> None:
    text = ON_OTTER + "no meter\nPlover impeller done on 2031-06-01"
    # hire is 240 h a year here: 100 h are 152.08 days
    clear = row(text, rules(limits={"hours": 100}), "2031-06-01")
    assert some(clear, "status", "due_on") == ["clear", "2031-11-01"]


def test_first_service_holds_until_the_first_job() -> None:
    sets = rules(limits=GRADED, first={"hours": 20})
    text = ON_OTTER + "no meter, new\nPlover runs 10 on 2031-06-05"
    assert row(text, sets, "2031-06-05")["life_used"] == 0.5
    text += "\nPlover impeller done on 2031-06-06\nPlover runs 10 on 2031-06-07"
    assert row(text, sets, "2031-06-07")["life_used"] == 0.1


def test_a_job_of_another_rule_restarts_a_clock_one_step() -> None:
    sets = a_set(
        {"name": "impeller", "component": "gearcase", "limits": {"hours": 20}},
        {
            "name": "pump",
            "component": "gearcase",
            "limits": {"hours": 20},
            "restarts": ["impeller"],
        },
        {"name": "leg", "component": "powerhead", "limits": {"hours": 20}, "restarts": ["pump"]},
    )
    text = ON_OTTER + "no meter\nPlover pump done on 2031-06-03\nPlover leg done on 2031-06-05"
    assert row(text, sets, "2031-06-07")["last_done_on"] == "2031-06-03"
    assert row(text, sets, "2031-06-07", task="pump")["last_done_on"] == "2031-06-05"


def test_one_set_on_another_changes_a_pair_as_a_whole() -> None:
    base = rules(limits={"hours": 100, "months": 12}, leads_to=["overheating"])
    above = {"name": "impeller", "limits": {"salt": {"hours": 40}}}
    sets = base | {"hard-use": {"set": {"extends": "small-petrol"}, "task": [above]}}
    text = (
        OTTER
        + """engine Plover on Otter since 2031-06-01, no meter, rules hard-use
        Plover impeller done on 2031-06-01
        Plover runs 10 on 2031-06-02
        Plover runs 10 in brackish on 2031-06-03"""
    )
    _, counted = clock(text, sets, "2031-06-04")
    # fresh as in the base; brackish as the new salt, which has no months
    assert counted.by_hours == F(10, 100) + F(10, 40)
    assert counted.by_calendar == F(2, 366)
    assert row(text, sets, "2031-06-04")["leads_to"] == ["overheating"]


def test_a_job_put_off_keeps_its_status_and_is_counted() -> None:
    text = (
        ON_OTTER
        + """no meter
        Plover impeller put off until 2031-06-10 because no parts on 2031-06-02
        Plover impeller put off until 2031-06-20 because weather on 2031-06-05"""
    )
    keys = ("put_off_until", "put_off_times", "because", "status")
    off = row(text, TWENTY, "2031-06-19")
    assert some(off, *keys) == ["2031-06-20", 2, "weather", "no record"]
    assert some(row(text, TWENTY, "2031-06-20"), *keys) == [None, 2, None, "no record"]
    done = text + "\nPlover impeller done on 2031-06-05"
    assert row(done, TWENTY, "2031-06-19")["put_off_times"] == 0


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        ("no meter, without impeller", {"limits": {"hours": 20}}),
        ("no meter, 20 hp", {"limits": {"hours": 20}, "only": {"hp": [2, 9.9]}}),
        ("no meter, 2 stroke", {"limits": {"hours": 20}, "only": {"stroke": 4}}),
        ("no meter", {"each_run": ["fresh", "brackish", "salt"]}),
        ("no meter\nPlover retires on 2031-06-03", {"limits": {"hours": 20}}),
    ],
)
def test_what_has_no_row(words: str, keys: dict[str, Any]) -> None:
    assert due_rows(tables(ON_OTTER + words), rules(**keys), USES, date(2031, 6, 3)) == []
