"""Dates and statuses when the coming use is a distribution: worked by hand on a straight outlook.

The outlook of these cases is drawn with a ruler: from the last known day on, 1 h a day at least
(the 10 % point), 2 h a day in the middle, 4 h a day at most (the 90 % point).
"""

from __future__ import annotations

from array import array
from datetime import date, timedelta

import pytest

from fleetcare.due.readings import readings_worth_taking
from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.past import known_through
from tests.built import book_of, fleet_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES

START = date(2031, 6, 1)
DAYS = 4000
FLEET = f"""
    boat Otter, hire, lies in salt from 2031-01-01
    engine Plover on Otter since {START}, reading 0
    Plover impeller done at 0 on {START}
"""


def straight(start: int, low: float, middle: float, high: float) -> Outlook:
    hours = tuple(array("f", [0.0, rate * DAYS]) for rate in (low, middle, high))
    return Outlook(start, array("i", [start, start + DAYS]), hours)


class Ruled(Forecast):
    """A forecast that expects the same of every engine: so many hours a day."""

    def __init__(self, low: float = 1, middle: float = 2, high: float = 4) -> None:
        super().__init__({})
        self.rates = (low, middle, high)

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        return straight(known_through(carriage.uses[engine]), *self.rates)


def rows(
    after: int, lines: str, limits: object, fleet: str = FLEET, forecast: Forecast | None = None
) -> dict[str, Due]:
    task = {"name": "impeller", "component": "gearcase", "source": "invented", "limits": limits}
    texts = {"small-petrol": toml("small-petrol", "", [task])}
    as_of = START + timedelta(after)
    known, entries = fleet_of(tables(fleet + lines))
    found = due_list(
        known, history(entries, as_of), book_of(texts, USES), as_of, None, forecast or Ruled()
    )
    return {row.engine: row for row in found}


def on(days: int) -> date:
    return START + timedelta(days)


def days_of(row: Due) -> tuple[int | None, ...]:
    """Early, on and late as days after the start."""
    start = START.toordinal()
    return tuple(
        None if day is None else day - start for day in (row.due_early, row.due_on, row.due_late)
    )


def test_what_is_left_is_run_at_the_high_the_middle_and_the_low_rate() -> None:
    row = rows(100, f"Plover reads 60 on {on(100)}", {"hours": 100})["Plover"]
    assert days_of(row) == (110, 120, 140)
    assert (row.status, row.likely_hours, row.known_through) == ("due", 0, on(100).toordinal())
    assert not row.raised_by_likely_hours


def test_the_calendar_is_the_latest_of_all_three_days() -> None:
    lines = f"Plover reads 60 on {on(100)}"
    assert days_of(rows(100, lines, {"hours": 100, "days": 125})["Plover"]) == (110, 120, 125)
    assert days_of(rows(100, lines, {"hours": 100, "days": 105})["Plover"]) == (105, 105, 105)
    assert days_of(rows(100, lines, {"days": 300})["Plover"]) == (300, 300, 300)


def test_the_look_ahead_goes_by_the_early_day() -> None:
    lines = f"Plover reads 8 on {on(70)}"
    # early after 92/4 = 23 days; a quarter of the days to the middle one, 70 + 46, is 29
    assert rows(70, lines, {"hours": 100})["Plover"].status == "due"
    # early after 92/3 = 31 days
    calm = Ruled(1, 2, 3)
    assert rows(70, lines, {"hours": 100}, forecast=calm)["Plover"].status == "clear"


def test_hours_since_the_last_reading_are_foreseen_from_that_day() -> None:
    row = rows(105, f"Plover reads 20 on {on(100)}", {"hours": 100})["Plover"]
    assert days_of(row) == (120, 140, 180)
    assert (row.hours_since, row.likely_hours) == (2000, 1000)


def test_days_that_may_have_passed_stand_on_today() -> None:
    row = rows(115, f"Plover reads 60 on {on(100)}", {"hours": 100})["Plover"]
    assert days_of(row) == (115, 120, 140)
    row = rows(150, f"Plover reads 60 on {on(100)}", {"hours": 100})["Plover"]
    assert days_of(row) == (150, 150, 150)


def test_what_only_likely_hours_make_due_says_so() -> None:
    lines = f"Plover reads 60 on {on(100)}"
    row = rows(280, lines, {"hours": 420})["Plover"]
    assert (row.status, row.raised_by_likely_hours, row.likely_hours) == ("due", True, 36000)
    assert row.life_used is not None and row.life_used < 1
    # idle since the reading it would be due all the same: ten days ahead
    row = rows(120, lines, {"hours": 100})["Plover"]
    assert (row.status, row.raised_by_likely_hours, row.likely_hours) == ("due", False, 4000)
    # soon only by what may have run unseen: the early day, 100 + 75, is past
    row = rows(176, lines, {"hours": 360})["Plover"]
    assert (row.status, row.raised_by_likely_hours) == ("due", True)


def test_runs_after_the_last_reading_are_part_of_what_was_foreseen() -> None:
    # the readings tell of more than the runs do, so runs do not end the not knowing
    lines = f"""
        Plover reads 60 on {on(100)}
        Plover runs 6 on {on(105)}
    """
    row = rows(110, lines, {"hours": 100})["Plover"]
    assert row.hours_since == 6600
    assert row.likely_hours == 1400  # 20 likely since the reading, 6 of them logged
    assert days_of(row) == (110, 120, 140)


def test_where_runs_tell_all_the_hours_the_last_run_is_the_last_known_day() -> None:
    lines = (
        f"""
        Plover runs 60 on {on(50)}
        Plover reads 60 on {on(100)}
        Plover runs 6 on {on(105)}
    """.replace("runs 60", "runs 20")
        + "".join(f"\nPlover runs 20 on {on(day)}" for day in (51, 52))
    )
    row = rows(110, lines, {"hours": 100})["Plover"]
    assert row.known_through == on(105).toordinal()
    assert row.likely_hours == 1000
    assert days_of(row) == (114, 122, 139)  # 34 h left from day 105: 8.5, 17 and 34 days


def test_hours_before_a_job_without_reading_do_not_count_for_it() -> None:
    lines = f"""
        Plover reads 60 on {on(100)}
        Plover impeller done on {on(110)}
    """
    row = rows(112, lines, {"hours": 100})["Plover"]
    # from the close of day 109: what it ran before belongs to the old impeller
    assert row.likely_hours == 600
    assert days_of(row) == (134, 159, 209)


def test_a_job_done_today_ends_the_not_knowing_for_its_part() -> None:
    lines = f"""
        Plover reads 10 on {on(10)}
        Plover impeller done on {on(110)}
    """
    row = rows(110, lines, {"hours": 100})["Plover"]
    assert (row.status, row.raised_by_likely_hours, row.chance_used) == ("clear", False, 0.0)
    assert days_of(row) == (134, 159, 209)


def test_hours_before_a_swap_do_not_count_for_what_came() -> None:
    lines = f"""
        engine Teal in store since {START}, reading 0
        Plover reads 60 on {on(100)}
        Teal impeller done at 0 on {on(100)}
        Plover swaps gearcase with Teal on {on(110)}
    """
    row = rows(112, lines, {"hours": 100})["Plover"]
    assert (row.hours_since, row.likely_hours) == (0, 600)


def test_the_band_of_fuel_carries_through_to_the_early_day() -> None:
    fleet = f"""
        boat Otter, hire, lies in salt from 2031-01-01
        engine Plover on Otter since {START}, no meter, burns 1
        Plover impeller done on {START}
        Plover burns 20 l on {on(50)}
        Plover burns 20 l on {on(100)}
    """
    row = rows(100, "", {"hours": 100}, fleet)["Plover"]
    assert (row.hours_since, row.likely_hours) == (4000, 1600)
    # 60 h left: middle and late; and if all was 1.4 times as much, 100/1.4 - 40 = 31.4 h
    assert days_of(row) == (108, 130, 160)


def test_a_job_reached_has_one_day_the_day_it_was_reached() -> None:
    row = rows(150, f"Plover reads 200 on {on(100)}", {"hours": 100})["Plover"]
    assert days_of(row) == (50, 50, 50)
    assert (row.status, row.chance_used) == ("overdue", 0.0)


def test_use_that_never_comes_leaves_the_calendar_or_no_day() -> None:
    never = Ruled(0, 0, 0)
    lines = f"Plover reads 60 on {on(100)}"
    assert days_of(rows(100, lines, {"hours": 100}, forecast=never)["Plover"]) == (None,) * 3
    limits = {"hours": 100, "days": 900}
    assert days_of(rows(100, lines, limits, forecast=never)["Plover"]) == (900, 900, 900)


@pytest.mark.parametrize(
    ("after", "chance"),
    [(109, 0.0), (110, 0.1), (115, 0.3667), (120, 0.5), (130, 0.7667), (140, 0.9), (200, 0.9)],
)
def test_the_chance_that_it_is_used_up_unseen_grows_with_the_days(
    after: int, chance: float
) -> None:
    # 40 h left at day 100: the 90 % point gets there on day 110, the middle on 120, the low on 140
    row = rows(after, f"Plover reads 60 on {on(100)}", {"hours": 100})["Plover"]
    assert row.chance_used == pytest.approx(chance, abs=0.001)
    # at most 4 h a day since the reading, told where it could have used up what is left
    assert row.most_since_read == (400 * (after - 100) if chance else 0)


def test_readings_are_wanted_most_where_they_could_change_most() -> None:
    lines = f"""
        engine Teal on Otter since {START}, reading 0
        engine Snipe on Otter since {START}, reading 0
        Teal impeller done at 0 on {START}
        Snipe impeller done at 0 on {START}
        Plover reads 60 on {on(100)}
        Teal reads 80 on {on(100)}
        Snipe reads 10 on {on(100)}
    """
    found = rows(112, lines, {"hours": 100})
    worth = readings_worth_taking(list(found.values()))
    assert [(item.engine, item.tasks) for item in worth] == [
        ("Teal", ("impeller",)), ("Plover", ("impeller",)),
    ]  # fmt: skip
    assert worth[0].likely_hours == 2400
