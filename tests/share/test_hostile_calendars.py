"""Calendars made to take time or memory: each ends at once, and no boat is free by it.

That a test here ends is its promise; what would not be capped runs for hours or to the year 9999.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.share import bookings, ics
from tests.share.small_calendars import FIRST, HOME, boats, busy_days, calendar, days, event, read

ALL = list(range(1, 31))
EARLY = "DTSTART:20260101T080000"


@pytest.mark.parametrize(
    "lines",
    [
        [EARLY, "RRULE:FREQ=SECONDLY"],
        [EARLY, "RRULE:FREQ=SECONDLY;COUNT=1000000000"],
        [EARLY, "RRULE:FREQ=MINUTELY"],
        ["DTSTART:20000101T080000", "RRULE:FREQ=HOURLY"],
        ["DTSTART:00010101T080000", "RRULE:FREQ=DAILY"],
        [EARLY, "RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30"],
        [EARLY, "RRULE:FREQ=HOURLY;BYMONTH=2;BYMONTHDAY=30"],
        [EARLY, "RRULE:FREQ=DAILY;INTERVAL=7;BYDAY=MO"],  # it begins on a Thursday
        [EARLY, "RRULE:FREQ=DAILY;COUNT=5;BYMONTH=4;BYMONTHDAY=31"],
        [EARLY, "RRULE:FREQ=DAILY;INTERVAL=0"],
        [EARLY, "RRULE:FREQ=YEARLY;BYMONTH=" + ",".join(["1"] * 5000)],
        [
            EARLY,
            "RRULE:FREQ=DAILY;BYHOUR=" + ",".join(map(str, range(24)))
            + ";BYMINUTE=" + ",".join(map(str, range(60)))
            + ";BYSECOND=" + ",".join(map(str, range(60))),
        ],
        [EARLY, "DURATION:P9999999D"],
        [EARLY, "RDATE:" + ",".join(["20260601T080000"] * 6000)],
    ],
)  # fmt: skip
def test_a_series_without_measure_is_refused_and_its_boat_unknown(lines: list[str]) -> None:
    found = read(calendar(*event(*lines)))
    assert days(found, kind="unknown") == ALL
    assert len(found.misread) == 1


def test_many_dear_series_use_up_what_a_file_may_cost_and_the_rest_is_unknown() -> None:
    rare = "RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=29;BYDAY=MO"
    lines = [line for at in range(200) for line in event(EARLY, rare, uid=str(at))]
    lines += event("DTSTART;VALUE=DATE:20260603", summary="Knot", uid="plain")
    found = read(calendar(*lines))
    assert "too many series" in found.misread[-1].why
    assert days(found, kind="unknown") == ALL
    assert (days(found, "Knot"), days(found, "Knot", "unknown")) == ([3], [])


def test_a_series_of_thousands_of_changes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bookings, "MOST_MOVED", 20)
    changes = [
        line
        for at in range(30)
        for line in event("DTSTART:20260603T090000", f"RECURRENCE-ID:20260603T0800{at:02}")
    ]
    found = read(calendar(*event(EARLY, "RRULE:FREQ=DAILY"), *changes))
    assert days(found, kind="unknown") == ALL


def test_a_large_file_and_one_of_too_many_events_leave_every_boat_unknown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert len(read(b"B" * (ics.MOST_BYTES + 1)).of("Lark").unknown) == 30
    monkeypatch.setattr(ics, "MOST_EVENTS", 20)
    lines = [
        line
        for at in range(30)
        for line in event("DTSTART;VALUE=DATE:20260603", uid=str(at), summary="Knot")
    ]
    found = read(calendar(*lines))
    assert days(found, "Knot") == [3]
    assert len(found.of("Lark").unknown) == 30


def deep() -> bytes:
    return b"BEGIN:VCALENDAR\r\n" + b"BEGIN:VEVENT\r\n" * 50_000


def folded() -> bytes:
    return b"BEGIN:VCALENDAR\r\nX-A:" + b"a\r\n " * 200_000


def quoted() -> bytes:
    return calendar(*event("DTSTART;X=" + '"a' * 50_000 + ":20260603"))


def zone(*lines: str) -> Callable[[], bytes]:
    body = ["BEGIN:VTIMEZONE", "TZID:Odd", "BEGIN:STANDARD", "DTSTART:16010101T000000"]
    body += ["TZOFFSETFROM:+0100", "TZOFFSETTO:+0100", *lines, "END:STANDARD", "END:VTIMEZONE"]
    return lambda: calendar(*body, *event("DTSTART;TZID=Odd:20260603T100000"))


@pytest.mark.parametrize(
    "made",
    [
        deep, folded, quoted, zone("RRULE:FREQ=SECONDLY"), zone("RRULE:FREQ=YEARLY;INTERVAL=0"),
        zone("RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"), zone(*["BEGIN:STANDARD"] * 3000),
        zone("RDATE:" + ",".join(["20260101T000000"] * 20_000)), zone("TZOFFSETTO:+9999"),
    ],
)  # fmt: skip
def test_a_file_built_to_be_dear_ends_and_is_reported(made: Callable[[], bytes]) -> None:
    found = read(made())
    assert found.misread
    assert 3 in {date.fromordinal(day).day for day in found.of("Lark").taken}


def test_what_is_reported_holds_no_control_characters() -> None:
    escape = "\x1b[2J"
    found = read(calendar(*event(f"DTSTART;TZID=A{escape}:20260603T100000", summary=escape)))
    said = " ".join(item.why + item.summary + item.uid for item in found.misread)
    assert found.misread
    assert "\x1b" not in said


def test_too_many_days_at_once_are_refused() -> None:
    with pytest.raises(ValueError, match="days"):
        read(calendar(), FIRST, FIRST + timedelta(days=bookings.MOST_DAYS))


@given(st.binary(max_size=300))
def test_no_bytes_at_all_make_a_boat_free(content: bytes) -> None:
    found = busy_days(content, boats("Lark"), FIRST, FIRST + timedelta(days=9), HOME)
    empty = b"BEGIN:VCALENDAR" in content.upper() and not found.misread  # says so: nothing booked
    assert empty or len(found.of("Lark").unknown) == 10


@given(st.data())
def test_a_booking_with_any_line_broken_is_taken_or_reported(
    data: st.DataObject,
) -> None:
    at = ";TZID=Europe/Stockholm:"
    lines = event(
        f"DTSTART{at}20260601T080000", f"DTEND{at}20260601T100000", "RRULE:FREQ=DAILY;COUNT=3",
        f"EXDATE{at}20260602T080000", "STATUS:CONFIRMED", "SEQUENCE:3",
    )  # fmt: skip
    number = data.draw(st.integers(3, len(lines) - 2))
    line = lines[number]
    cut = data.draw(st.integers(0, len(line)))
    junk = data.draw(st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=8))
    lines[number] = line[:cut] + junk + line[cut:]
    found = read(calendar(*lines))
    assert found.of("Lark").taken or found.misread or "CANCEL" in lines[number]
