"""The strict reader reads values as the RFCs say, and refuses those that only look like them.

The section is named in each test: RFC 5545 (Internet Calendaring and Scheduling Core Object
Specification, 2009), RFC 7986 (New Properties for iCalendar, 2016).
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from tests.show.feed_reader import read_feed
from tests.show.feed_values import CSS3
from tests.show.test_feed_reader import ALARM, GOOD, octets, refusal


def test_text_is_unescaped_as_it_was_escaped() -> None:
    """RFC 5545, 3.3.11: backslash, semicolon, comma and new line; never the colon."""
    feed = read_feed(octets(GOOD.replace("Service day", "Boat: 7 a\\;b\\,c\\\\d\\ne\\N")))
    assert feed.of("VEVENT")[1]["SUMMARY"] == "Boat: 7 a;b,c\\d\ne\n"


def test_the_end_of_an_all_day_event_is_not_included() -> None:
    """RFC 5545, 3.6.1: its example of 28 June to 8 July 2007 ends with DTEND 20070709."""
    text = GOOD.replace("20260512\n", "20070628\n").replace(
        "VALUE=DATE:20260513", "VALUE=DATE:20070709"
    )
    first = read_feed(octets(text)).of("VEVENT")[0]
    last = first["DTEND"] - timedelta(days=1)
    assert (first["DTSTART"], last) == (date(2007, 6, 28), date(2007, 7, 8))


@pytest.mark.parametrize(
    ("day", "is_one"),
    [("20280229", True), ("20270229", False), ("20000229", True), ("19000229", False),
     ("20260631", False), ("20261301", False), ("20260100", False), ("2026051", False),
     ("٢٠٢٦0512", False)],
)  # fmt: skip
def test_only_days_of_the_calendar_are_dates(day: str, is_one: bool) -> None:
    """RFC 5545, 3.3.4, with the leap years of the Gregorian calendar."""
    text = GOOD.replace("DTEND;VALUE=DATE:20260513\n", "").replace(
        "DTSTART;VALUE=DATE:20260512", f"DTSTART;VALUE=DATE:{day}"
    )
    if is_one:
        assert read_feed(octets(text))
    else:
        assert refusal(octets(text)).rule == "RFC 5545 3.3.4"


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("-P1D", timedelta(days=-1)), ("+PT6H", timedelta(hours=6)), ("P1W", timedelta(weeks=1)),
        ("P1DT12H", timedelta(days=1, hours=12)), ("PT1H5M7S", timedelta(seconds=3907)),
        ("PT0S", timedelta()), ("P15DT5H0M20S", timedelta(days=15, seconds=18020)),
        ("P1DT", None), ("PT", None), ("P", None), ("-1D", None), ("P1W2D", None),
        ("PT1H5S", None), ("P1M", None), ("P1.5D", None), ("PT٣H", None), ("P 1D", None),
    ],
)  # fmt: skip
def test_durations_follow_the_grammar(text: str, span: timedelta | None) -> None:
    """RFC 5545, 3.3.6, P15DT5H0M20S being its own example."""
    data = octets(GOOD.replace("TRIGGER:-PT15H", f"TRIGGER:{text}"))
    if span is None:
        assert refusal(data).rule == "RFC 5545 3.3.6"
    else:
        assert read_feed(data).of("VEVENT")[0].children[0]["TRIGGER"] == span


@pytest.mark.parametrize(
    ("trigger", "rings"),
    [("PT9H", "2026-12-01 09:00"), ("-PT15H", "2026-11-30 09:00"), ("-P1D", "2026-11-30 00:00")],
)
def test_an_alarm_of_a_day_counts_from_the_readers_own_midnight(trigger: str, rings: str) -> None:
    """RFC 5545, 3.8.6.3: relative to 00:00:00 of the user's configured time zone."""
    text = GOOD.replace("20260512\n", "20261201\n").replace(
        "VALUE=DATE:20260513", "VALUE=DATE:20261202"
    )
    event = read_feed(octets(text.replace("-PT15H", trigger))).of("VEVENT")[0]
    assert event.rings(event.children[0]) == datetime.fromisoformat(rings)


def test_an_alarm_may_count_from_an_end_or_stand_at_a_time_of_its_own() -> None:
    """RFC 5545, 3.8.6.3: END needs DTEND, DUE or a duration; an absolute time needs nothing."""
    todo = GOOD.replace("END:VTODO\n", f"{ALARM}END:VTODO\n")
    assert refusal(octets(todo)).rule == "RFC 5545 3.8.6.3"
    assert read_feed(octets(todo.replace("TRIGGER:-PT1H", "TRIGGER;RELATED=END:-PT1H")))
    absolute = "TRIGGER;VALUE=DATE-TIME:20260512T070000Z"
    assert read_feed(octets(todo.replace("TRIGGER:-PT1H", absolute)))


@pytest.mark.parametrize(
    ("uid", "is_one"),
    [("0B9B9CC9-6D0E-4DCB-8F0E-0F3A5A3A6A13", True), ("x" * 254, True), ("x" * 255, False),
     ("boat7@host.example", False), ("host.example", False), ("10.0.0.7", False), ("a b", False)],
)  # fmt: skip
def test_a_uid_tells_nothing_of_its_maker(uid: str, is_one: bool) -> None:
    """RFC 7986, 5.3: no user, host or domain; a UUID, else a token of less than 255 octets."""
    line = f"UID:{uid}"
    folded = "\n ".join(line[at : at + 70] for at in range(0, len(line), 70))
    data = octets(GOOD.replace("UID:token-7", folded))
    if is_one:
        assert read_feed(data).of("VEVENT")[1]["UID"] == uid
    else:
        assert refusal(data).rule == "RFC 7986 5.3"


def test_colours_are_the_147_names_of_css3() -> None:
    """RFC 7986, 5.9; CSS Color Module Level 3, 4.3: 147 names, both spellings of grey."""
    assert len(CSS3) == 147
    assert sum("gray" in name for name in CSS3) == sum("grey" in name for name in CSS3) == 7
    assert "rebeccapurple" not in CSS3  # came with level 4
    for name in ("teal", "Teal", "LIGHTGOLDENRODYELLOW"):
        assert read_feed(octets(GOOD.replace("COLOR:teal", f"COLOR:{name}")))


def test_a_to_do_due_on_a_day_is_late_from_its_midnight() -> None:
    """RFC 5545, 3.6.2: DUE;VALUE=DATE:20070501 is overdue at midnight, 1 May 2007."""
    text = GOOD.replace("DUE;VALUE=DATE:20260513", "DUE;VALUE=DATE:20070501")
    due = read_feed(octets(text)).of("VTODO")[0]["DUE"]
    assert due - timedelta(days=1) == date(2007, 4, 30)  # the last day on which it is not
