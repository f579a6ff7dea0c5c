"""To-dos for calendar servers: one for each occurrence, late from the day after the last one.

RFC 5545, 3.6.2: a to-do with DUE;VALUE=DATE:20070501 is overdue at midnight of 1 May, so that
30 April was its last day.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE
from fleetcare.show.todos import ToDo, moved_too_little, todo_text, todos_of
from tests.show.feed_reader import read_feed
from tests.show.feed_rows import FLEET, NOW, PLUGS, TODAY, row

LATE = date(2007, 4, 30)


def todo(*words: Any, **changes: Any) -> ToDo:
    """The to-do of one row."""
    (only,) = todos_of([row(*words, **changes)], FLEET, TODAY)
    return only


def text_of(item: ToDo, completed: datetime | None = None) -> str:
    content = todo_text(item, NOW, 3, completed)
    read_feed(content)  # the strict reader takes it
    return content.decode().replace("\r\n ", "")


def test_the_due_day_is_the_day_after_the_last_permitted_one() -> None:
    text = text_of(todo(OVERDUE, LATE, overdue_since=date(2007, 5, 1).toordinal()))
    assert "DUE;VALUE=DATE:20070501\r\n" in text


def test_overdue_by_a_trigger_alone_its_last_day_is_the_one_before() -> None:
    text = text_of(todo(OVERDUE, None, overdue_since=date(2031, 5, 2).toordinal()))
    assert "DUE;VALUE=DATE:20310502\r\n" in text


def test_without_a_record_it_has_no_due_day() -> None:
    for rule in (PLUGS, None):
        item = todo(NO_RECORD, date(2031, 5, 1), **({"rule": rule} if rule else {}))
        assert "DUE" not in text_of(item)
        assert "no record" in item.title


def test_it_neither_recurs_nor_rings_nor_begins() -> None:
    text = text_of(todo(DUE))
    for name in ("RRULE", "DTSTART", "VALARM", "METHOD", "PRIORITY"):
        assert name not in text
    assert "STATUS:NEEDS-ACTION" in text
    assert "SEQUENCE:3" in text
    assert "DTSTAMP:20310512T073015Z" in text


def test_answered_here_it_is_completed_by_our_stamp() -> None:
    # 3.8.2.1: COMPLETED is in UTC
    text = text_of(todo(DUE), completed=NOW)
    assert "STATUS:COMPLETED" in text
    assert "COMPLETED:20310512T073015Z" in text
    assert "PERCENT-COMPLETE:100" in text


def test_each_occurrence_has_a_uid_of_its_own_and_a_renamed_engine_keeps_it() -> None:
    first = todo(DUE)
    assert todo(OVERDUE, LATE).uid == first.uid
    assert todo(DUE, engine="Ruff", first_name="Plover").uid == first.uid
    assert todo(DUE, clock_start=TODAY.toordinal()).uid != first.uid
    assert todos_of([row(DUE)], "another fleet", TODAY)[0].uid != first.uid


@pytest.mark.parametrize(
    ("status", "days", "near"),
    [
        (OVERDUE, -5, True), (NO_RECORD, 900, True), (DUE, 300, True), (CLEAR, 30, True),
        (CLEAR, 31, False),
    ],
)  # fmt: skip
def test_near_are_the_pressing_ones_and_those_within_the_horizon(
    status: str, days: int, near: bool
) -> None:
    assert todo(status, TODAY + timedelta(days=days)).is_near is near


def test_a_job_put_off_has_none_unless_it_leads_to_harm() -> None:
    later = TODAY.toordinal() + 9
    assert todos_of([row(DUE, put_off_until=later)], FLEET, TODAY) == ()
    assert len(todos_of([row(OVERDUE, LATE, put_off_until=later)], FLEET, TODAY)) == 1


@pytest.mark.parametrize(
    ("left", "moved", "little"),
    [(30, 1, True), (30, 2, True), (30, 3, False), (10, 1, True), (10, 2, False), (-1, 3, False)],
)
def test_a_day_that_moves_by_less_than_two_days_or_a_tenth_of_those_left_is_not_sent(
    left: int, moved: int, little: bool
) -> None:
    before = todo(CLEAR, TODAY + timedelta(days=left))
    now = todo(CLEAR, TODAY + timedelta(days=left + moved))
    assert moved_too_little(now, before.due, before.title, before.status, TODAY) is little
    assert not moved_too_little(now, before.due, "Ruff: impeller", before.status, TODAY)
    assert not moved_too_little(now, before.due, before.title, DUE, TODAY)
