"""From when hours count, on the first day and before it: worked by hand, to the hundredth."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

from fleetcare.due.records import Due
from tests.built import rows_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES

OTTER = "boat Otter lies in fresh from 2031-01-01\n"
METERED = OTTER + "engine Plover on Otter since 2031-06-01, reading 100\n"
WITHOUT = OTTER + "engine Plover on Otter since 2031-06-01, no meter\n"
GRADED = {"fresh": {"hours": 100}, "salt": {"hours": 50}}


def row(text: str, as_of: str = "2031-06-10", limits: object = GRADED) -> Due:
    task = {"name": "impeller", "component": "gearcase", "source": "invented", "limits": limits}
    texts = {"small-petrol": toml("small-petrol", "", [task])}
    (found,) = rows_of(tables(text), texts, USES, date.fromisoformat(as_of))
    return found


def test_what_ran_on_the_first_day_is_before_the_fleet_knew_the_engine() -> None:
    runs = "Plover runs 4 on 2031-06-01\nPlover runs 1 on 2031-06-02\n"
    assert row(WITHOUT + runs).hours_since == 100
    assert row(WITHOUT + runs + "Plover impeller done on 2031-05-01").hours_since == 100
    assert row(WITHOUT.replace("no meter", "no meter, new") + runs).hours_since == 100


def test_a_job_at_no_hours_at_all_is_a_reading_like_any_other() -> None:
    assert row(METERED + "Plover impeller done at 0 on 2031-05-01").hours_since == 10_000


def test_a_job_at_the_first_days_reading_has_nothing_before_it() -> None:
    found = row(METERED + "Plover impeller done at 100 on 2031-05-01")
    assert (found.hours_since, found.unknown_before) == (0, False)
    found = row(METERED + "Plover impeller done on 2031-05-01")
    assert (found.hours_since, found.unknown_before) == (0, True)


def test_a_job_at_more_than_the_first_days_reading_takes_nothing_away() -> None:
    lines = "Plover impeller done at 120 on 2031-05-01\nPlover reads 103 on 2031-06-05"
    assert row(METERED + lines).hours_since == 300


def test_the_rest_of_the_first_day_is_in_the_strictest_water_it_ran_in() -> None:
    lines = "Plover runs 2 in salt on 2031-06-01\nPlover impeller done at 90 on 2031-06-01"
    found = row(METERED + lines)
    # ten hours between the job and the close of the day: in salt, since a run of that day was
    assert (found.hours_since, found.life_used) == (1000, F(10, 50))
    plain = row(METERED + "Plover impeller done at 90 on 2031-06-01")
    assert (plain.hours_since, plain.life_used) == (1000, F(10, 100))
