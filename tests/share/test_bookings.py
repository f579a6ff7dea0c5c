"""Bookings out of other people's calendars: which days are taken, and which nobody knows.

The meaning of the properties is RFC 5545's; its sections stand beside the checks.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetcare.fleet.booked import Busy, merged, runs
from tests.share.small_calendars import (
    FIRST,
    FLEET,
    HOME,
    LAST,
    boats,
    busy_days,
    calendar,
    days,
    event,
    june,
    read,
    why,
)

# -- which days (3.6.1: the end is exclusive) -----------------------------------------------------


def test_an_all_day_booking_ends_before_the_day_of_its_end() -> None:
    assert june("DTSTART;VALUE=DATE:20260603", "DTEND;VALUE=DATE:20260606") == [3, 4, 5]


def test_without_an_end_it_is_that_day() -> None:
    assert june("DTSTART;VALUE=DATE:20260603") == [3]
    assert june("DTSTART:20260603T100000") == [3]


def test_an_evening_until_midnight_is_one_day_and_a_minute_more_is_two() -> None:
    assert june("DTSTART:20260603T180000", "DTEND:20260604T000000") == [3]
    assert june("DTSTART:20260603T180000", "DTEND:20260604T000100") == [3, 4]


def test_a_moment_in_utc_falls_on_the_day_of_the_fleets_clock() -> None:
    # 22:30 UTC is 00:30 in Stockholm, two hours ahead in summer
    assert june("DTSTART:20260603T223000Z") == [4]


def test_a_time_in_another_zone_falls_on_the_day_of_the_fleets_clock() -> None:
    # 20:00 in New York is 02:00 the next day in Stockholm
    assert june("DTSTART;TZID=America/New_York:20260603T200000") == [4]


def test_a_duration_is_an_end() -> None:
    assert june("DTSTART;VALUE=DATE:20260603", "DURATION:P2D") == [3, 4]
    assert june("DTSTART:20260603T200000", "DURATION:PT5H") == [3, 4]


def test_only_days_of_the_time_asked_for_are_told() -> None:
    assert june("DTSTART;VALUE=DATE:20260501", "DTEND;VALUE=DATE:20260603") == [1, 2]
    assert june("DTSTART;VALUE=DATE:20260629", "DTEND;VALUE=DATE:20261003") == [29, 30]
    assert june("DTSTART;VALUE=DATE:20260701") == []


# -- what counts ----------------------------------------------------------------------------------


@pytest.mark.parametrize("line", ["STATUS:CANCELLED", "TRANSP:TRANSPARENT", "STATUS:cancelled"])
def test_cancelled_and_transparent_events_leave_the_boat_free(line: str) -> None:
    found = read(calendar(*event("DTSTART:20260603T100000", line)))
    assert found.of("Lark") == Busy()
    assert not found.misread


def test_a_tentative_booking_takes_the_day_and_is_marked() -> None:
    lines = ("DTSTART;VALUE=DATE:20260603", "STATUS:TENTATIVE")
    found = read(calendar(*event(*lines)))
    assert (days(found), days(found, kind="tentative")) == ([], [3])
    assert found.of("Lark").word(date(2026, 6, 3).toordinal()) == "tentative"
    sure = event("DTSTART;VALUE=DATE:20260603", uid="two")
    found = read(calendar(*event(*lines), *sure))
    assert (days(found), days(found, kind="tentative")) == ([3], [])


# -- series (3.8.5.3, 3.8.4.4) --------------------------------------------------------------------


def test_a_series_goes_by_the_wall_clock_over_the_change_of_hours() -> None:
    # clocks went forward on 29 March 2026
    lines = event(
        "DTSTART;TZID=Europe/Stockholm:20260327T080000", "DURATION:PT1H",
        "RRULE:FREQ=DAILY;COUNT=4",
    )  # fmt: skip
    found = read(calendar(*lines), date(2026, 3, 20), date(2026, 4, 5))
    assert days(found) == [27, 28, 29, 30]


def weekly(*more: str, change: tuple[str, ...] = ()) -> bytes:
    master = event("DTSTART;VALUE=DATE:20260606", "RRULE:FREQ=WEEKLY", *more)
    return calendar(*master, *(event(*change) if change else []))


def test_a_moved_instance_takes_its_new_day_and_frees_the_old_one() -> None:
    moved = ("RECURRENCE-ID;VALUE=DATE:20260613", "DTSTART;VALUE=DATE:20260614")
    assert days(read(weekly(change=moved))) == [6, 14, 20, 27]


def test_an_instance_moved_in_from_outside_is_seen_and_one_moved_out_is_not() -> None:
    moved_in = ("RECURRENCE-ID;VALUE=DATE:20260704", "DTSTART;VALUE=DATE:20260630")
    assert days(read(weekly(change=moved_in))) == [6, 13, 20, 27, 30]
    moved_out = ("RECURRENCE-ID;VALUE=DATE:20260627", "DTSTART;VALUE=DATE:20260702")
    assert days(read(weekly(change=moved_out))) == [6, 13, 20]


def test_a_cancelled_instance_and_an_exception_are_free() -> None:
    off = (
        "RECURRENCE-ID;VALUE=DATE:20260613", "DTSTART;VALUE=DATE:20260613", "STATUS:CANCELLED",
    )  # fmt: skip
    assert days(read(weekly(change=off))) == [6, 20, 27]
    assert days(read(weekly("EXDATE;VALUE=DATE:20260613,20260627"))) == [6, 20]


def test_added_dates_are_booked() -> None:
    assert days(read(weekly("RDATE;VALUE=DATE:20260610"))) == [6, 10, 13, 20, 27]


def test_an_instance_may_move_to_another_boat() -> None:
    lines = [
        *event("DTSTART;VALUE=DATE:20260606", "RRULE:FREQ=WEEKLY"),
        *event("RECURRENCE-ID;VALUE=DATE:20260613", "DTSTART;VALUE=DATE:20260613", summary="Knot"),
    ]
    found = read(calendar(*lines))
    assert (days(found), days(found, "Knot")) == ([6, 20, 27], [13])


def test_this_and_future_moves_the_rest() -> None:
    moved = ("RECURRENCE-ID;VALUE=DATE;RANGE=THISANDFUTURE:20260613", "DTSTART;VALUE=DATE:20260614")
    assert days(read(weekly(change=moved))) == [6, 14, 21, 28]


def test_an_event_that_stands_twice_counts_twice_and_is_told() -> None:
    twice = [*event("DTSTART;VALUE=DATE:20260603"), *event("DTSTART;VALUE=DATE:20260610")]
    found = read(calendar(*twice))
    assert days(found) == [3, 10]
    assert "more than once" in why(found)


# -- which boat -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Lark", ["Lark"]),
        ("hire: LARK, family", ["Lark"]),
        ("the lark's day", ["Lark"]),
        ("Skylark", []),
        ("Larking about", []),
        ("Lark Two", ["Lark Two"]),
        ("Lark and Lark Two", ["Lark", "Lark Two"]),
        ("Knot + Lark", ["Lark", "Knot"]),
        ("number 7 for the club", ["Knot"]),
        ("Number 77", []),
    ],
)
def test_boats_are_named_by_whole_words_and_two_named_are_both_booked(
    text: str, named: list[str]
) -> None:
    found = read(calendar(*event("DTSTART;VALUE=DATE:20260603", summary=text)))
    assert [name for name, busy in found.boats.items() if busy.booked] == named
    assert bool(found.misread) == (not named)


@pytest.mark.parametrize(
    "line", ["LOCATION:Jetty\\, Knot", "CATEGORIES:hire,Knot", "RESOURCES:Knot"]
)
def test_the_place_the_categories_and_the_resources_name_a_boat_too(line: str) -> None:
    assert june("DTSTART;VALUE=DATE:20260603", line, boat="Knot", summary="Family") == [3]


def test_a_boat_is_not_named_across_two_properties() -> None:
    found = read(calendar(*event("DTSTART;VALUE=DATE:20260603", "LOCATION:Two", summary="Lark")))
    assert (days(found), days(found, "Lark Two")) == ([3], [])


def test_the_calendars_own_name_names_the_boat_of_events_that_name_none() -> None:
    lines = [*event("DTSTART;VALUE=DATE:20260603", summary="Family")]
    lines += event("DTSTART;VALUE=DATE:20260604", summary="Knot", uid="two")
    found = read(calendar("X-WR-CALNAME:Hires of Lark", *lines))
    assert (days(found), days(found, "Knot")) == ([3], [4])


def test_an_event_that_names_no_boat_is_reported_once_and_takes_none() -> None:
    found = read(
        calendar(*event("DTSTART;VALUE=DATE:20260603", "RRULE:FREQ=DAILY", summary="Dinner"))
    )
    assert not any(busy.taken for busy in found.boats.values())
    assert (why(found), found.misread[0].summary, found.misread[0].line) == (
        "names no boat", "Dinner", 4,
    )  # fmt: skip


# -- what is read with a doubt, and what is not read: unknown, never free -------------------------


def test_an_until_without_a_time_takes_all_of_that_day() -> None:
    # 3.3.10 wants the kind of DTSTART, and many programs write a day
    lines = ("DTSTART;TZID=Europe/Stockholm:20260601T180000", "DURATION:PT1H")
    found = read(calendar(*event(*lines, "RRULE:FREQ=DAILY;UNTIL=20260604")))
    assert days(found) == [1, 2, 3, 4]
    assert "ends on a day without a time" in why(found)


def test_an_until_in_utc_of_an_all_day_series_is_read_by_the_fleets_clock() -> None:
    # midnight of 4 June in Stockholm, as several programs write it
    rule = "RRULE:FREQ=DAILY;UNTIL=20260603T220000Z"
    assert june("DTSTART;VALUE=DATE:20260601", rule) == [1, 2, 3, 4]


def test_a_zone_nobody_knows_is_told_and_read_as_the_fleets() -> None:
    found = read(calendar(*event("DTSTART;TZID=Mars/Base:20260603T233000")))
    assert days(found) == [3]
    assert '"Mars/Base"' in why(found)


def test_a_zone_that_the_file_describes_is_used() -> None:
    zone = [
        "BEGIN:VTIMEZONE", "TZID:Island", "BEGIN:STANDARD", "DTSTART:19700101T000000",
        "TZOFFSETFROM:-1000", "TZOFFSETTO:-1000", "END:STANDARD", "END:VTIMEZONE",
    ]  # fmt: skip
    # 15:00 ten hours behind UTC is 03:00 the next day in Stockholm
    found = read(calendar(*zone, *event("DTSTART;TZID=Island:20260603T150000")))
    assert (days(found), found.misread) == ([4], ())


def test_a_zone_under_another_systems_name_is_known() -> None:
    found = read(calendar(*event("DTSTART;TZID=Tokyo Standard Time:20260603T030000")))
    assert (days(found), found.misread) == ([2], ())  # 20:00 the day before in Stockholm


def test_a_long_booking_of_a_series_reaches_in_from_before() -> None:
    lines = ("DTSTART;VALUE=DATE:20260425", "DURATION:P10D", "RRULE:FREQ=MONTHLY")
    assert june(*lines) == [1, 2, 3, 25, 26, 27, 28, 29, 30]


def test_a_series_that_ends_before_it_begins_takes_no_day_and_is_told() -> None:
    found = read(
        calendar(*event("DTSTART:20260603T100000", "RRULE:FREQ=DAILY;UNTIL=20260520T0000"))
    )
    assert days(found, kind="unknown") == list(range(3, 31))
    rule = "RRULE:FREQ=DAILY;UNTIL=20260520T000000"
    found = read(calendar(*event("DTSTART:20260603T100000", rule)))
    assert not found.of("Lark").taken
    assert "takes no day" in why(found)


@pytest.mark.parametrize(
    ("lines", "unknown", "said"),
    [
        (["DTSTART;VALUE=DATE:20260606", "DTEND;VALUE=DATE:20260603"], [3, 4, 5, 6], "ends before"),
        (["DTSTART:20260606T100000", "DTEND:20260606T090000"], [6], "ends before"),
        (["DTSTART:20260628T100000", "DURATION:-PT3H"], [28, 29, 30], "below zero"),
        (["DTSTART:20260628T100000", "DTEND;VALUE=DATE:20260629"], [28, 29, 30], "with a time"),
        (["DTSTART:20260629T1000", ], list(range(1, 31)), "DTSTART that cannot be read"),
        (["DTEND:20260629T100000"], list(range(1, 31)), "no day it begins on"),
        (["DTSTART:20260629T100000", "DTSTART:20260630T100000"], list(range(1, 31)), "twice"),
        (["DTSTART:20260629T100000", "DTEND:soon"], [29, 30], "DTEND that cannot be read"),
        (["DTSTART:20260629T100000", "RRULE:FREQ=SOMETIMES"], [29, 30], "no frequency"),
        (["DTSTART:20260629T100000", "RRULE:FREQ=DAILY;INTERVAL=0"], [29, 30], "INTERVAL=0"),
        (["DTSTART:20260629T100000", "RRULE:FREQ=DAILY;BYMONTHDAY=31;BYMONTH=2"], [29, 30],
         "never comes"),
        (["DTSTART:20260629T100000", "RRULE:FREQ=DAILY;COUNT=2;UNTIL=20270101"], [29, 30], "both"),
        (["DTSTART:20260629T100000", "EXDATE:someday"], [29, 30], "EXDATE that cannot be read"),
        (["DTSTART:20260629T100000", "nonsense here"], list(range(1, 31)), "makes no sense"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_leaves_its_boat_unknown_and_is_reported(
    lines: list[str], unknown: list[int], said: str
) -> None:
    good = event("DTSTART;VALUE=DATE:20260610", summary="Knot", uid="two")
    found = read(calendar(*event(*lines), *good))
    assert (days(found), days(found, kind="unknown")) == ([], unknown)
    assert said in why(found)
    assert (found.misread[0].uid, found.misread[0].boats) == ("one", ("Lark",))
    assert (days(found, "Knot"), days(found, "Knot", "unknown")) == ([10], [])


def test_a_broken_change_of_a_series_leaves_all_of_it_unknown() -> None:
    found = read(weekly(change=("RECURRENCE-ID;VALUE=DATE:20260613", "DTSTART:garbage")))
    assert days(found, kind="unknown") == list(range(1, 31))


def test_texts_broken_over_lines_do_no_harm() -> None:
    lines = ["DTSTART;VALUE=DATE:20260603", "DESCRIPTION:bring", "two life jackets", "and a key"]
    assert june(*lines) == [3]


# -- files ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is not an iCalendar file"),
        (b"<html><body>Please log in</body></html>", "is not an iCalendar file"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "is not an iCalendar file"),
        (calendar(*event("DTSTART;VALUE=DATE:20260603"))[:-30], "is cut short"),
        (calendar("END:VEVENT"), "that was not begun"),
        (calendar("CALSCALE:HEBREW"), "counts by another calendar"),
        (calendar() + b"more of it", "is not an iCalendar file"),
    ],
)
def test_a_file_that_is_not_whole_leaves_every_boat_unknown(content: bytes, said: str) -> None:
    found = read(content)
    assert {name: len(busy.taken) for name, busy in found.boats.items()} == dict.fromkeys(
        FLEET.boats, 30
    )
    assert said in found.misread[0].why


def test_what_stands_before_the_cut_stays_booked() -> None:
    whole = calendar(*event("DTSTART;VALUE=DATE:20260603"), *event("DTSTART:20260610", uid="two"))
    found = read(whole[: whole.rindex(b"END:VEVENT")])
    assert days(found) == [3]
    assert len(days(found, kind="unknown")) == 29


def test_a_calendar_without_events_leaves_every_boat_free() -> None:
    found = read(calendar())
    assert not any(busy.taken for busy in found.boats.values())
    assert not found.misread


def test_a_file_that_cannot_be_read_leaves_every_boat_unknown(tmp_path: Path) -> None:
    found = busy_days(tmp_path / "none.ics", FLEET, FIRST, LAST, HOME)
    assert len(found.of("Lark").unknown) == 30
    assert "cannot be read" in why(found)


def test_several_calendars_in_a_file_lf_alone_and_a_byte_order_mark_are_read() -> None:
    content = calendar(*event("DTSTART;VALUE=DATE:20260603"))
    content += calendar(*event("DTSTART;VALUE=DATE:20260610"))
    found = read(b"\xef\xbb\xbf" + content.replace(b"\r\n", b"\n"))
    assert days(found) == [3, 10]


def test_a_fold_inside_a_letter_does_no_harm() -> None:
    # 3.1: a fold stands between any two octets for some programs
    content = calendar(*event("DTSTART;VALUE=DATE:20260603", summary="Måsen"))
    folded = content.replace("å".encode(), b"\xc3\r\n \xa5")
    assert days(read(folded, fleet=boats("Måsen")), "Måsen") == [3]


def test_letters_of_an_older_kind_are_read_and_told() -> None:
    content = calendar(*event("DTSTART;VALUE=DATE:20260603", summary="Måsen"))
    found = read(content.decode().encode("latin-1"), fleet=boats("Måsen"))
    assert days(found, "Måsen") == [3]
    assert "not UTF-8" in why(found)


def test_busy_times_without_a_boat_are_reported() -> None:
    found = read(calendar("BEGIN:VFREEBUSY", "UID:x", "END:VFREEBUSY"))
    assert "VFREEBUSY" in why(found)


def test_several_files_together_are_unknown_where_one_of_them_is() -> None:
    one = read(calendar(*event("DTSTART;VALUE=DATE:20260603")))
    other = read(calendar(*event("DTSTART:20260628T100000", "DURATION:-PT3H")))
    found = merged([one, other], FIRST.toordinal(), LAST.toordinal())
    assert (days(found), days(found, kind="unknown")) == ([3], [28, 29, 30])
    assert found.events == 1


def test_days_in_a_row_are_told_by_their_ends() -> None:
    assert runs([5, 3, 4, 9, 7]) == [(3, 5), (7, 7), (9, 9)]
