"""Where one status ends and the next begins."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction as F

import pytest

from fleetcare.due.records import Due
from fleetcare.due.working import working
from fleetcare.log.history import history
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


def texts(**keys: object) -> dict[str, str]:
    task = {"name": "impeller", "component": "gearcase", "source": "invented", **keys}
    return {"small-petrol": toml("small-petrol", "", [task])}


def row(after: int, lines: str = "", **keys: object) -> Due:
    as_of = START + timedelta(after)
    (found,) = rows_of(tables(FLEET + lines), texts(**keys), USES, as_of)
    return found


@pytest.mark.parametrize(
    ("days", "after", "status"),
    [
        (200, 169, "clear"), (200, 170, "due"),  # thirty days ahead
        (120, 89, "clear"), (120, 90, "due"),  # thirty is also the quarter
        (60, 44, "clear"), (60, 45, "due"),  # a quarter of sixty is fifteen
        (60, 60, "due"), (60, 61, "overdue"),  # the anniversary itself is not overdue
    ],
)  # fmt: skip
def test_a_calendar_job_is_due_within_its_look_ahead_and_overdue_past_its_day(
    days: int, after: int, status: str
) -> None:
    assert row(after, limits={"days": days}).status == status


def test_exactly_at_the_limit_in_hours_is_due_and_a_hundredth_more_overdue() -> None:
    at, over = "Plover reads 50 on 2031-07-01", "Plover reads 50.01 on 2031-07-01"
    assert row(30, at, limits={"hours": 50}).status == "due"
    assert row(30, over, limits={"hours": 50}).status == "overdue"


def test_likely_hours_raise_to_due_and_never_to_overdue() -> None:
    fleet = FLEET.replace("reading 0", "no meter, burns 1").replace(" at 0", "")
    lines = "Plover burns 40 l on 2031-06-10"
    (found,) = rows_of(
        tables(fleet + lines), texts(limits={"hours": 50}), USES, START + timedelta(300)
    )
    # 40 h counted, 16 h likely: 56 of 50; at that pace the rest would last 75 days more
    assert (found.status, found.raised_by_likely_hours) == ("due", True)
    assert found.life_used == F(40, 50)


def test_what_is_left_of_the_jobs_day_takes_no_more_likely_hours_than_the_day_has() -> None:
    lines = """
        Plover runs 10 on 2031-06-10
        Plover runs 1 on 2031-06-11
        Plover impeller done at 1 on 2031-06-11
        Plover reads 5 on 2031-06-11"""
    fleet, entries = fleet_of(tables(FLEET + lines))
    as_of = date(2031, 6, 12)
    ruleset = book_of(texts(limits={"hours": 50}), USES).set_of("small-petrol")
    out = working(fleet, history(entries, as_of), ruleset, "Plover", "impeller", as_of)
    # worked by hand: eleven hours run, five read, so the 11th has 5/11 h and lost 6/11
    assert [(share.hours / 100, share.likely / 100) for share in out.shares] == [(4, F(6, 11))]


def test_a_second_hand_engine_reads_no_record_until_its_floor_passes_the_limit() -> None:
    fleet = FLEET.replace(f"Plover impeller done at 0 on {START}", "")
    for after, status in ((60, "no record"), (61, "overdue")):
        (found,) = rows_of(
            tables(fleet), texts(limits={"days": 60}), USES, START + timedelta(after)
        )
        assert (found.status, found.life_used) == (status, None)
        assert found.life_floor == F(after, 60)
