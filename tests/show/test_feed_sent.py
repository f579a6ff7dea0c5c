"""Which changes of an event are sent, and how they are counted.

SEQUENCE follows RFC 5545, 3.8.7.4 (0 when created, one more with each significant revision),
stamps 3.8.7.2. What is significant (a tenth of the days left, two days at least) is our design
choice.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, STATUSES, Due
from fleetcare.show.events import EARLY, JOB, Event, events_of
from fleetcare.show.settling import Sent, settled, unsettled
from tests.show.feed_rows import (
    FLEET,
    IMPELLER,
    LATER,
    NOW,
    PLUGS,
    TODAY,
    day,
    event,
    overdue,
    row,
    sent_of,
    steady,
)


def resent(first: Event, second: Event, as_of: date = TODAY) -> Event:
    """The second event as it goes out three hours after the first."""
    (one,), _ = settled([second], sent_of(first), as_of, LATER)
    return one


def test_a_new_event_is_number_0() -> None:
    (one,), state = settled([event()], {}, TODAY, NOW)
    assert (one.sequence, one.stamp) == (0, NOW)
    kept = state[one.uid]
    assert (kept.on, kept.title, kept.status, kept.sequence, kept.changed) == (
        one.on, one.title, CLEAR, 0, NOW
    )  # fmt: skip


def test_new_figures_are_told_and_stamped_and_keep_the_number() -> None:
    """3.8.7.2: the stamp is of the last revision; 3.8.7.4: this one is no significant one."""
    one = resent(event(), event(hours_since=14100))
    assert (one.sequence, one.stamp) == (0, LATER)
    assert "141 h" in one.description


@pytest.mark.parametrize(
    "changes",
    [
        {"days_since": 201},
        {"likely_hours": 30, "likely_since_read": 30, "chance_used": 0.1},
        {"governed_by": "calendar", "life_used": Fraction(71, 100), "days_since": 201},
        {"due_early": day(date(2031, 6, 2)), "due_late": day(date(2031, 7, 9))},
        {"due_on": day(date(2031, 6, 21))},
    ],
)
def test_what_only_the_days_change_is_not_sent(changes: dict[str, Any]) -> None:
    """3.8.7.2: a stamp is of the last revision, not of the rendering."""
    by = changes.get("governed_by", "hours")
    first = event(governed_by=by, due_early=day(date(2031, 6, 1)), due_late=day(date(2031, 7, 8)))
    tomorrow = TODAY + timedelta(days=1)
    usual = {"due_early": day(date(2031, 6, 1)), "due_late": day(date(2031, 7, 8)), **changes}
    second = next(one for one in events_of([row(**usual)], FLEET, tomorrow) if one.kind == JOB)
    assert second.description != first.description
    one = resent(first, second, tomorrow)
    assert (one.sequence, one.stamp) == (0, NOW)
    assert one.description == first.description
    assert one.description.endswith("Figures as of 12 May 2031.")


def test_what_is_sent_again_is_of_the_day_it_changed() -> None:
    tomorrow = TODAY + timedelta(days=1)
    second = events_of([row(hours_since=14100, days_since=201)], FLEET, tomorrow)[0]
    one = resent(event(), second, tomorrow)
    assert one.description.endswith("Figures as of 13 May 2031.")
    assert "since then: 141 h, 201 days." in one.description


def test_an_early_notice_stays_while_only_the_days_pass() -> None:
    state: dict[str, Sent] = {}
    seen = set()
    for ahead in range(4):
        today = TODAY + timedelta(days=ahead)
        rows = [row(CLEAR, date(2031, 7, 20 + ahead), due_early=day(date(2031, 6, 20)),
                    days_since=200 + ahead)]  # fmt: skip
        made = [one for one in events_of(rows, FLEET, today) if one.kind == EARLY]
        (one,), state = settled(made, state, today, NOW + timedelta(days=ahead))
        seen.add(replace(one, about=made[0].about))
    assert len(seen) == 1


def test_an_early_notice_moves_as_little_as_other_events() -> None:
    def notice(first: date) -> Event:
        rows = [row(CLEAR, date(2031, 7, 20), due_early=day(first))]
        return next(one for one in events_of(rows, FLEET, TODAY) if one.kind == EARLY)

    # 39 days left: less than 3.9 days is not sent
    for on, sequence in ((date(2031, 6, 23), 0), (date(2031, 6, 24), 1)):
        one = resent(notice(date(2031, 6, 20)), notice(on))
        assert (one.sequence, one.on) == (sequence, on if sequence else date(2031, 6, 20))


def test_each_move_counts_one_more() -> None:
    state: dict[str, Sent] = {}
    numbers = []
    for on in (date(2031, 6, 20), date(2031, 7, 20), date(2031, 7, 20), date(2031, 8, 20)):
        (one,), state = settled([event(CLEAR, on)], state, TODAY, NOW)
        numbers.append(one.sequence)
    assert numbers == [0, 1, 1, 2]


@pytest.mark.parametrize(
    ("old", "new", "is_sent"),
    [
        # 39 days left: a move of less than 3.9 days is not sent
        (date(2031, 6, 20), date(2031, 6, 23), False),
        (date(2031, 6, 20), date(2031, 6, 24), True),
        (date(2031, 6, 20), date(2031, 6, 17), False),
        (date(2031, 6, 20), date(2031, 6, 16), True),
        # 40 days left: 4 days is a tenth
        (date(2031, 6, 21), date(2031, 6, 25), True),
        # 10 days left: at least 2 days
        (date(2031, 5, 22), date(2031, 5, 23), False),
        (date(2031, 5, 22), date(2031, 5, 24), True),
        (date(2031, 5, 13), date(2031, 5, 12), False),
        (date(2031, 5, 12), date(2031, 5, 13), False),
        # 300 days left
        (date(2032, 3, 7), date(2032, 4, 5), False),
        (date(2032, 3, 7), date(2032, 4, 6), True),
    ],
)
def test_a_date_that_moves_a_little_is_not_sent(old: date, new: date, is_sent: bool) -> None:
    one = resent(event(CLEAR, old), event(CLEAR, new))
    expected = event(CLEAR, new if is_sent else old)
    assert (one.on, one.title) == (expected.on, expected.title)
    assert (one.sequence, one.stamp) == ((1, LATER) if is_sent else (0, NOW))


def test_small_moves_add_up_until_they_are_sent() -> None:
    state = sent_of(event(CLEAR, date(2031, 6, 20)))
    numbers = []
    for ahead in range(1, 6):
        moved = event(CLEAR, date(2031, 6, 20) + timedelta(days=ahead))
        (one,), state = settled([moved], state, TODAY, LATER)
        numbers.append((one.on.day, one.sequence))
    assert numbers == [(20, 0), (20, 0), (20, 0), (24, 1), (24, 1)]


def test_a_change_of_status_is_always_sent() -> None:
    one = resent(event(CLEAR, date(2031, 6, 20)), event(DUE, date(2031, 6, 20)))
    assert (one.sequence, one.stamp, one.status) == (1, LATER, DUE)
    assert resent(event(CLEAR, date(2031, 6, 20)), event(DUE, date(2031, 6, 21))).on.day == 21


def test_an_overdue_event_steps_to_today_every_day() -> None:
    state = sent_of(overdue(date(2031, 5, 3)))
    for ahead in (1, 2, 3):
        today = TODAY + timedelta(days=ahead)
        rows = [row(OVERDUE, date(2031, 5, 2), overdue_since=day(date(2031, 5, 3)))]
        (one,), state = settled(events_of(rows, FLEET, today), state, today, LATER)
        assert (one.on, one.sequence) == (today, ahead)


@pytest.mark.parametrize("status", [NO_RECORD, DUE])
def test_whatever_stands_on_today_for_being_late_steps_too(status: str) -> None:
    on = None if status == NO_RECORD else date(2031, 5, 9)
    tomorrow = TODAY + timedelta(days=1)
    state = sent_of(event(status, on))
    (one,), _ = settled(events_of([row(status, on)], FLEET, tomorrow), state, tomorrow, LATER)
    assert (one.on, one.sequence) == (tomorrow, 1)


def test_a_due_event_is_never_left_on_a_day_that_is_past() -> None:
    today = date(2031, 5, 14)
    state = sent_of(event(DUE, date(2031, 5, 13)))
    (one,), _ = settled(events_of([row(DUE, date(2031, 5, 14))], FLEET, today), state, today, LATER)
    assert (one.on, one.sequence) == (today, 1)


def test_another_name_is_sent_even_when_the_date_moves_a_little() -> None:
    renamed = event(CLEAR, date(2031, 6, 21), engine="Tern", first_name="Plover")
    one = resent(event(CLEAR, date(2031, 6, 20)), renamed)
    assert (one.title, one.sequence) == ("Tern: impeller, due 21 Jun", 1)


def test_a_small_move_over_new_year_is_not_sent_though_the_year_is_written_otherwise() -> None:
    state = sent_of(event(CLEAR, date(2032, 4, 20)))
    today = date(2032, 1, 2)
    (one,), _ = settled(events_of([row(CLEAR, date(2032, 4, 21))], FLEET, today), state, today, NOW)
    assert (one.title, one.sequence) == ("Plover: impeller, due 20 Apr 2032", 0)


def test_a_stamp_never_goes_back_when_the_clock_was_set_back() -> None:
    (one,), _ = settled([event(DUE)], sent_of(event(CLEAR)), TODAY, NOW - timedelta(days=1))
    assert (one.sequence, one.stamp) == (1, NOW)


def test_an_event_that_returns_goes_on_counting() -> None:
    state = sent_of(event(CLEAR, date(2031, 6, 20)))
    none, state = settled([], state, TODAY, NOW)
    assert none == ()
    (one,), state = settled([event(CLEAR, date(2031, 8, 20))], state, TODAY, LATER)
    assert one.sequence == 1
    assert len(state) == 1


def test_stamps_are_in_utc_and_a_naive_one_is_refused() -> None:
    """RFC 5545, 3.8.7.2: DTSTAMP must be in UTC; 09:00 in a Swedish winter is 08:00."""
    local = datetime(2026, 12, 2, 9, tzinfo=ZoneInfo("Europe/Stockholm"))
    (one,), _ = settled([event()], {}, TODAY, local)
    assert one.stamp.isoformat() == "2026-12-02T08:00:00+00:00"
    (fine,), _ = settled([event()], {}, TODAY, NOW + timedelta(microseconds=7))
    assert fine.stamp == NOW  # 3.3.5: no fractions of a second
    with pytest.raises(ValueError, match="zone"):
        settled([event()], {}, TODAY, datetime(2026, 12, 2, 9))


def test_the_feed_of_another_day_leaves_no_trace() -> None:
    (one,) = unsettled([replace(event(), sequence=4, stamp=NOW)], date(2031, 3, 1))
    assert (one.sequence, one.stamp) == (0, datetime(2031, 3, 1, tzinfo=UTC))


Rows = st.lists(
    st.builds(
        lambda engine, status, ahead, rule: row(
            status,
            None if status == NO_RECORD else TODAY + timedelta(days=ahead),
            rule,
            engine,
            overdue_since=TODAY.toordinal() - 3 if status == OVERDUE else None,
        ),
        st.sampled_from(["Plover", "Heron", "Tern"]),
        st.sampled_from(STATUSES),
        st.integers(-40, 400),
        st.sampled_from([IMPELLER, PLUGS]),
    ),
    max_size=6,
    unique_by=lambda one: (one.engine, one.task),
)


@steady
@given(st.lists(Rows, min_size=1, max_size=5))
def test_the_same_state_twice_sends_nothing_new(lists: list[list[Due]]) -> None:
    state: dict[str, Sent] = {}
    for step, rows in enumerate(lists):
        events = events_of(rows, FLEET, TODAY)
        first, after = settled(events, state, TODAY, NOW + timedelta(hours=step))
        again, same = settled(events, after, TODAY, NOW + timedelta(days=9))
        assert (again, same) == (first, after)
        state = after


@steady
@given(Rows, Rows)
def test_a_number_rises_by_one_exactly_when_something_is_sent(
    before: list[Due], rows: list[Due]
) -> None:
    _, state = settled(events_of(before, FLEET, TODAY), {}, TODAY, NOW)
    events, after = settled(events_of(rows, FLEET, TODAY), state, TODAY, LATER)
    assert set(after) == set(state) | {one.uid for one in events}
    for one in events:
        old = state.get(one.uid)
        if old is None:
            assert (one.sequence, one.stamp) == (0, LATER)
            continue
        differs = (one.on, one.title, one.status) != (old.on, old.title, old.status)
        says_else = one.basis != old.basis
        assert one.sequence == differs
        assert one.stamp == (LATER if differs or says_else else NOW)


@steady
@given(Rows, Rows)
def test_what_is_held_back_is_never_more_than_a_tenth_or_a_day(
    before: list[Due], rows: list[Due]
) -> None:
    _, state = settled(events_of(before, FLEET, TODAY), {}, TODAY, NOW)
    true = {one.uid: one for one in events_of(rows, FLEET, TODAY)}
    events, _ = settled(list(true.values()), state, TODAY, LATER)
    for one in events:
        off = abs((one.on - true[one.uid].on).days)
        assert off <= 1 or off * 10 < (one.on - TODAY).days
        assert one.status == true[one.uid].status
        if one.status in (OVERDUE, NO_RECORD):
            assert one.on == TODAY
