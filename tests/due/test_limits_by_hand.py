"""Where limits in several waters were reached and passed: worked by hand, day by day."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction as F

from fleetcare.due.clock import clock_of
from fleetcare.due.life import Life
from fleetcare.due.records import Due
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from tests.built import book_of, fleet_of, rows_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES

START = date(2031, 6, 1)
FLEET = f"""
    boat Otter lies in fresh from 2031-01-01
    engine Plover on Otter since {START}, reading 0
    Plover impeller done at 0 on {START}
"""


def day(after: int) -> date:
    return START + timedelta(after)


def texts(**keys: object) -> dict[str, str]:
    task = {"name": "impeller", "component": "gearcase", "source": "invented", **keys}
    return {"small-petrol": toml("small-petrol", "", [task])}


def row(after: int, lines: str = "", fleet: str = FLEET, **keys: object) -> Due:
    (found,) = rows_of(tables(fleet + lines), texts(**keys), USES, day(after))
    return found


def after_start(found: int | None) -> int | None:
    return None if found is None else found - START.toordinal()


def test_a_last_day_in_stricter_water_counts_by_its_own_limit() -> None:
    limits = {"fresh": {"days": 10}, "salt": {"days": 1}}
    found = row(5, f"Otter moves to salt on {day(4)}", limits=limits)
    # four days of ten in fresh, and the fifth took the whole of one day in salt
    assert found.life_used == F(4, 10) + 1
    assert after_start(found.due_on) == 5
    assert (found.status, after_start(found.overdue_since)) == ("overdue", 5)


def test_limits_passed_in_brackish_stay_passed_though_salt_gives_more() -> None:
    """By the day itself it was over; a stricter water with a longer limit eases that later."""
    limits = {"fresh": {"hours": 100}, "brackish": {"hours": 4}, "salt": {"hours": 20}}
    lines = f"""
        Otter moves to brackish on {day(1)}
        Otter moves to salt on {day(2)}
        Plover runs 5 on {day(0)}
        Plover runs 16 on {day(6)}"""
    fleet = FLEET.replace(f"since {START}", f"since {day(-5)}").replace("done at 0", "done")
    found = row(7, lines, fleet, limits=limits, mixing="strictest")
    assert (found.status, found.life_used) == ("overdue", F(21, 20))
    assert after_start(found.overdue_since) == 1
    assert after_start(found.due_on) == 6


def life_of(lines: str, after: int, **keys: object) -> Life:
    fleet, entries = fleet_of(tables(FLEET + lines))
    carriage = Carriage(fleet, history(entries, day(after)), day(after).toordinal())
    rule = book_of(texts(**keys), USES).set_of("small-petrol").rules["impeller"]
    clock = clock_of(carriage, carriage.under("Plover", "gearcase"), ("impeller",))
    return Life(rule, clock)


def test_what_has_not_passed_by_the_day_has_no_first_day_of_passing() -> None:
    move = f"Otter moves to salt on {day(3)}"
    limits = {"fresh": {"days": 20}, "salt": {"days": 10}}
    life = life_of(move, 10, limits=limits, mixing="strictest")
    today = day(10).toordinal()
    assert life.at(today, today) == 1
    assert life.first_passed(today, False) is None
    assert life.first_passed(today + 1, True) == today + 1


def test_hours_and_days_each_reach_the_limit_on_their_day_and_the_earlier_counts() -> None:
    limits = {"hours": 10, "days": 20}
    runs = f"Plover runs 10 on {day(12)}\nPlover runs 1 on {day(14)}"
    found = row(30, runs, limits=limits)
    assert (after_start(found.due_on), after_start(found.overdue_since)) == (12, 14)
    assert (found.governed_by, found.life_used) == ("calendar", F(30, 20))
    late = f"Plover runs 20 on {day(25)}"
    found = row(30, late, limits=limits)
    assert (after_start(found.due_on), after_start(found.overdue_since)) == (20, 21)
    assert found.governed_by == "hours"


def test_on_a_tie_the_calendar_governs_if_the_rule_has_one() -> None:
    run = f"Plover runs 5 on {day(1)}"
    assert row(10, run, limits={"hours": 10, "days": 20}).governed_by == "calendar"
    assert row(0, "", limits={"hours": 10}).governed_by == "hours"


TAKEN_BACK = f"""
    Plover runs 3 on {day(1)}
    Plover reads 1 on {day(1)}
    Plover runs 11 on {day(2)}
    Plover reads 6 on {day(4)}
    Plover runs 5 on {day(6)}
    Plover reads 8 on {day(7)}
    Plover runs 1 on {day(9)}
    Plover runs 2 on {day(10)}
    Plover runs 6 on {day(13)}"""


def test_the_first_day_of_passing_by_what_was_known_on_it_is_found_from_any_day_on() -> None:
    """Ten hours are the limit. Runs add up to more than the readings: each takes some back.

    By the 3rd day (2 after the start) 1 + 11 h were known, over the limit; the readings of 4 and 7
    allow 6 and 8. With the runs of 9 and 10 it is 11 h by day 10, and so on.
    """
    known = [0, 1, 12, 12, 6, 6, 11, 8, 8, 9, 11, 11, 11, 17, 17, 17]
    limits = {"fresh": {"hours": 10}, "salt": {"hours": 10}}
    for after, hours in enumerate(known):
        life = life_of(TAKEN_BACK, after, limits=limits)
        today = day(after).toordinal()
        assert life.at(today, today) == F(hours, 10), after
        first = life.first_passed(today, hours > 10)
        assert after_start(first) == (2 if after >= 2 else None), after


def test_a_day_that_a_reading_of_that_very_day_takes_back_never_passed() -> None:
    limits = {"fresh": {"hours": 10}, "salt": {"hours": 10}}
    lines = f"""
        Plover runs 12 on {day(4)}
        Plover reads 9 on {day(4)}
        Plover runs 3 on {day(8)}"""
    for after, passed in ((3, None), (4, None), (7, None), (8, 8), (9, 8)):
        life = life_of(lines, after, limits=limits)
        today = day(after).toordinal()
        assert after_start(life.first_passed(today, False)) == passed, after


def test_what_passes_the_day_after_the_day_asked_for_has_not_passed() -> None:
    """Twelve days are ten hours' worth of calendar: at 12 it is full, at 13 past."""
    limits = {"fresh": {"hours": 100, "days": 12}, "salt": {"hours": 100, "days": 12}}
    lines = f"""
        Plover runs 4 on {day(1)}
        Plover reads 2 on {day(3)}"""
    for after, passed in ((11, None), (12, None), (13, 13), (14, 13)):
        life = life_of(lines, after, limits=limits)
        assert not life.clock.component.has_exact_runs()
        today = day(after).toordinal()
        assert after_start(life.first_passed(today, passed is not None)) == passed, after


def test_passed_yesterday_in_a_water_with_a_narrower_limit_stays_passed_today() -> None:
    """Four hours are the limit in brackish water, twenty in salt, and salt is met on day 2."""
    limits = {"fresh": {"hours": 100}, "brackish": {"hours": 4}, "salt": {"hours": 20}}
    lines = f"""
        Otter moves to brackish on {day(1)}
        Otter moves to salt on {day(2)}
        Plover runs 5 on {day(1)}"""
    for after, passed in ((0, None), (1, 1), (2, 1), (3, 1)):
        life = life_of(lines, after, limits=limits, mixing="strictest")
        today = day(after).toordinal()
        assert after_start(life.first_passed(today, after == 1)) == passed, after
