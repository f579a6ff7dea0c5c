"""Life used and engine hours against values worked out elsewhere, as literal fractions.

The twenty rows of life used were worked three ways: with fractions by hand, with dateutil, and by
an independent loop over the days on the calendar module; all three agreed. The other values are
marked beside each.
"""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction as F
from typing import Any, NamedTuple

import pytest
from dateutil.relativedelta import relativedelta

from tests.oracle.by_hand import GRADED, clock, closes, row, rules, waters
from tests.oracle.clocks import life_by_calendar, life_by_hours
from tests.oracle.given import WATERS, add_months, limits_of


class Worked(NamedTuple):
    """One worked row: what was counted, the life by hours and by calendar, and a fleet for it."""

    start: str
    as_of: str
    hours: dict[str, F]
    days: dict[str, int]
    by_hours: F
    by_calendar: F
    lines: str = ""  # of the fleet, after its engine's; none: no log can tell it
    more: dict[str, Any] = {}  # noqa: RUF012  # a default that nothing changes
    home: str = "fresh"

    @property
    def limits(self) -> dict[str, Any]:
        limits = limits_of({"limits": GRADED, **self.more}, first_service="first" in self.more)
        if self.more.get("mixing") == "strictest":
            return dict.fromkeys(WATERS, limits["salt"])
        return limits

    @property
    def fleet(self) -> str:
        """Rows of a first service count from a new engine; the others from a job."""
        boat = f"boat Otter lies in {self.home} from 2020-01-01\n"
        if "first" in self.more:
            return f"{boat}engine Plover on Otter since {self.start}, no meter, new\n{self.lines}"
        since = date.fromisoformat(self.start) - timedelta(days=3)
        return (
            f"{boat}engine Plover on Otter since {since}, no meter\n"
            f"Plover impeller done on {self.start}\n{self.lines}"
        )


def d(fresh: int = 0, brackish: int = 0, salt: int = 0) -> dict[str, int]:
    return {"fresh": fresh, "brackish": brackish, "salt": salt}


def tenths(runs: int, last: str) -> str:
    """So many runs of 0.1 h, eleven a day, and one more."""
    first = date(2026, 3, 2)
    days = [first + timedelta(days=n // 11) for n in range(runs)]
    lines = [f"Plover runs 0.1 on {day}" for day in days] + [f"Plover runs {last} on {days[-1]}"]
    return "\n".join(lines)


TWENTY_HOURS = "Plover runs 20 on 2025-06-01"
MIX = """
    Otter moves to salt on 2026-04-16
    Plover runs 20 on 2026-04-05
    Plover runs 20 on 2026-04-06
    Plover runs 15 on 2026-04-20
    Plover runs {rest} on 2026-04-21
"""
TO_SALT = "Otter moves to salt on 2025-07-02"
THREE_WATERS = "Otter moves to brackish on 2026-03-02\nOtter moves to salt on 2026-05-01"
ONE_SALT_DAY = "Otter moves to salt on 2025-03-01\nOtter moves to fresh on 2025-03-02"
W, STRICT = waters, {"mixing": "strictest"}
FIRST_20, FIRST_20_1 = {"first": {"hours": 20}}, {"first": {"hours": 20, "months": 1}}
A, B, C, E = "2025-05-10", "2026-04-01", "2026-03-01", "2025-01-01"

# fresh 100 h / 12 months, brackish 75 h / 9 months, salt 50 h / 6 months
TWENTY = [
    Worked(A, "2026-05-09", W("20"), d(364), F(1, 5), F(364, 365), TWENTY_HOURS),
    Worked(A, "2026-05-10", W("20"), d(365), F(1, 5), F(1), TWENTY_HOURS),
    Worked("2024-02-29", "2025-02-28", W(), d(365), F(0), F(1), " "),
    Worked("2024-02-29", "2025-02-27", W(), d(364), F(0), F(364, 365), " "),
    Worked("2025-08-31", "2026-02-28", W(), d(salt=181), F(0), F(1), " ", home="salt"),
    Worked(C, "2026-06-01", W("100"), d(92), F(1), F(92, 365), tenths(999, "0.1")),
    Worked(C, "2026-06-01", W("99.99"), d(92), F(9999, 10000), F(92, 365), tenths(999, "0.09")),
    Worked(
        *(B, "2026-05-01", W("40", salt="30"), d(15, salt=15)),
        *(F(1), F(548, 4453), MIX.format(rest=15)),
    ),
    Worked(
        *(B, "2026-05-01", W("40", salt="29.99"), d(15, salt=15)),
        *(F(4999, 5000), F(548, 4453), MIX.format(rest=14.99)),
    ),
    Worked(
        *(B, "2026-05-01", W("40", salt="30"), d(15, salt=15)),
        *(F(7, 5), F(10, 61), MIX.format(rest=15), STRICT),
    ),
    Worked(E, "2025-10-01", W(), d(182, salt=91), F(0), F(66157, 66065), TO_SALT),
    Worked(E, "2025-09-30", W(), d(182, salt=90), F(0), F(65792, 66065), TO_SALT),
    Worked("2026-01-01", "2026-06-30", W(), d(60, 60, 60), F(0), F(860492, 1202383), THREE_WATERS),
    # no log: runs that name their waters would move the day's calendar there too
    Worked("2026-01-01", "2026-02-01", W("20", "30", "15"), d(31), F(9, 10), F(31, 365)),
    Worked(
        *(B, "2026-04-20", W("19.99"), d(19), F(1999, 2000), F(19, 365)),
        *("Plover runs 19.99 on 2026-04-12", FIRST_20),
    ),
    Worked(
        *(B, "2026-04-20", W("20"), d(19), F(1), F(19, 365)),
        *("Plover runs 20 on 2026-04-12", FIRST_20),
    ),
    Worked(
        *("2026-01-31", "2026-02-28", W("2"), d(28), F(1, 10), F(1)),
        *("Plover runs 2 on 2026-02-10", FIRST_20_1),
    ),
    Worked("2025-10-15", "2026-04-15", W(), d(salt=182), F(0), F(1), " ", home="salt"),
    Worked(E, "2025-07-20", W(), d(199, salt=1), F(0), F(200, 181), ONE_SALT_DAY, STRICT),
    Worked(E, "2025-07-20", W(), d(199, salt=1), F(0), F(36384, 66065), ONE_SALT_DAY),
]


@pytest.mark.parametrize("worked", TWENTY, ids=range(1, 21))
def test_life_used_of_each_worked_row(worked: Worked) -> None:
    start = date.fromisoformat(worked.start)
    assert life_by_hours(worked.hours, worked.limits) == worked.by_hours
    assert life_by_calendar(worked.days, worked.limits, start) == worked.by_calendar


@pytest.mark.parametrize("worked", [w for w in TWENTY if w.lines], ids=lambda w: w.as_of)
def test_a_log_gives_each_worked_row(worked: Worked) -> None:
    sets = rules(limits=GRADED, **worked.more)
    _, counted = clock(worked.fleet, sets, worked.as_of)
    assert counted.hours == worked.hours
    assert counted.days == worked.days
    assert (counted.by_hours, counted.by_calendar) == (worked.by_hours, worked.by_calendar)
    due = row(worked.fleet, sets, worked.as_of)
    life = max(worked.by_hours, worked.by_calendar)
    assert (due["status"] == "overdue") == (life > 1)
    assert due["status"] == "due" or life != 1
    assert (due["due_on"] <= worked.as_of) == (life >= 1)


# --- months ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "months", "end", "days"),
    [  # run with dateutil.relativedelta, and counted by hand
        ("2024-02-29", 12, "2025-02-28", 365),
        ("2024-02-29", 48, "2028-02-29", 1461),
        ("2025-08-31", 6, "2026-02-28", 181),
        ("2023-08-30", 6, "2024-02-29", 183),
        ("2026-01-31", 1, "2026-02-28", 28),
        ("2026-01-31", 2, "2026-03-31", 59),
    ],
)
def test_months_end_where_dateutil_ends_them(start: str, months: int, end: str, days: int) -> None:
    first, last = date.fromisoformat(start), date.fromisoformat(end)
    assert add_months(first, months) == first + relativedelta(months=months) == last
    assert (last - first).days == days


def test_months_agree_with_dateutil_on_every_day_of_a_leap_cycle() -> None:  # dateutil
    for n in range(4 * 365 + 1):
        day = date(2023, 1, 1) + timedelta(days=n)
        for months in (1, 3, 6, 9, 12, 24):
            assert add_months(day, months) == day + relativedelta(months=months)


# --- hours ----------------------------------------------------------------------------------

METERED = "boat Otter lies in {home} from 2031-01-01\nengine Plover on Otter since 2031-06-01, "
HOURS_ONLY = rules(limits={"hours": 100})


def test_hours_without_runs_are_spread_over_the_days() -> None:  # worked by hand: 10.01 x 9/20
    text = (
        METERED.format(home="fresh")
        + """reading 0
        Otter moves to salt on 2031-06-11
        Plover reads 10.01 on 2031-06-21"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-21")
    assert counted.hours == waters("4.5045", salt="5.5055")


def test_where_runs_exceed_the_readings_the_readings_win() -> None:  # worked by hand: k = 0.9
    text = (
        METERED.format(home="fresh")
        + """reading 0
        Plover runs 6 on 2031-06-03
        Plover runs 4 in salt on 2031-06-04
        Plover reads 9 on 2031-06-05
        Plover runs 2.5 in salt on 2031-06-06"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-07")
    assert counted.hours == waters("5.4", salt="6.1")
    assert counted.likely == waters("0.6", salt="0.4")


def test_hours_that_runs_do_not_explain_take_the_home_water() -> None:  # worked by hand
    text = (
        METERED.format(home="salt")
        + """reading 0
        Plover runs 2 in fresh on 2031-06-03
        Plover runs 1 in salt on 2031-06-04
        Plover reads 9 on 2031-06-05"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-05")
    # the engine is in salt on the third too, but the run named its own water
    assert counted.hours == waters("2", salt="7")


def test_a_job_without_a_reading_counts_its_own_day() -> None:  # worked by hand: days 6 to 11
    text = (
        METERED.format(home="fresh")
        + """reading 0
        Plover impeller done on 2031-06-06
        Plover reads 10 on 2031-06-11"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-11")
    assert counted.hours == waters("6")


def test_fuel_gives_hours_and_more_as_likely() -> None:  # worked by hand: 30 / 2.5, 40 % of it
    text = (
        METERED.format(home="fresh")
        + """no meter, burns 2.5
        Plover burns 30 l on 2031-06-06"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-11")
    assert counted.hours == waters("12")
    assert counted.likely == waters("4.8")


def test_fuel_without_a_setting_takes_the_usual_consumption() -> None:  # worked by hand
    # 0.31 l per hp and hour, half of it: 6 hp burn 0.93 l an hour
    text = (
        METERED.format(home="fresh")
        + """no meter, 6 hp
        Plover burns 9.3 l on 2031-06-06"""
    )
    _, counted = clock(text, HOURS_ONLY, "2031-06-11")
    assert counted.hours == waters("10")


def test_the_highest_figure_of_a_day_is_its_close() -> None:  # worked by hand
    # a falling meter is refused before it comes here; 10, 9 and 12 leave 10 and 12
    text = (
        METERED.format(home="fresh")
        + """reading 0
        Plover reads 10 on 2031-06-03
        Plover reads 9 on 2031-06-03
        Plover reads 12 on 2031-06-04"""
    )
    assert list(closes(text).values()) == [0, 10, 12]


def test_a_meter_that_rolls_over_loses_no_hour() -> None:  # worked by hand
    text = (
        METERED.format(home="fresh")
        + """reading 9990
        Plover meter 10000 then 0 on 2031-06-03
        Plover reads 5 on 2031-06-03"""
    )
    assert closes(text) == {"2031-06-01": 9990, "2031-06-03": 10005}


def test_a_meter_replaced_takes_no_hour_away() -> None:  # worked by hand
    text = (
        METERED.format(home="fresh")
        + """reading 300
        Plover meter 310 then 2 on 2031-06-03
        Plover reads 7 on 2031-06-05"""
    )
    assert list(closes(text).values()) == [300, 310, 315]
