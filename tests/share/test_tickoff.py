"""A to-do as a calendar server holds it: done or not, on which day, by whom (RFC 5545)."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from fleetcare.share.tickoff import Held, held

HOME = ZoneInfo("Europe/Stockholm")


def todo(*lines: str) -> bytes:
    whole = ["BEGIN:VCALENDAR", "BEGIN:VTODO", "UID:x", "SUMMARY:Plover\\, impeller", *lines]
    return "\r\n".join([*whole, "END:VTODO", "END:VCALENDAR", ""]).encode()


def read(*lines: str) -> Held:
    found = held(todo(*lines), HOME)
    assert isinstance(found, Held), found
    return found


@pytest.mark.parametrize(
    ("lines", "done"),
    [
        ((), False),
        (("STATUS:NEEDS-ACTION",), False),
        (("STATUS:IN-PROCESS", "PERCENT-COMPLETE:90"), False),
        (("STATUS:COMPLETED",), True),
        (("STATUS:completed",), True),
        (("PERCENT-COMPLETE:100",), True),
        (("COMPLETED:20261202T103000Z",), True),
        (("STATUS:CANCELLED", "COMPLETED:20261202T103000Z"), False),
    ],
)
def test_any_of_the_three_ways_is_done_and_called_off_is_not(
    lines: tuple[str, ...], done: bool
) -> None:
    assert read(*lines).done is done


@pytest.mark.parametrize(
    ("lines", "on"),
    [
        (("COMPLETED:20261202T103000Z",), date(2026, 12, 2)),
        (("COMPLETED:20261202T233000Z",), date(2026, 12, 3)),  # half past midnight in Stockholm
        (("COMPLETED;TZID=X:20261202T233000",), date(2026, 12, 2)),
        (("COMPLETED:20261202",), date(2026, 12, 2)),
        (("STATUS:COMPLETED", "LAST-MODIFIED:20261201T080000Z"), date(2026, 12, 1)),
        (("STATUS:COMPLETED",), None),
        (("COMPLETED:20261302T103000Z",), None),
        (("COMPLETED:yesterday",), None),
    ],
)
def test_its_day_is_that_of_the_tick_off_by_the_fleets_clock(
    lines: tuple[str, ...], on: date | None
) -> None:
    assert read(*lines).on == on


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is not an iCalendar file"),
        (b"<html>", "is not an iCalendar file"),
        (todo()[:-30], "is cut short"),
        (b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", "holds 0 to-dos"),
        (todo().replace(b"END:VTODO", b"END:VTODO\r\nBEGIN:VTODO\r\nEND:VTODO"), "holds 2 to-dos"),
        (todo("X-A:" + "x" * 300_000), "is larger than 300 kB"),
    ],
)
def test_what_is_no_single_to_do_is_not_read(content: bytes, said: str) -> None:
    found = held(content, HOME)
    assert isinstance(found, str)
    assert said in found


def test_only_the_one_who_completed_it_is_named() -> None:
    invited = "ATTENDEE;CN=Depot;PARTSTAT=ACCEPTED:mailto:d@x.example"
    did = 'ATTENDEE;PARTSTAT=COMPLETED;CN="Jetty, east":mailto:j@x.example'
    assert read("COMPLETED:20261202T103000Z", invited).by == ""
    assert read("COMPLETED:20261202T103000Z", invited, did).by == "Jetty, east"


def test_the_time_it_was_sent_is_not_the_time_it_was_ticked_off() -> None:
    lines = ("PERCENT-COMPLETE:100", "LAST-MODIFIED:20261201T080000Z")
    found = held(todo(*lines), HOME, "20261201T080000Z")
    assert isinstance(found, Held)
    assert (found.done, found.on) == (True, None)


def test_a_recurring_or_hostile_rule_in_it_is_never_worked_out() -> None:
    assert read("RRULE:FREQ=SECONDLY", "STATUS:COMPLETED").done
