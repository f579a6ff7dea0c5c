"""From when hours count, on the first day and before it: worked by hand, to the hundredth."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

import pytest

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.records import Due
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from tests.built import fleet_of, rows_of
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
    assert not row(METERED).unknown_before
    assert not row(METERED + "Plover impeller done on 2031-06-05").unknown_before


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


@pytest.mark.parametrize("water", ["fresh", "brackish", "salt"])
def test_what_is_left_of_the_jobs_day_keeps_its_likely_hours_in_their_water(water: str) -> None:
    lines = """
        Plover runs 10 on 2031-06-02
        Plover runs 1 on 2031-06-03
        Plover impeller done at 101 on 2031-06-03
        Plover reads 105 on 2031-06-03"""
    (found,) = rows_of(
        tables(METERED.replace("lies in fresh", f"lies in {water}") + lines),
        {"small-petrol": toml("small-petrol", "", [TASK])}, USES, date(2031, 6, 4),
    )  # fmt: skip
    # eleven hours run and five read: the 3rd has 5/11 h and lost 6/11; four hours came after it
    assert (found.hours_since, found.likely_hours) == (400, F(600, 11))
    assert found.life_used == F(4, LIMITS[water])


LIMITS = {"fresh": 100, "brackish": 75, "salt": 50}
TASK: dict[str, object] = {
    "name": "impeller", "component": "gearcase", "source": "invented",
    "limits": {water: {"hours": hours} for water, hours in LIMITS.items()},
}  # fmt: skip


def test_a_job_at_the_old_meters_last_figure_belongs_to_the_old_meter() -> None:
    lines = """
        Plover meter 110 then 3 on 2031-06-05
        Plover impeller done at {} on 2031-06-05
        Plover reads 8 on 2031-06-09"""
    assert row(METERED + lines.format(110)).hours_since == 500
    assert row(METERED + lines.format(109)).hours_since == 600
    assert row(METERED + lines.format(4)).hours_since == 400
    assert row(METERED + lines.format(100)).hours_since == 1500


TWO = METERED + "engine Teal on Otter since 2031-06-01, reading 500\n"


def clock(lines: str, engine: str, undone: dict[str, frozenset[int]] | None = None) -> Clock:
    fleet, entries = fleet_of(tables(TWO + lines))
    as_of = date(2031, 6, 20)
    carriage = Carriage(fleet, history(entries, as_of), as_of.toordinal(), undone)
    return clock_of(carriage, carriage.under(engine, "gearcase"), ("impeller", "pump"))


def done_on(found: Clock) -> str | None:
    return None if found.job is None else date.fromordinal(found.job.day).isoformat()


def test_a_job_on_the_first_day_belongs_to_the_gearcase_that_came_that_day() -> None:
    lines = "Plover swaps gearcase with Teal on 2031-06-01\nPlover impeller done on 2031-06-01"
    assert done_on(clock(lines, "Plover")) == "2031-06-01"
    assert done_on(clock(lines, "Teal")) is None


def test_a_job_that_does_not_count_as_done_leaves_the_one_before_it() -> None:
    lines = """
        Plover impeller done on 2031-06-02
        Plover impeller done on 2031-06-04
        Plover impeller done on 2031-06-06
        Plover impeller done on 2031-06-08"""
    assert done_on(clock(lines, "Plover", {"Plover": frozenset({4})})) == "2031-06-06"
    assert done_on(clock(lines, "Plover", {"Plover": frozenset({3, 4})})) == "2031-06-04"
    assert done_on(clock(lines, "Plover", {"Plover": frozenset({1, 2, 3})})) == "2031-06-08"
    assert done_on(clock(lines, "Plover", {"Teal": frozenset({1, 2, 3, 4})})) == "2031-06-08"
    assert done_on(clock(lines, "Plover", {"Plover": frozenset({1, 2, 3, 4})})) is None


def test_of_two_tasks_that_start_a_clock_the_later_and_of_one_day_the_higher_reading() -> None:
    lines = "Plover impeller done at 103 on 2031-06-04\nPlover pump done at 102 on 2031-06-04\n"
    found = clock(lines, "Plover").job
    assert found is not None and found.reading == 10_300
    other = clock(lines.replace("at 102", "at 104"), "Plover").job
    assert other is not None and other.reading == 10_400
    later = lines.replace("at 102 on 2031-06-04", "at 105 on 2031-06-05")
    assert done_on(clock(later, "Plover")) == "2031-06-05"
    earlier = lines.replace("at 102 on 2031-06-04", "at 101 on 2031-06-03")
    assert done_on(clock(earlier, "Plover")) == "2031-06-04"


def test_of_two_jobs_of_one_day_at_one_reading_the_one_logged_last_counts() -> None:
    line = "Plover impeller done at 103 on 2031-06-04\n"
    found = clock(line + line, "Plover").job
    assert found is not None and found.number == 2
    without = clock(line.replace(" at 103", "") * 2, "Plover").job
    assert without is not None and without.number == 2
