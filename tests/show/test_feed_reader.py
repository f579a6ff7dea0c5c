"""The strict reader takes a good feed and refuses each broken one for the rule it breaks.

The rule is named beside every case by its section: RFC 5545 (Internet Calendaring and Scheduling
Core Object Specification, 2009), RFC 7986 (New Properties for iCalendar, 2016), or "ours" where
feeds of this project are held to more than the RFCs ask.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.show.feed_reader import read_feed
from tests.show.feed_values import FeedError

GOOD = """\
BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//example//feed 1//EN
UID:5a0f5b1c-6f7e-4e0e-9d0c-3c1f4a7f9b21
NAME:Jetty
X-WR-CALNAME:Jetty
DESCRIPTION:Seven jobs\\, three boats
LAST-MODIFIED:20260501T060000Z
REFRESH-INTERVAL;VALUE=DURATION:PT6H
X-PUBLISHED-TTL:PT6H
COLOR:teal
BEGIN:VTIMEZONE
TZID:Europe/Stockholm
BEGIN:STANDARD
DTSTART:19701025T030000
TZOFFSETFROM:+0200
TZOFFSETTO:+0100
END:STANDARD
END:VTIMEZONE
BEGIN:VEVENT
UID:0b9b9cc9-6d0e-4dcb-8f0e-0f3a5a3a6a11
DTSTAMP:20260501T060000Z
LAST-MODIFIED:20260501T060000Z
SEQUENCE:2
DTSTART;VALUE=DATE:20260512
DTEND;VALUE=DATE:20260513
SUMMARY:Plover: impeller\\, due 12 May
DESCRIPTION:One line\\nand another
CATEGORIES:due,gear\\,case
STATUS:CONFIRMED
TRANSP:TRANSPARENT
COLOR:Gold
BEGIN:VALARM
ACTION:DISPLAY
DESCRIPTION:Plover: impeller
TRIGGER:-PT15H
END:VALARM
END:VEVENT
BEGIN:VEVENT
UID:token-7
DTSTAMP:20260501T060000Z
SEQUENCE:0
DTSTART;TZID=Europe/Stockholm:20260512T080000
DURATION:PT2H
SUMMARY:Service day
END:VEVENT
BEGIN:VTODO
UID:0b9b9cc9-6d0e-4dcb-8f0e-0f3a5a3a6a12
SEQUENCE:0
DTSTAMP:20260501T060000Z
DUE;VALUE=DATE:20260513
SUMMARY:Impeller
STATUS:COMPLETED
COMPLETED:20260512T103000Z
PERCENT-COMPLETE:100
END:VTODO
END:VCALENDAR
"""
ALARM = "BEGIN:VALARM\nACTION:DISPLAY\nDESCRIPTION:x\nTRIGGER:-PT1H\nEND:VALARM\n"
ZONE = GOOD[GOOD.index("BEGIN:VTIMEZONE") : GOOD.index("BEGIN:VEVENT")]
EVENT = GOOD[GOOD.index("BEGIN:VEVENT") : GOOD.index("BEGIN:VEVENT\nUID:token-7")]


def octets(text: str) -> bytes:
    return text.replace("\n", "\r\n").encode()


def with_line(line: str) -> bytes:
    """The good feed with a line added to its first event."""
    return octets(GOOD.replace("SUMMARY:Plover", f"{line}\nSUMMARY:Plover", 1))


def refusal(data: bytes) -> FeedError:
    with pytest.raises(FeedError) as caught:
        read_feed(data)
    return caught.value


def test_a_good_feed_is_read_whole() -> None:
    feed = read_feed(octets(GOOD))
    first, second = feed.of("VEVENT")
    assert (feed["NAME"], feed["DESCRIPTION"]) == ("Jetty", "Seven jobs, three boats")
    assert feed["REFRESH-INTERVAL"] == timedelta(hours=6)
    assert (first["DTSTART"], first["DTEND"]) == (date(2026, 5, 12), date(2026, 5, 13))
    assert first["DTSTAMP"] == datetime(2026, 5, 1, 6, tzinfo=UTC)
    assert first["SUMMARY"] == "Plover: impeller, due 12 May"
    assert first["DESCRIPTION"] == "One line\nand another"
    assert first["CATEGORIES"] == ("due", "gear,case")
    assert (first["SEQUENCE"], first["STATUS"], first["COLOR"]) == (2, "CONFIRMED", "gold")
    assert second["DURATION"] == timedelta(hours=2)
    assert feed.of("VTODO")[0]["COMPLETED"] == datetime(2026, 5, 12, 10, 30, tzinfo=UTC)


# (what is replaced in the good feed, by what, the section broken, what the line reported begins
# with)
BROKEN = {
    "an event without its SEQUENCE": ("SEQUENCE:2\n", "", "ours", "BEGIN:VEVENT"),
    # lines
    "a line of one octet too many": (
        "SUMMARY:Service day", f"SUMMARY:{'x' * 68}", "RFC 5545 3.1", "SUMMARY:xx"),
    "an empty line": ("NAME:Jetty\n", "NAME:Jetty\n\n", "RFC 5545 3.1", ""),
    "a line without a name": ("NAME:Jetty\n", ":Jetty\n", "RFC 5545 3.1", ":Jetty"),
    "a line without a colon": ("\nNAME:Jetty", "\nNAME Jetty", "RFC 5545 3.1", "NAME Jetty"),
    "a name with an underscore": ("NAME:Jetty\n", "NA_ME:Jetty\n", "RFC 5545 3.1", "NA_ME"),
    "a fold before any line": ("BEGIN:VCALENDAR\n", " BEGIN:VCALENDAR\n", "RFC 5545 3.1", " BEGIN"),
    "an escape character": ("NAME:Jetty\n", "NAME:Jet\x1bty\n", "RFC 5545 3.1", "NAME"),
    "a null": ("NAME:Jetty\n", "NAME:Jet\0ty\n", "RFC 5545 3.1", "NAME"),
    "a delete character": ("NAME:Jetty\n", "NAME:Jet\x7fty\n", "RFC 5545 3.1", "NAME"),
    "a bare line feed": ("NAME:Jetty\n", "NAME:Jetty\r\n", "RFC 5545 3.1", "NAME:Jetty"),
    # parameters
    "a parameter without a value": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART;VALUE:20260512", "RFC 5545 3.2", "DTSTART"),
    "a parameter twice": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART;VALUE=DATE;VALUE=DATE:20260512",
        "RFC 5545 3.2", "DTSTART"),
    "a parameter value with a bare colon": (
        "SUMMARY:Service day", "SUMMARY;X-A=a:b;c:Service day", "RFC 5545 3.3.11", "SUMMARY"),
    "a quote that does not close": (
        "SUMMARY:Service day", 'SUMMARY;X-A="a:Service day', "RFC 5545 3.1", "SUMMARY"),
    # components
    "something before the calendar": (
        "BEGIN:VCALENDAR\n", "X-A:1\nBEGIN:VCALENDAR\n", "RFC 5545 3.4", "X-A"),
    "something after the calendar": (
        "END:VCALENDAR\n", "END:VCALENDAR\nX-A:1\n", "RFC 5545 3.4", "X-A"),
    "a second calendar": (
        "END:VCALENDAR\n", "END:VCALENDAR\nBEGIN:VCALENDAR\nEND:VCALENDAR\n",
        "RFC 5545 3.4", "BEGIN:VCALENDAR"),
    "a component that does not end": ("END:VCALENDAR\n", "", "RFC 5545 3.6", "END:VTODO"),
    "ends that cross": (
        "END:VALARM\nEND:VEVENT\n", "END:VEVENT\nEND:VALARM\n", "RFC 5545 3.6", "END:VEVENT"),
    "a component of no known kind": (
        "END:VCALENDAR\n", "BEGIN:VSHIP\nEND:VSHIP\nEND:VCALENDAR\n",
        "RFC 5545 3.6", "BEGIN:VSHIP"),
    "an alarm outside an event": (
        "END:VCALENDAR\n", f"{ALARM}END:VCALENDAR\n", "RFC 5545 3.6", "BEGIN:VALARM"),
    "a property of no known name": (
        "SUMMARY:Service day", "SUMARY:Service day", "RFC 5545 3.6", "SUMARY"),
    "an end in a to-do": (
        "PERCENT-COMPLETE:100", "DTEND;VALUE=DATE:20260514", "RFC 5545 3.6", "DTEND"),
    # the calendar
    "no version": ("VERSION:2.0\n", "", "RFC 5545 3.6", "BEGIN:VCALENDAR"),
    "another version": ("VERSION:2.0", "VERSION:1.0", "RFC 5545 3.7.4", "VERSION"),
    "no maker of the feed": (
        "PRODID:-//example//feed 1//EN\n", "", "RFC 5545 3.6", "BEGIN:VCALENDAR"),
    "a maker named twice": ("NAME:Jetty\n", "PRODID:x\nNAME:Jetty\n", "RFC 5545 3.6", "PRODID:x"),
    "another calendar scale": ("NAME:", "CALSCALE:JULIAN\nNAME:", "RFC 5545 3.7.1", "CALSCALE"),
    "a refresh without VALUE": (
        "REFRESH-INTERVAL;VALUE=DURATION:PT6H", "REFRESH-INTERVAL:PT6H",
        "RFC 7986 5.7", "REFRESH"),
    "a refresh of no time": (
        ";VALUE=DURATION:PT6H", ";VALUE=DURATION:PT0S", "RFC 7986 5.7", "REFRESH"),
    "a refresh backwards": (
        ";VALUE=DURATION:PT6H", ";VALUE=DURATION:-PT6H", "RFC 7986 5.7", "REFRESH"),
    "a period that is no duration": (
        "X-PUBLISHED-TTL:PT6H", "X-PUBLISHED-TTL:6:00:00", "RFC 5545 3.3.6", "X-PUBLISHED"),
    "a colour by number": ("COLOR:teal", "COLOR:#008080", "RFC 7986 5.9", "COLOR"),
    "a colour of no name": ("COLOR:teal", "COLOR:tealish", "RFC 7986 5.9", "COLOR"),
    "a method": ("NAME:Jetty\n", "METHOD:PUBLISH\nNAME:Jetty\n", "ours", "METHOD"),
    "a source that tells the address": (
        "NAME:Jetty\n", "SOURCE;VALUE=URI:https://example.org/t\nNAME:Jetty\n", "ours", "SOURCE"),
    "an address": ("NAME:Jetty\n", "URL:https://example.org/t\nNAME:Jetty\n", "ours", "URL"),
    "an image": (
        "NAME:Jetty\n", "IMAGE;VALUE=URI:https://example.org/i\nNAME:Jetty\n", "ours", "IMAGE"),
    # events
    "no UID": ("UID:token-7\n", "", "RFC 5545 3.6.1", "BEGIN:VEVENT"),
    "two UIDs": ("UID:token-7\n", "UID:token-7\nUID:token-8\n", "RFC 5545 3.6.1", "UID:token-8"),
    "no stamp": ("UID:token-7\nDTSTAMP:20260501T060000Z\n", "UID:token-7\n",
                 "RFC 5545 3.6.1", "BEGIN:VEVENT"),
    "no start": ("DTSTART;VALUE=DATE:20260512\n", "", "RFC 5545 3.6.1", "BEGIN:VEVENT"),
    "an end and a duration": (
        "DURATION:PT2H", "DURATION:PT2H\nDTEND;TZID=Europe/Stockholm:20260512T100000",
        "RFC 5545 3.6.1", "BEGIN:VEVENT"),
    "an all-day event of hours": (
        "DTEND;VALUE=DATE:20260513", "DURATION:PT6H", "RFC 5545 3.6.1", "BEGIN:VEVENT"),
    "a UID that tells the host": (
        "UID:token-7", "UID:boat7@host.example", "RFC 7986 5.3", "UID:boat7"),
    "an empty UID": ("UID:token-7", "UID:", "RFC 7986 5.3", "UID:"),
    "a UID twice": (
        "UID:token-7", "UID:0b9b9cc9-6d0e-4dcb-8f0e-0f3a5a3a6a11",
        "RFC 5545 3.8.4.7", "BEGIN:VEVENT"),
    "the status of a to-do": (
        "STATUS:CONFIRMED", "STATUS:COMPLETED", "RFC 5545 3.8.1.11", "STATUS"),
    "a transparency of no kind": (
        "TRANSP:TRANSPARENT", "TRANSP:CLEAR", "RFC 5545 3.8.2.7", "TRANSP"),
    "a sequence below nothing": ("SEQUENCE:2", "SEQUENCE:-1", "RFC 5545 3.8.7.4", "SEQUENCE"),
    "a priority of 99": ("SEQUENCE:2", "PRIORITY:99", "RFC 5545 3.8.1.9", "PRIORITY"),
    "a stamp that is not the last revision": (
        "LAST-MODIFIED:20260501T060000Z\nSEQUENCE", "LAST-MODIFIED:20260502T060000Z\nSEQUENCE",
        "RFC 5545 3.8.7.2", "BEGIN:VEVENT"),
    # values
    "a colon escaped": ("SUMMARY:Service day", "SUMMARY:Boat\\: 7", "RFC 5545 3.3.11", "SUMMARY"),
    "a bare comma": ("SUMMARY:Service day", "SUMMARY:a,b", "RFC 5545 3.3.11", "SUMMARY"),
    "a bare semicolon": ("SUMMARY:Service day", "SUMMARY:a;b", "RFC 5545 3.3.11", "SUMMARY"),
    "a backslash at the end": ("SUMMARY:Service day", "SUMMARY:a\\", "RFC 5545 3.3.11", "SUMMARY"),
    "a text that says it is a date": (
        "SUMMARY:Service day", "SUMMARY;VALUE=DATE:20260512", "RFC 5545 3.2.20", "SUMMARY"),
    "a stamp without its zone": (
        "UID:token-7\nDTSTAMP:20260501T060000Z", "UID:token-7\nDTSTAMP:20260501T060000",
        "RFC 5545 3.8.7", "DTSTAMP"),
    "a date that does not say so": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART:20260512", "RFC 5545 3.3.5", "DTSTART"),
    "25 o'clock": (":20260512T080000", ":20260512T250000", "RFC 5545 3.3.5", "DTSTART"),
    "a day that is none": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART;VALUE=DATE:20270229", "RFC 5545 3.3.4", "DTSTART"),
    "a day with dashes": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART;VALUE=DATE:2026-05-12",
        "RFC 5545 3.3.4", "DTSTART"),
    "a start that is a period": (
        "DTSTART;VALUE=DATE:20260512", "DTSTART;VALUE=PERIOD:20260512",
        "RFC 5545 3.2.20", "DTSTART"),
    "an end on the day of the start": (
        "DTEND;VALUE=DATE:20260513", "DTEND;VALUE=DATE:20260512",
        "RFC 5545 3.8.2.2", "BEGIN:VEVENT"),
    "an end of another kind": (
        "DTEND;VALUE=DATE:20260513", "DTEND:20260513T000000Z", "RFC 5545 3.8.2.2", "BEGIN:VEVENT"),
    "a duration of nothing": ("DURATION:PT2H", "DURATION:PT0S", "RFC 5545 3.8.2.5", "DURATION"),
    # zones
    "a zone that is not there": (
        "TZID=Europe/Stockholm", "TZID=Europe/Vienna", "RFC 5545 3.2.19", "DTSTART"),
    "a date in a zone": (
        "DTSTART;VALUE=DATE:", "DTSTART;VALUE=DATE;TZID=Europe/Stockholm:",
        "RFC 5545 3.2.19", "DTSTART"),
    "UTC in a zone": (":20260512T080000", ":20260512T080000Z", "RFC 5545 3.2.19", "DTSTART"),
    "a zone without a name": ("TZID:Europe/Stockholm\n", "", "RFC 5545 3.6.5", "BEGIN:VTIMEZONE"),
    "a zone without a rule": (
        ZONE, "BEGIN:VTIMEZONE\nTZID:Europe/Stockholm\nEND:VTIMEZONE\n",
        "RFC 5545 3.6.5", "BEGIN:VTIMEZONE"),
    "a zone twice": (ZONE, ZONE + ZONE, "RFC 5545 3.6.5", "BEGIN:VTIMEZONE"),
    "a rule without its offset": ("TZOFFSETTO:+0100\n", "", "RFC 5545 3.6.5", "BEGIN:STANDARD"),
    "a rule that begins in UTC": (
        "DTSTART:19701025T030000", "DTSTART:19701025T030000Z", "RFC 5545 3.6.5", "DTSTART"),
    "an offset of minus nothing": (
        "TZOFFSETTO:+0100", "TZOFFSETTO:-0000", "RFC 5545 3.3.14", "TZOFFSETTO"),
    # alarms
    "an alarm without a trigger": ("TRIGGER:-PT15H\n", "", "RFC 5545 3.6.6", "BEGIN:VALARM"),
    "an alarm without words": (
        "DESCRIPTION:Plover: impeller\n", "", "RFC 5545 3.6.6", "BEGIN:VALARM"),
    "an alarm that repeats for no time": (
        "TRIGGER:-PT15H", "TRIGGER:-PT15H\nREPEAT:2", "RFC 5545 3.6.6", "BEGIN:VALARM"),
    "an alarm that sounds": ("ACTION:DISPLAY", "ACTION:AUDIO", "ours", "ACTION"),
    "a trigger of no length": ("TRIGGER:-PT15H", "TRIGGER:soon", "RFC 5545 3.3.6", "TRIGGER"),
    "a trigger at a local time": (
        "TRIGGER:-PT15H", "TRIGGER;VALUE=DATE-TIME:20260512T090000", "RFC 5545 3.8.7", "TRIGGER"),
    "a trigger from the middle": (
        "TRIGGER:-PT15H", "TRIGGER;RELATED=MIDDLE:-PT15H", "RFC 5545 3.2.14", "TRIGGER"),
    "a trigger that is a text": (
        "TRIGGER:-PT15H", "TRIGGER;VALUE=TEXT:-PT15H", "RFC 5545 3.8.6.3", "TRIGGER"),
    "an alarm before a start that is not given": (
        "END:VTODO\n", f"{ALARM}END:VTODO\n", "RFC 5545 3.8.6.3", "BEGIN:VALARM"),
    # to-dos
    "a to-do without a stamp": (
        "DTSTAMP:20260501T060000Z\nDUE", "DUE", "RFC 5545 3.6.2", "BEGIN:VTODO"),
    "a to-do due when it starts": (
        "DUE;VALUE=DATE:20260513", "DTSTART;VALUE=DATE:20260513\nDUE;VALUE=DATE:20260513",
        "RFC 5545 3.8.2.3", "BEGIN:VTODO"),
    "a to-do that lasts without a start": (
        "DUE;VALUE=DATE:20260513", "DURATION:P1D", "RFC 5545 3.6.2", "BEGIN:VTODO"),
    "the status of an event": (
        "STATUS:COMPLETED", "STATUS:CONFIRMED", "RFC 5545 3.8.1.11", "STATUS"),
    "a to-do done at a local time": (
        "COMPLETED:20260512T103000Z", "COMPLETED:20260512T103000", "RFC 5545 3.8.7", "COMPLETED"),
    "a to-do done more than wholly": (
        "PERCENT-COMPLETE:100", "PERCENT-COMPLETE:101", "RFC 5545 3.8.1.8", "PERCENT"),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_feed_is_refused_for_the_rule_it_breaks(name: str) -> None:
    old, new, rule, line = BROKEN[name]
    assert old in GOOD
    broken = GOOD.replace(old, new, 1)
    error = refusal(octets(broken))
    assert error.rule == rule, str(error)
    assert broken.split("\n")[error.line - 1].startswith(line), str(error)


def test_a_calendar_without_a_component_is_refused() -> None:
    """RFC 5545, 3.6: calprops, then at least one component; a lone time zone is one."""
    bare = GOOD[: GOOD.index("BEGIN:VTIMEZONE")]
    assert refusal(octets(f"{bare}END:VCALENDAR\n")).rule == "RFC 5545 3.6"
    assert read_feed(octets(f"{bare}{ZONE}END:VCALENDAR\n")).of("VEVENT") == []


def test_octets_that_are_no_text_are_refused() -> None:
    """RFC 5545, 3.1 and 3.1.4: UTF-8 without a mark in front, lines that end with CRLF."""
    good = octets(GOOD)
    assert refusal(b"\xef\xbb\xbf" + good).rule == "RFC 5545 3.1"
    assert refusal(good.replace(b"Jetty", b"J\xe4tty")).rule == "RFC 5545 3.1.4"
    assert refusal(good.removesuffix(b"\n")).rule == "RFC 5545 3.1"
    assert refusal(GOOD.encode()).rule == "RFC 5545 3.1"
    assert refusal(b"").rule == "RFC 5545 3.1"


def test_a_line_holds_75_octets_and_a_fold_keeps_characters_whole() -> None:
    """RFC 5545, 3.1: 8 octets of `SUMMARY:`, then 67 more; a fold never cuts a character."""
    event = GOOD.replace("SUMMARY:Service day", "SUMMARY:{}")
    assert read_feed(octets(event.replace("{}", "x" * 67)))
    assert refusal(octets(event.replace("{}", "x" * 68))).rule == "RFC 5545 3.1"
    assert read_feed(octets(event.replace("{}", "å" * 33)))  # 8 + 66 = 74 octets
    assert refusal(octets(event.replace("{}", "å" * 34))).rule == "RFC 5545 3.1"
    folded = octets(event.replace("{}", "å" * 33 + "\n " + "å"))
    assert read_feed(folded).of("VEVENT")[1]["SUMMARY"] == "å" * 34
    cut = octets(event.replace("{}", "å" * 32 + "*")).replace(b"*", b"\xc3\r\n \xa5")
    assert refusal(cut).rule == "RFC 5545 3.1.4"


def test_a_fold_may_begin_with_a_tab() -> None:
    """RFC 5545, 3.1: a line break followed by one white space, a space or a tab."""
    feed = read_feed(octets(GOOD.replace("Service day", "Service\n\t day")))
    assert feed.of("VEVENT")[1]["SUMMARY"] == "Service day"


def test_unknown_extensions_are_read_over() -> None:
    """RFC 5545, 3.8.8.2: any property may begin with X-."""
    assert read_feed(with_line("X-EXAMPLE;X-A=1:a,b")).of("VEVENT")[0]["X-EXAMPLE"] == ("a", "b")


def test_events_that_differ_only_in_uid_are_two() -> None:
    """RFC 5545, 3.8.4.7: the UID alone tells events apart."""
    other = EVENT.replace("6a11", "6a14")
    assert len(read_feed(octets(GOOD.replace(EVENT, EVENT + other))).of("VEVENT")) == 3


def test_a_quoted_parameter_may_hold_what_a_bare_one_may_not() -> None:
    """RFC 5545, 3.2: values with colons, semicolons or commas are quoted."""
    feed = read_feed(with_line('LOCATION;X-A="a:b;c,d",e:Depot'))
    prop = feed.of("VEVENT")[0].properties["LOCATION"][0]
    assert (prop.params, prop.value) == ({"X-A": ["a:b;c,d", "e"]}, "Depot")
