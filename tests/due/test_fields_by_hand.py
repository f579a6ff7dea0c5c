"""Fields of a row at their edges: likely hours, looks not made, last days: worked by hand."""

from __future__ import annotations

from array import array
from datetime import date

import pytest

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.outlooks import Forecast
from tests.built import book_of, fleet_of, rows_of
from tests.due.by_hand import DONE, PLOVER, START, day, rules
from tests.oracle.cases import tables
from tests.oracle.strategies import USES


def row(after: int, /, lines: str = "", fleet: str = DONE, **keys: object) -> Due:
    (found,) = rows_of(tables(fleet + lines), rules(keys), USES, day(after))
    return found


# --- likely hours ------------------------------------------------------------------------------


def test_likely_hours_that_just_use_up_the_limit_make_a_job_due_and_say_so() -> None:
    # ten hours out of fuel and four tenths more: 14 of 14 h; at 0.1 h a day 4 h are 40 days
    fleet = f"""
        boat Otter lies in fresh from 2031-01-01
        engine Plover on Otter since {START}, no meter, burns 1
        Plover impeller done on {START}
        Plover burns 10 l on {day(5)}
    """
    found = row(100, fleet=fleet, limits={"hours": 14})
    assert (found.status, found.raised_by_likely_hours, found.likely_hours) == ("due", True, 400)
    found = row(100, fleet=fleet, limits={"hours": 14.01})
    assert (found.status, found.raised_by_likely_hours) == ("clear", False)


def test_a_row_without_limits_has_nothing_that_only_a_forecast_tells() -> None:
    found = row(5, f"Plover runs 1 on {day(2)}", PLOVER, after=["overheated"])
    told = (found.likely_hours, found.likely_since_read, found.most_since_read, found.chance_used)
    assert told == (0, 0, 0, 0.0)
    limited = row(5, f"Plover runs 1 on {day(2)}", limits={"hours": 10})
    told = (limited.likely_hours, limited.likely_since_read, limited.most_since_read)
    assert (*told, limited.chance_used) == (0, 0, 0, 0.0)


class Bent(Forecast):
    """Known through the first day; ten days of use, then 3990 days at other rates."""

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        start = START.toordinal()
        hours = (
            array("f", [0, 0, 0]), array("f", [0, 20, 20 + 2 * 3990]),
            array("f", [0, 400, 400 + 0.5 * 3990]),
        )  # fmt: skip
        return Outlook(start, array("i", [start, start + 10, start + 4000]), hours)


def forecast_row(after: int, lines: str, limits: object) -> Due:
    fleet, entries = fleet_of(tables(DONE + lines))
    book = book_of(rules({"limits": limits}), USES)
    past = history(entries, day(after))
    (found,) = due_list(fleet, past, book, day(after), None, Bent(book.uses))
    return found


def test_likely_hours_since_the_last_reading_raise_what_no_early_day_does() -> None:
    """The middle use since the job is 2 h a day, the greatest 0.5: a crooked outlook, but given."""
    job = f"Plover impeller done on {day(11)}"
    # from the close of day 10 to day 30 likely 40 h; the greatest, 10 h, is at 40 h on day 90
    found = forecast_row(30, job, {"hours": 40})
    assert (found.likely_hours, found.due_early) == (4000, day(90).toordinal())
    assert (found.status, found.raised_by_likely_hours) == ("due", True)
    found = forecast_row(30, job, {"hours": 40.01})
    assert (found.status, found.raised_by_likely_hours) == ("clear", False)


# --- looks not made ----------------------------------------------------------------------------

LIMITS: dict[str, object] = {"limits": {"days": 90}}
LOOK: dict[str, object] = {**LIMITS, "part": "vanes", "unseen": "vanes not looked at"}


def test_what_nobody_looked_at_is_told_of_the_rules_own_last_job_alone() -> None:
    again = f"Plover impeller done on {day(3)}"
    assert row(5, **LIMITS).unseen == ""
    assert row(5, **LOOK).unseen == row(5, again, **LOOK).unseen == "vanes not looked at"
    assert row(5, fleet=PLOVER, **LOOK).unseen == ""
    pump: dict[str, object] = {**LIMITS, "name": "pump", "restarts": ["impeller"]}
    lines = f"Plover pump done on {day(3)}"
    found = rows_of(tables(DONE + lines), rules(LOOK, pump), USES, day(5))
    assert {one.task: one.unseen for one in found} == {"impeller": "", "pump": ""}


# --- days at the edge --------------------------------------------------------------------------


def test_the_strictest_water_may_be_met_on_the_very_day() -> None:
    limits = {"fresh": {"hours": 100}, "salt": {"hours": 30}}
    for after in (10, 11):
        found = row(after, f"Otter moves to salt on {day(10)}", limits=limits, mixing="strictest")
        assert found.strictest_since == day(10).toordinal()


@pytest.mark.parametrize("unit", ["days", "hours"])
def test_the_last_day_of_the_calendar_is_a_day_like_any_other(unit: str) -> None:
    fleet = DONE.replace("2031-", "9990-")
    start, last = date(9990, 6, 1).toordinal(), date.max.toordinal()
    as_of = start + 4
    # an owner's 40 h a year are 8/73 h a day, so that 9.125 days are an hour
    limit = last - start if unit == "days" else int((last - as_of) / 9.125 * 100) / 100
    found = rows_of(tables(fleet), rules({"limits": {unit: limit}}), USES, date.fromordinal(as_of))
    assert [one.due_on for one in found] == [last]
