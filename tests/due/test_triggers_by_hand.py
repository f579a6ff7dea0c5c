"""When runs, incidents, idleness and the season open a job, and in which words: worked by hand."""

from __future__ import annotations

from datetime import date

import pytest

from fleetcare.due.records import Due
from fleetcare.due.triggers import MESSAGES, opened
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from tests.built import book_of, fleet_of, rows_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES

FLEET = """
    boat Otter, hire, lies in fresh from 2031-01-01
    boat Heron, club, lies in salt from 2031-01-01
    engine Plover on Otter since 2031-05-01, reading 0
    engine Teal on Heron since 2031-05-01, reading 0
"""


def row(lines: str, as_of: str, engine: str = "Plover", fleet: str = FLEET, **keys: object) -> Due:
    task = {"name": "flush", "component": "gearcase", "source": "invented", **keys}
    texts = {"small-petrol": toml("small-petrol", "", [task])}
    rows = rows_of(tables(fleet + lines), texts, USES, date.fromisoformat(as_of))
    return next(one for one in rows if one.engine == engine)


def told(found: Due) -> tuple[str, str | None, str | None, str]:
    """Status, the day it opened, the first overdue day, and the words."""
    days = (found.opened_on, found.overdue_since)
    opened, since = (None if day is None else date.fromordinal(day).isoformat() for day in days)
    return found.status, opened, since, found.opened


# --- runs -----------------------------------------------------------------------------------

SALT_RUNS = """
    Plover runs 1 in salt on 2031-05-02
    Plover runs 1 in fresh on 2031-05-03
    Plover runs 1 in salt on 2031-05-04
    Plover runs 1 in salt on 2031-05-04
    Plover runs 1 in brackish on 2031-05-05
"""


def test_run_days_in_salt_are_counted_by_the_day_and_overdue_past_the_misses() -> None:
    flush: dict[str, object] = {"each_run": ["salt"], "misses": 1}
    one = row(SALT_RUNS, "2031-05-03", **flush)
    assert told(one) == ("due", "2031-05-02", None, "1 run day in salt water since known")
    two = row(SALT_RUNS, "2031-05-05", **flush)
    words = "2 run days in salt water since known"
    assert told(two) == ("overdue", "2031-05-02", "2031-05-04", words)


def test_three_misses_are_let_pass_where_the_rule_says_nothing() -> None:
    runs = "".join(f"\nPlover runs 1 in salt on 2031-05-0{day}" for day in (2, 3, 4, 5))
    words = "{} run days in salt or brackish water since known"
    salty: dict[str, object] = {"each_run": ["salt", "brackish"]}
    found = told(row(runs, "2031-05-04", **salty))
    assert found[:3] == ("due", "2031-05-02", None)
    found = told(row(runs, "2031-05-05", **salty))
    assert found[:3] == ("overdue", "2031-05-02", "2031-05-05")
    assert found[3] in (words.format(4), "4 run days in brackish or salt water since known")


def test_a_job_answers_the_runs_of_its_own_day_and_the_next_are_counted_since_it() -> None:
    lines = SALT_RUNS + "Plover flush done on 2031-05-04"
    assert told(row(lines, "2031-05-05", each_run=["salt"])) == ("clear", None, None, "")
    more = lines + "\nPlover runs 1 in salt on 2031-05-07"
    found = told(row(more, "2031-05-09", each_run=["salt"]))
    assert found == ("due", "2031-05-07", None, "1 run day in salt water since done")
    twice = more + "\nPlover runs 2 in salt on 2031-05-08"
    found = told(row(twice, "2031-05-09", each_run=["salt"]))
    assert found[3] == "2 run days in salt water since done"


def test_a_job_from_before_the_first_day_answers_no_run_after_it() -> None:
    lines = "Plover flush done on 2031-04-01\nPlover runs 1 in salt on 2031-05-02"
    found = told(row(lines, "2031-05-03", each_run=["salt"]))
    assert found == ("due", "2031-05-02", None, "1 run day in salt water since done")


def test_what_only_a_reading_shows_opens_it_on_the_readings_day() -> None:
    lines = "Teal reads 5 on 2031-05-11"
    found = told(row(lines, "2031-05-12", "Teal", each_run=["salt"]))
    assert found == ("due", "2031-05-11", None, "1 run day in salt water since known")
    assert told(row(lines, "2031-05-10", "Teal", each_run=["salt"]))[0] == "clear"
    explained = lines + "\nTeal runs 5 in fresh on 2031-05-04"
    assert told(row(explained, "2031-05-12", "Teal", each_run=["brackish"]))[0] == "clear"
    # a run in fresh on a boat in salt: the day is salt's, the run is not
    assert told(row(explained, "2031-05-12", "Teal", each_run=["salt"]))[0] == "clear"


def test_a_run_of_no_hours_is_none() -> None:
    lines = "Plover runs 0 in salt on 2031-05-02"
    assert told(row(lines, "2031-05-03", each_run=["salt"]))[0] == "clear"


# --- incidents ------------------------------------------------------------------------------


def test_an_incident_opens_its_jobs_that_day_and_they_are_overdue_the_day_after() -> None:
    lines = "Plover overheated on 2031-06-03\nPlover swamped on 2031-06-01"
    hot: dict[str, object] = {"after": ["overheated", "ran dry"]}
    assert told(row(lines, "2031-06-02", **hot)) == ("clear", None, None, "")
    words = "overheated on 2031-06-03"
    assert told(row(lines, "2031-06-03", **hot)) == ("due", "2031-06-03", None, words)
    late = ("overdue", "2031-06-03", "2031-06-04", words)
    assert told(row(lines, "2031-06-04", **hot)) == late


def test_the_first_incident_that_no_job_answered_counts() -> None:
    lines = """
        Plover overheated on 2031-06-01
        Plover flush done on 2031-06-01
        Plover overheated on 2031-06-05
        Plover overheated on 2031-06-09"""
    hot: dict[str, object] = {"after": ["overheated"]}
    assert told(row(lines, "2031-06-04", **hot))[0] == "clear"
    assert told(row(lines, "2031-06-10", **hot))[:3] == ("overdue", "2031-06-05", "2031-06-06")


def test_an_incident_belongs_to_the_gearcase_that_was_there_on_its_day() -> None:
    lines = """
        Plover overheated on 2031-06-01
        Plover swaps gearcase with Teal on 2031-06-02
        Teal swamped on 2031-06-02"""
    both: dict[str, object] = {"after": ["overheated", "swamped"]}
    assert told(row(lines, "2031-06-05", "Plover", **both))[0] == "clear"
    assert told(row(lines, "2031-06-05", "Teal", **both))[1] == "2031-06-01"
    later = lines.replace("Plover overheated on 2031-06-01", "Plover overheated on 2031-06-02")
    assert told(row(later, "2031-06-05", "Plover", **both))[1] == "2031-06-02"


# --- idleness -------------------------------------------------------------------------------

IDLE: dict[str, object] = {"idle": {"months": 2}}


def test_it_opens_on_the_day_that_ends_the_idle_months_since_the_first_day() -> None:
    assert told(row("", "2031-06-30", **IDLE)) == ("clear", None, None, "")
    words = "not run for 2 months by 2031-07-01"
    assert told(row("", "2031-07-01", **IDLE)) == ("due", "2031-07-01", None, words)
    one = told(row("", "2031-07-01", idle={"months": 1}))
    assert one == ("due", "2031-06-01", None, "not run for 1 month by 2031-06-01")


def test_a_run_on_the_very_day_is_in_time_and_the_next_is_overdue() -> None:
    in_time = "Plover runs 1 on 2031-07-01"
    assert told(row(in_time, "2031-07-02", **IDLE))[0] == "clear"
    after = "Plover runs 1 on 2031-07-02"
    found = told(row(after, "2031-07-02", **IDLE))
    assert found[:3] == ("overdue", "2031-07-01", "2031-07-02")


def test_a_reading_above_the_one_before_is_a_run_and_the_same_figure_is_none() -> None:
    assert told(row("Plover reads 1 on 2031-06-15", "2031-07-05", **IDLE))[0] == "clear"
    assert told(row("Plover reads 0 on 2031-06-15", "2031-07-05", **IDLE))[0] == "due"


def test_a_job_from_the_day_it_opened_answers_it_and_one_before_does_not() -> None:
    assert told(row("Plover flush done on 2031-07-01", "2031-07-05", **IDLE))[0] == "clear"
    assert told(row("Plover flush done on 2031-06-30", "2031-07-05", **IDLE))[0] == "due"


def test_every_later_idle_time_opens_it_anew() -> None:
    lines = """
        Plover runs 1 on 2031-07-02
        Plover flush done on 2031-07-03
        Plover runs 1 on 2031-07-04"""
    assert told(row(lines, "2031-09-03", **IDLE))[0] == "clear"
    assert told(row(lines, "2031-09-04", **IDLE))[:2] == ("due", "2031-09-04")


# --- seasons --------------------------------------------------------------------------------

# hire boats: 1 April to 31 October in the north
LAUNCH: dict[str, object] = {"season": "launch"}
LAY_UP: dict[str, object] = {"season": "lay-up"}


def test_it_opens_thirty_days_before_the_seasons_date_and_is_overdue_after_it() -> None:
    before = told(row("", "2031-09-30", **LAY_UP))
    assert before == ("clear", "2031-10-31", None, "")
    words = "lay-up on 2031-10-31"
    assert told(row("", "2031-10-01", **LAY_UP)) == ("due", "2031-10-31", None, words)
    assert told(row("", "2031-10-31", **LAY_UP))[0] == "due"
    late = told(row("", "2031-11-01", **LAY_UP))
    assert late == ("overdue", "2031-10-31", "2031-11-01", words)


def test_the_launch_is_the_other_end_of_the_season() -> None:
    # known since May: the launch of that year lies before it
    assert told(row("", "2031-05-02", **LAUNCH))[:2] == ("clear", "2032-04-01")
    assert told(row("", "2032-03-02", **LAUNCH))[:2] == ("due", "2032-04-01")
    found = told(row("", "2032-04-02", **LAUNCH))
    assert found == ("overdue", "2032-04-01", "2032-04-02", "launch on 2032-04-01")


@pytest.mark.parametrize(
    ("day", "status"),
    [("2031-08-31", "due"), ("2031-09-01", "clear"), ("2031-10-31", "clear")],
)
def test_a_job_from_sixty_days_before_the_date_on_answers_it(day: str, status: str) -> None:
    lines = f"Plover flush done on {day}"
    found = told(row(lines, "2031-10-31", **LAY_UP))
    assert found[0] == status
    if status == "clear":
        assert found[1] == "2032-10-31"


def test_an_own_lay_up_stands_for_the_seasons_date_within_120_days_before_it() -> None:
    # 3 July is 120 days before 31 October
    own = told(row("Plover laid up on 2031-07-03", "2031-07-03", **LAY_UP))
    assert own == ("due", "2031-07-03", None, "lay-up on 2031-07-03")
    late = told(row("Plover laid up on 2031-07-03", "2031-07-04", **LAY_UP))
    assert late[:3] == ("overdue", "2031-07-03", "2031-07-04")
    early = told(row("Plover laid up on 2031-07-02", "2031-07-04", **LAY_UP))
    assert early[:2] == ("clear", "2031-10-31")
    on_it = told(row("Plover laid up on 2031-10-31", "2031-10-31", **LAY_UP))
    assert on_it[:2] == ("due", "2031-10-31")


def test_of_two_own_lay_ups_the_first_counts_and_a_launch_is_none() -> None:
    lines = """
        Plover laid up on 2031-08-01
        Plover launched on 2031-08-05
        Plover laid up on 2031-09-01"""
    assert told(row(lines, "2031-09-05", **LAY_UP))[1] == "2031-08-01"
    assert told(row(lines, "2031-09-05", **LAUNCH))[1] == "2032-04-01"


def test_a_date_on_the_very_first_day_counts() -> None:
    fleet = FLEET.replace("since 2031-05-01", "since 2031-10-31")
    assert told(row("", "2031-10-31", fleet=fleet, **LAY_UP))[:2] == ("due", "2031-10-31")
    later = FLEET.replace("since 2031-05-01", "since 2031-11-01")
    assert told(row("", "2031-11-01", fleet=later, **LAY_UP))[:2] == ("clear", "2032-10-31")


def test_a_season_comes_at_the_end_of_the_years_too() -> None:
    fleet = FLEET.replace("2031-", "9998-")
    assert told(row("", "9998-11-01", fleet=fleet, **LAY_UP))[:2] == ("overdue", "9998-10-31")
    last = FLEET.replace("since 2031-05-01", "since 9999-11-01")
    assert told(row("", "9999-11-02", fleet=last, **LAY_UP)) == ("clear", None, None, "")


@pytest.mark.parametrize("mark", ["launch", "lay-up"])
def test_one_that_is_still_to_come_is_named_by_the_season(mark: str) -> None:
    task = {"name": "flush", "component": "gearcase", "source": "invented", "season": mark}
    book = book_of({"small-petrol": toml("small-petrol", "", [task])}, USES)
    fleet, entries = fleet_of(tables(FLEET))
    as_of = date(2031, 5, 2)
    carriage = Carriage(fleet, history(entries, as_of), as_of.toordinal())
    (found,) = opened(
        book.set_of("small-petrol").rules["flush"], carriage, "Plover",
        carriage.under("Plover", "gearcase"), None, book.uses["hire"],
    )  # fmt: skip
    assert (found.why, found.is_due) == (f"{mark} of the season", False)


def test_every_word_for_a_season_is_there_to_be_translated() -> None:
    words = {f"{mark}{of}" for mark in ("launch", "lay-up") for of in ("", " of the season")}
    assert set(MESSAGES) == words


def test_a_boat_has_the_season_of_its_use() -> None:
    # club boats: to 15 November
    assert told(row("", "2031-11-16", "Teal", **LAY_UP))[:2] == ("overdue", "2031-11-15")


# --- which trigger speaks -------------------------------------------------------------------


def test_of_several_the_one_overdue_first_speaks_and_then_the_one_open_first() -> None:
    both: dict[str, object] = {"after": ["overheated", "swamped"], "each_run": ["salt"]}
    lines = "Plover runs 1 in salt on 2031-05-02\nPlover overheated on 2031-05-10"
    due = told(row(lines, "2031-05-10", **both))
    assert due == ("due", "2031-05-02", None, "1 run day in salt water since known")
    late = told(row(lines, "2031-05-11", **both))
    assert late == ("overdue", "2031-05-02", "2031-05-11", "overheated on 2031-05-10")


def test_of_two_overdue_the_one_overdue_first_speaks_though_the_other_opened_first() -> None:
    both: dict[str, object] = {"after": ["overheated"], "each_run": ["salt"], "misses": 1}
    lines = """
        Plover runs 1 in salt on 2031-05-02
        Plover overheated on 2031-05-10
        Plover runs 1 in salt on 2031-05-20"""
    late = told(row(lines, "2031-05-21", **both))
    assert late == ("overdue", "2031-05-02", "2031-05-11", "overheated on 2031-05-10")


def test_limits_passed_before_any_trigger_leave_it_nothing_to_say() -> None:
    both: dict[str, object] = {"after": ["overheated"], "limits": {"days": 10}}
    lines = "Plover flush done on 2031-05-01\nPlover overheated on 2031-05-20"
    found = told(row(lines, "2031-05-25", **both))
    assert (found[0], found[2], found[3]) == ("overdue", "2031-05-12", "")
    sooner = lines.replace("2031-05-20", "2031-05-11")
    assert told(row(sooner, "2031-05-25", **both))[2:] == ("2031-05-12", "overheated on 2031-05-11")
