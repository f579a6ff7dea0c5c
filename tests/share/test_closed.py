"""Days on which the workshop is closed, out of calendars."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetcare.share.closed import Closed, closed_days, together
from tests.share.small_calendars import FIRST, HOME, LAST, calendar, event

DAY = ("DTSTART;VALUE=DATE:20260610", "DTEND;VALUE=DATE:20260612")


def read(content: bytes | Path, *apart: str) -> Closed:
    return closed_days(content, apart, FIRST, LAST, HOME)


def june(found: Closed, place: str = "") -> list[int]:
    return [date.fromordinal(day).day for day in sorted(found.days[place])]


def test_an_event_that_names_no_place_closes_every_one() -> None:
    found = read(calendar(*event(*DAY, summary="Works holiday")), "Mill", "North quay")
    assert june(found) == june(found, "Mill") == june(found, "North quay") == [10, 11]
    assert found.misread == ()


def test_an_event_that_names_a_place_apart_closes_that_one_alone() -> None:
    found = read(calendar(*event(*DAY, summary="North QUAY dredged")), "Mill", "North quay")
    assert (june(found), june(found, "Mill"), june(found, "North quay")) == ([], [], [10, 11])


def test_a_calendar_that_is_named_after_a_place_closes_that_one() -> None:
    content = calendar("X-WR-CALNAME:Mill", *event(*DAY, summary="Holiday"))
    found = read(content, "Mill")
    assert (june(found), june(found, "Mill")) == ([], [10, 11])


def test_a_holiday_that_leaves_time_free_closes_and_a_cancelled_one_does_not() -> None:
    """Calendars of public holidays are mostly TRANSPARENT (RFC 5545, 3.8.2.7)."""
    free = read(calendar(*event(*DAY, "TRANSP:TRANSPARENT", summary="Midsummer")))
    assert june(free) == [10, 11]
    off = read(calendar(*event(*DAY, "STATUS:CANCELLED", summary="Midsummer")))
    assert june(off) == []
    maybe = read(calendar(*event(*DAY, "STATUS:TENTATIVE", summary="Regatta?")))
    assert june(maybe) == [10, 11]


def test_an_hour_of_a_day_closes_it_and_a_yearly_one_comes_again() -> None:
    hour = ("DTSTART:20260616T070000Z", "DTEND:20260616T080000Z")
    assert june(read(calendar(*event(*hour, summary="Staff meeting")))) == [16]
    yearly = ("DTSTART;VALUE=DATE:20200619", "RRULE:FREQ=YEARLY")
    assert june(read(calendar(*event(*yearly, summary="Midsummer eve")))) == [19]


@pytest.mark.parametrize("content", [b"", b"nothing", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n"])
def test_what_cannot_be_read_closes_everything(content: bytes) -> None:
    found = read(content, "Mill")
    assert june(found) == june(found, "Mill") == list(range(1, 31))
    assert found.misread


def test_a_file_that_is_not_there_closes_everything(tmp_path: Path) -> None:
    found = read(tmp_path / "none.ics")
    assert june(found) == list(range(1, 31)) and "cannot be read" in found.misread[0].why


def test_an_event_without_a_day_leaves_none_of_its_days_open() -> None:
    found = read(calendar(*event("DTEND;VALUE=DATE:20260612", summary="When?")))
    assert june(found) == list(range(1, 31))
    assert found.misread[0].unknown is not None


def test_several_calendars_close_together() -> None:
    one = read(calendar(*event(*DAY, summary="Holiday")), "Mill")
    two = read(calendar(*event("DTSTART;VALUE=DATE:20260620", summary="Mill fair")), "Mill")
    both = together([one, two])
    assert (june(both), june(both, "Mill")) == ([10, 11], [10, 11, 20])
    assert together([]).days == {}


def test_the_boats_of_the_calendar_reader_are_none_of_ours() -> None:
    """What stands for the shared workshop can be named by no text."""
    found = read(calendar(*event(*DAY, summary="\ue000")), "Mill")
    assert june(found, "Mill") in ([], [10, 11])
    assert june(found) == [10, 11]
