"""Which events a due list gives, where they stand, and who they are.

Where late jobs stand and the words of titles are our design choices; UIDs follow RFC 7986, 5.3.
"""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta

import pytest

from fleetcare.due.records import CLEAR, DUE, NO_RECORD
from fleetcare.show.events import (
    Event,
    calendar_note,
    event_uid,
    events_of,
)
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
