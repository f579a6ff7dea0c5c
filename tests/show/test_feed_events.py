"""Which events a due list gives, where they stand, and who they are.

Where late jobs stand and the words of titles are our design choices; UIDs follow RFC 7986, 5.3.
"""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE
from fleetcare.show.events import (
    EARLY,
    Event,
    calendar_note,
    event_uid,
    events_of,
)
from fleetcare.show.season_marks import season_marks
from tests.show.feed_rows import (
    FLEET,
    IMPELLER,
    PLUGS,
    TODAY,
    day,
    event,
    overdue,
    row,
)

# -- where events stand ---------------------------------------------------------------------------


@pytest.mark.parametrize("status", [DUE, CLEAR])
def test_a_job_to_come_stands_on_its_day(status: str) -> None:
    assert event(status, date(2031, 5, 20)).on == date(2031, 5, 20)


def test_an_overdue_job_stands_on_today() -> None:
    assert overdue(date(2031, 5, 3)).on == TODAY


def test_a_due_job_whose_day_is_past_stands_on_today_too() -> None:
    late = event(DUE, date(2031, 5, 9))
    assert (late.on, late.title) == (TODAY, "Plover: impeller, due since 9 May")


def test_a_precursor_without_record_stands_on_today_and_another_is_only_counted() -> None:
    rows = [row(NO_RECORD, None), row(NO_RECORD, None, rule=PLUGS)]
    assert [(one.task, one.on) for one in events_of(rows, FLEET, TODAY)] == [("impeller", TODAY)]
    assert "1 job without a record" in calendar_note(rows, TODAY)


def test_the_horizon_is_a_year_and_takes_its_last_day() -> None:
    last = TODAY + timedelta(days=365)
    rows = [row(CLEAR, last), row(CLEAR, last + timedelta(days=1), engine="Heron")]
    assert [one.engine for one in events_of(rows, FLEET, TODAY)] == ["Plover"]
    assert [one.engine for one in events_of(rows, FLEET, TODAY, 366)] == ["Plover", "Heron"]


def test_a_job_without_a_day_has_no_event_unless_it_is_due() -> None:
    assert events_of([row(CLEAR, None)], FLEET, TODAY) == ()
    assert event(DUE, None).title == "Plover: impeller, due"


def test_a_job_put_off_leaves_the_feed_and_comes_back_by_itself() -> None:
    until = date(2031, 6, 1)
    away = row(DUE, date(2031, 5, 20), put_off_until=day(until), put_off_times=1)
    assert events_of([away], FLEET, TODAY) == ()
    assert len(events_of([away], FLEET, until)) == 1
    assert "1 job put off" in calendar_note([away], TODAY)


def test_a_precursor_put_off_stays() -> None:
    one = overdue(date(2031, 5, 3), put_off_until=day(date(2031, 6, 1)), put_off_times=2,
                  because="waits for the kit")  # fmt: skip
    assert one.on == TODAY
    assert "Put off until 1 Jun 2031 (2 times so far): waits for the kit." in one.description


def test_events_come_by_day_then_title() -> None:
    rows = [row(CLEAR, date(2031, 7, 1)), row(DUE, date(2031, 5, 20), engine="Tern"),
            row(DUE, date(2031, 5, 20), engine="Heron")]  # fmt: skip
    assert [one.engine for one in events_of(rows, FLEET, TODAY)] == ["Heron", "Tern", "Plover"]


# -- who they are ---------------------------------------------------------------------------------


def test_a_uid_is_of_the_fleet_the_engines_first_name_and_the_task() -> None:
    usual = event()
    assert uuid.UUID(usual.uid).version == 5  # RFC 7986, 5.3: a UUID, no host in it
    moved = event(DUE, date(2031, 5, 14), boat=None)
    renamed = event(engine="Tern", first_name="Plover")
    assert usual.uid == moved.uid == renamed.uid
    others = [
        event(engine="Heron").uid,
        event(rule=PLUGS).uid,
        events_of([row()], "another fleet", TODAY)[0].uid,
        event_uid(FLEET, "service day", "Plover", "impeller"),
    ]
    assert len({usual.uid, *others}) == 5


def test_a_uid_keeps_names_apart() -> None:
    assert event_uid(FLEET, "job", "a b", "c") != event_uid(FLEET, "job", "a", "b c")


def test_a_uid_never_changes_from_release_to_release() -> None:
    """Taken from the first release: another value here would double everybody's events."""
    assert event_uid(FLEET, "job", "Plover", "impeller") == "2d12cff8-3ac3-5c01-9742-d3d3a5a449e4"


# -- what they say --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "title"),
    [
        (event(DUE, date(2031, 5, 12)), "Plover: impeller, due 12 May"),
        (event(CLEAR, date(2031, 12, 31)), "Plover: impeller, due 31 Dec"),
        (event(CLEAR, date(2032, 1, 1)), "Plover: impeller, due 1 Jan 2032"),
        (overdue(date(2031, 5, 3), rule=PLUGS), "Plover: plugs, overdue since 3 May"),
        (overdue(date(2030, 9, 3), rule=PLUGS), "Plover: plugs, overdue since 3 Sep 2030"),
        (
            overdue(date(2031, 5, 3)),
            "Plover: impeller, overdue since 3 May - leads to overheating",
        ),
        (event(NO_RECORD, None), "Plover: impeller, no record - leads to overheating"),
        (
            overdue(
                date(2031, 5, 3),
                rule=replace(IMPELLER, leads_to=("a corroded leg", "seized swivel", "overheating")),
            ),
            "Plover: impeller, overdue since 3 May - leads to seized swivel and overheating",
        ),
    ],
)
def test_titles_say_engine_task_and_day_and_a_precursors_harm(one: Event, title: str) -> None:
    assert one.title == title


def test_categories_are_the_status_the_component_and_a_precursors_harm() -> None:
    assert event().categories == ("clear", "gearcase")
    assert overdue(date(2031, 5, 3)).categories == ("overdue", "gearcase", "overheating")


def test_the_note_says_how_old_the_figures_are() -> None:
    assert calendar_note([row()], TODAY) == "Figures as of 12 May 2031."
    rows = [row(NO_RECORD, None, rule=PLUGS), row(NO_RECORD, None, rule=PLUGS, engine="Heron",
                                                      put_off_until=day(date(2031, 6, 1))),
            row(DUE, put_off_until=day(date(2031, 6, 1)))]  # fmt: skip
    assert calendar_note(rows, TODAY) == (
        "Figures as of 12 May 2031. Not shown here: 2 jobs without a record and 1 job put off; "
        "fleetcare due lists them."
    )


def test_the_note_of_a_subscription_stays_until_there_is_another_figure() -> None:
    note = "Figures as of 2 May 2031, the last reading or run known."
    for ahead in (0, 1, 200):
        today = TODAY + timedelta(days=ahead)
        assert calendar_note([row()], today, day(date(2031, 5, 2))) == note


# -- early notices --------------------------------------------------------------------------------


def early(on: date, first: date, status: str = CLEAR, **changes: Any) -> list[Event]:
    """The early notices of a row that is due on one day, and may be from an earlier one."""
    rows = [row(status, on, due_early=day(first), **changes)]
    return [one for one in events_of(rows, FLEET, TODAY) if one.kind == EARLY]


def test_a_job_that_may_come_due_long_before_its_day_has_an_early_notice_of_its_own() -> None:
    (notice,) = early(date(2031, 6, 20), date(2031, 6, 1))
    assert notice.on == date(2031, 6, 1)
    assert notice.title == "Plover: impeller, may be due from 1 Jun"
    assert notice.categories == ("early notice", "gearcase")
    assert notice.uid != event(CLEAR, date(2031, 6, 20)).uid
    assert notice.description.split("\n") == [
        "Renew the cooling-pump impeller. Plover, on Tern.",
        "Early notice: 1 time in 10 it is due by 1 Jun 2031 already.",
        "It is as likely due before as after 20 Jun 2031.",
        "Skipping it leads to overheating. Vanes crack and shed; the pieces lodge in the water "
        "tube.",
        "Parts: impeller kit.",
        "For someone trained to do it.",
        "Its own event, on the day it is due, says why, what to mind and how to log it.",
        "The engine's own handbook, local codes and licensed practice come before every figure "
        "here.",
        "Figures as of 12 May 2031.",
    ]


@pytest.mark.parametrize(
    ("on", "first", "has_one"),
    [
        # 39 days left: a fortnight before is enough, 13 days are not
        (date(2031, 6, 20), date(2031, 6, 6), True),
        (date(2031, 6, 20), date(2031, 6, 7), False),
        # 200 days left: a fifth of them
        (date(2031, 11, 28), date(2031, 10, 19), True),
        (date(2031, 11, 28), date(2031, 10, 20), False),
        # an early day that is here needs no notice any more
        (date(2031, 6, 20), date(2031, 5, 12), False),
        (date(2031, 6, 20), date(2031, 5, 13), True),
    ],
)
def test_an_early_notice_is_clearly_before_the_day(on: date, first: date, has_one: bool) -> None:
    """A fortnight and a fifth of the days left are our design choice."""
    assert len(early(on, first)) == has_one


def test_what_is_late_or_put_off_has_no_early_notice() -> None:
    on, first = date(2031, 6, 20), date(2031, 6, 1)
    assert early(on, first, NO_RECORD) == []
    assert early(on, first, OVERDUE, overdue_since=day(date(2031, 5, 3))) == []
    assert early(on, first, put_off_until=day(date(2031, 6, 15)), put_off_times=1) == []


# -- the season's marks ---------------------------------------------------------------------------

APRIL_TO_OCTOBER = {"hire": ((4, 1), (10, 31))}


def test_a_season_is_marked_by_its_next_launch_and_lay_up() -> None:
    marks = season_marks(APRIL_TO_OCTOBER, {("hire", "lay-up"): ["fogging", "flush"]}, FLEET, TODAY)
    assert sorted((one.on, one.title) for one in marks) == [
        (date(2031, 10, 31), "Lay-up of hire boats, 31 Oct"),
        (date(2032, 4, 1), "Launch of hire boats, 1 Apr 2032"),
    ]
    text = next(one.description for one in marks if one.task == "lay-up")
    assert "To do at lay-up: fogging, flush." in text
    assert "fleetcare lay-up --all" in text
    assert "licensed practice" in text


def test_a_mark_stands_on_its_day_and_is_another_ones_the_year_after() -> None:
    last = date(2031, 10, 31)
    uids = set()
    for today in (date(2031, 10, 30), last, last + timedelta(days=1)):
        (mark,) = [one for one in season_marks(APRIL_TO_OCTOBER, {}, FLEET, today)
                   if one.task == "lay-up"]  # fmt: skip
        uids.add((mark.on, mark.uid))
    assert len(uids) == 2
    assert {on for on, _ in uids} == {last, date(2032, 10, 31)}
