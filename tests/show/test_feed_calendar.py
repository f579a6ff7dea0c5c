"""A feed is what the RFCs ask for, and other programs read in it what the events say.

Read back by the project's own strict reader, and by vobject and ics, two parsers that share no
code with it. Section numbers are those of RFC 5545 (2009) and RFC 7986 (2016).
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, STATUSES
from fleetcare.rules.shipped import read_book
from fleetcare.show import calendar as module
from fleetcare.show.calendar import ALARMS, COLORS, calendar
from fleetcare.show.event_words import plain
from fleetcare.show.events import (
    EARLY,
    JOB,
    SEASON_MARK,
    SERVICE_DAY,
    Event,
    calendar_note,
    event_uid,
    events_of,
)
from fleetcare.show.settling import settled
from tests.show.feed_reader import Component, read_feed
from tests.show.feed_rows import FLEET, NOW, TODAY, event, row, steady

HOSTILE = (
    "Plover",
    "a;b,c\\d",
    "line\nbreak\r\nand\rmore",
    "BEGIN:VEVENT\r\nUID:x",
    "\\n \\N \\\\n \\; \\,",
    "C:\\New\\notes\\read\\Rest",
    "quote \" and ' and `",
    "nul\0 esc\x1b bell\x07 tab\t del\x7f next\x85",
    "sep\u2028and\u2029",
    "turned \u202egnorw\u202c",
    "half \ud800 pair",
    "\ufeffmark",
    "עברית: מאייד",
    "العربية ١٢٣",
    "船外機 🚤👩‍👩‍👧‍👦 é e\u0301",
    "å" * 80,
    "😀" * 40,
    " leading and trailing ",
    ";" * 100,
)
texts = st.one_of(
    st.sampled_from(HOSTILE),
    st.text(max_size=120),
    st.text(alphabet=st.sampled_from("ab\\;,:\"'\n\r\t nN\x00å😀א"), max_size=120),
)
stamps = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC))


def built(
    title: str, description: str, name: str, status: str, on: date, stamp: datetime, sequence: int
) -> Event:
    return Event(
        uid=event_uid(FLEET, "job", *(ascii(text) for text in (title, description, name, on))),
        kind="job",
        engine=name,
        boat=None,
        task="impeller",
        on=on,
        title=title,
        status=status,
        description=description,
        categories=(status, name),
        stamp=stamp.replace(microsecond=0),
        sequence=sequence,
    )


events = st.builds(
    built,
    texts,
    texts,
    texts,
    st.sampled_from(STATUSES),
    st.dates(date(2031, 5, 12), date(2033, 1, 1)),
    stamps,
    st.integers(0, 10_000),
)
feeds = st.lists(events, max_size=4, unique_by=lambda one: one.uid)


def feed(*some: Event, **options: Any) -> Component:
    return read_feed(calendar(some, "Jetty", "Figures as of today.", TODAY, **options))


def lines(text: str) -> str:
    """A text of several lines as a feed may hold it."""
    return "\n".join(
        plain(line) for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    )


# -- read back ------------------------------------------------------------------------------------


@steady
@given(feeds, texts, texts, st.sampled_from([None, "day before", "same day"]))
def test_the_strict_reader_reads_what_the_events_say(
    some: list[Event], name: str, note: str, alarm: str | None
) -> None:
    read = read_feed(calendar(some, name, note, TODAY, alarm=alarm))
    assert read["NAME"] == plain(name)
    assert read["DESCRIPTION"] == lines(note)
    assert len(read.of("VEVENT")) == len(some)
    for one, item in zip(some, read.of("VEVENT"), strict=True):
        assert item["UID"] == one.uid
        assert (item["DTSTART"], item["DTEND"]) == (one.on, one.on + timedelta(days=1))
        assert item["SUMMARY"] == plain(one.title)
        assert item["DESCRIPTION"] == lines(one.description)
        assert item["CATEGORIES"] == tuple(plain(word) for word in one.categories)
        assert item["DTSTAMP"] == item["LAST-MODIFIED"] == one.stamp
        assert item["SEQUENCE"] == one.sequence


@contextmanager
def quiet() -> Iterator[None]:
    """Without the deprecation warnings that these two parsers give of themselves."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        warnings.simplefilter("ignore", PendingDeprecationWarning)
        warnings.simplefilter("ignore", FutureWarning)
        yield


Read = list[tuple[str, date, date, str, str]]


def read_by_vobject(data: bytes) -> Read:
    with quiet():
        import vobject

        items = vobject.readOne(data.decode()).contents.get("vevent", [])
        return [
            (
                item.uid.value,
                item.dtstart.value,
                item.dtend.value,
                item.summary.value,
                item.description.value,
            )
            for item in items
        ]


def read_by_ics(data: bytes) -> Read:
    with quiet():
        import ics

        return [
            (
                item.uid,
                item.begin.date(),
                # this parser gives the end of an all-day event as the start of the day after
                item.end.date(),
                item.name or "",
                item.description or "",
            )
            for item in ics.Calendar(data.decode()).events
        ]


def told(some: list[Event]) -> Read:
    return sorted(
        (one.uid, one.on, one.on + timedelta(days=1), plain(one.title), lines(one.description))
        for one in some
    )


@steady
@given(feeds)
def test_vobject_reads_what_the_events_say(some: list[Event]) -> None:
    assert sorted(read_by_vobject(calendar(some, "Jetty", "", TODAY))) == told(some)


@steady
@given(feeds)
def test_ics_reads_what_the_events_say(some: list[Event]) -> None:
    assert sorted(read_by_ics(calendar(some, "Jetty", "", TODAY))) == told(some)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_come_through_every_reader(text: str) -> None:
    late = TODAY.toordinal() - 2
    name = text.replace("\ud800", "")  # a name or a note with half a pair cannot be stored
    rows = [
        row(OVERDUE, engine=name, boat=text, opened=text, overdue_since=late, because=text,
            put_off_times=1, put_off_until=TODAY.toordinal() + 9)
    ]  # fmt: skip
    some = list(events_of(rows, FLEET, TODAY))
    data = calendar(some, text, text, TODAY)
    assert read_feed(data).of("VEVENT")[0]["SUMMARY"] == some[0].title
    assert read_by_vobject(data) == read_by_ics(data) == told(some)


# -- what stands in a feed ------------------------------------------------------------------------


def test_every_shipped_job_makes_a_feed_that_is_read_whole() -> None:
    book = read_book(None, {"small-petrol"}, words=False)
    rules = book.set_of("small-petrol")
    rows = [
        row(STATUSES[at % 4], None if at % 4 == 1 else TODAY + timedelta(days=at), rule)
        for at, rule in enumerate(rules.rules.values())
        if rule.has_row
    ]
    some, _ = settled(events_of(rows, FLEET, TODAY, rules={"Plover": rules}), {}, TODAY, NOW)
    data = calendar(some, "Jetty", calendar_note(rows, TODAY), TODAY, alarm="same day")
    assert [item["DESCRIPTION"] for item in read_feed(data).of("VEVENT")] == [
        one.description for one in some
    ]
    assert sorted(read_by_vobject(data)) == sorted(read_by_ics(data)) == told(list(some))


def test_a_job_takes_a_whole_day_and_blocks_nobodys() -> None:
    """3.6.1: DTEND of a DATE is not included; 3.8.2.7: TRANSPARENT leaves the day free."""
    data = calendar([event(CLEAR, date(2031, 12, 1))], "Jetty", "", TODAY)
    assert b"\r\nDTSTART;VALUE=DATE:20311201\r\nDTEND;VALUE=DATE:20311202\r\n" in data
    (item,) = read_feed(data).of("VEVENT")
    assert (item["TRANSP"], item["STATUS"]) == ("TRANSPARENT", "CONFIRMED")


def test_a_feed_says_what_it_is_and_how_often_to_ask() -> None:
    """7986, 5.1, 5.7; the words before the standard's own carry the same."""
    read = feed(event(), refresh_hours=12)
    assert read["NAME"] == read["X-WR-CALNAME"][0] == "Jetty"
    assert read["DESCRIPTION"] == read["X-WR-CALDESC"][0] == "Figures as of today."
    assert read["REFRESH-INTERVAL"] == read["X-PUBLISHED-TTL"] == timedelta(hours=12)
    assert feed(event())["REFRESH-INTERVAL"] == timedelta(hours=6)


def test_a_feed_schedules_nothing_and_tells_no_address() -> None:
    """3.7.2: without METHOD it is a snapshot; 7986, 5.5, 5.8, 5.10 would carry an address."""
    data = calendar([event()], "Jetty", "", TODAY, alarm="same day")
    for word in (b"METHOD", b"SOURCE", b"URL", b"IMAGE", b"ORGANIZER", b"ATTENDEE", b"RRULE"):
        assert b"\n" + word not in data


@pytest.mark.parametrize(
    ("status", "color"), [(OVERDUE, "red"), (DUE, "gold"), (CLEAR, "green"), (NO_RECORD, None)]
)
def test_the_colour_repeats_the_status_and_the_title_says_it(
    status: str, color: str | None
) -> None:
    """7986, 5.9; red, yellow and green as in ISO 22324, from memory."""
    one = event(status, None if status == NO_RECORD else date(2031, 5, 20))
    assert feed(one).of("VEVENT")[0]["COLOR"] == color
    assert status == CLEAR or status in one.title


def test_nothing_due_is_still_a_calendar() -> None:
    """3.6: at least one component; a lone time zone is one."""
    data = calendar([], "Jetty", "", TODAY)
    read = read_feed(data)
    assert [child.kind for child in read.children] == ["VTIMEZONE"]
    assert read_by_vobject(data) == read_by_ics(data) == []
    assert feed(event()).of("VTIMEZONE") == []  # days need no zone


@pytest.mark.parametrize(
    ("title", "folds"), [("x" * 66, 0), ("x" * 68, 1), ("å" * 33, 0), ("å" * 34, 1)]
)
def test_a_line_folds_after_75_octets_and_never_in_a_character(title: str, folds: int) -> None:
    """3.1: `SUMMARY:` and 67 more octets make 75; a fold may come before that."""
    data = calendar([replace(event(), title=title)], "Jetty", "", TODAY)
    begin = data.index(b"\r\nSUMMARY") + 2
    line = data[begin : data.index(b"\r\nDTSTART")]
    assert line.count(b"\r\n ") == folds
    for piece in line.split(b"\r\n"):
        assert len(piece) <= 75
        piece.decode()


def test_text_is_escaped_by_the_standard() -> None:
    """3.3.11: backslash, semicolon, comma and new line are escaped, a colon never is."""
    one = replace(event(), title="Boat: 7 a;b,c\\d", description="a;b,c\\d\ne: f")
    data = calendar([one], "a;b,c\\d", "", TODAY)
    assert b"SUMMARY:Boat: 7 a\\;b\\,c\\\\d\r\n" in data
    assert b"DESCRIPTION:a\\;b\\,c\\\\d\\ne: f\r\n" in data
    assert b"\nNAME:a\\;b\\,c\\\\d\r\n" in data


def test_a_stamp_stands_in_utc_and_a_naive_one_is_refused() -> None:
    """3.8.7.2: DTSTAMP must be in UTC."""
    stockholm = datetime.fromisoformat("2026-12-02T09:00:00+01:00")
    assert b"DTSTAMP:20261202T080000Z" in calendar(
        [replace(event(), stamp=stockholm)], "Jetty", "", TODAY
    )
    with pytest.raises(ValueError, match="zone"):
        feed(replace(event(), stamp=datetime(2026, 12, 2, 9)))


# -- alarms ---------------------------------------------------------------------------------------


def test_there_is_no_alarm_unless_it_is_asked_for() -> None:
    assert feed(event()).of("VEVENT")[0].children == []


@pytest.mark.parametrize(
    ("alarm", "rings"), [("day before", "2031-11-30 09:00"), ("same day", "2031-12-01 09:00")]
)
def test_an_alarm_rings_at_nine_where_the_reader_is(alarm: str, rings: str) -> None:
    """3.8.6.3: for a DATE the trigger counts from 00:00:00 of the reader's own time zone."""
    (item,) = feed(event(CLEAR, date(2031, 12, 1)), alarm=alarm).of("VEVENT")
    (ring,) = item.children
    assert item.rings(ring) == datetime.fromisoformat(rings)
    assert ring["ACTION"] == "DISPLAY"
    assert ring["DESCRIPTION"] == "Plover: impeller, due 1 Dec"


def test_an_alarm_that_would_have_rung_yesterday_is_left_out() -> None:
    late = event(OVERDUE, date(2031, 5, 2), overdue_since=TODAY.toordinal() - 9)
    assert feed(late, alarm="day before").of("VEVENT")[0].children == []
    assert len(feed(late, alarm="same day").of("VEVENT")[0].children) == 1


def test_what_cannot_be_meant_is_refused() -> None:
    with pytest.raises(ValueError, match="day before or same day"):
        feed(event(), alarm="soon")
    with pytest.raises(ValueError, match="refresh_hours"):
        feed(event(), refresh_hours=0)
    with pytest.raises(ValueError, match="same UID"):
        feed(event(), event())


# -- always alike ---------------------------------------------------------------------------------


@steady
@given(feeds, texts)
def test_the_same_events_give_the_same_bytes(some: list[Event], name: str) -> None:
    assert calendar(some, name, name, TODAY) == calendar(list(some), name, name, TODAY)


def test_the_same_state_gives_the_same_bytes_at_another_hour() -> None:
    """3.8.7.2: a stamp is of the last change, not of the rendering."""
    some = events_of([row(), row(DUE, date(2031, 5, 20), engine="Heron")], FLEET, TODAY)
    first, state = settled(some, {}, TODAY, NOW)
    again, _ = settled(some, state, TODAY, NOW + timedelta(hours=7))
    assert calendar(first, "Jetty", "", TODAY) == calendar(again, "Jetty", "", TODAY)


def test_the_calendar_is_as_old_as_its_last_change() -> None:
    """7986, 5.4: when the calendar was last revised, be it in one event or as a whole."""
    midnight = datetime(2031, 5, 12, tzinfo=UTC)
    assert feed(replace(event(), stamp=NOW))["LAST-MODIFIED"] == NOW
    assert feed(replace(event(), stamp=NOW - timedelta(days=40)))["LAST-MODIFIED"] == midnight
    assert feed()["LAST-MODIFIED"] == midnight
    read = read_feed(calendar([replace(event(), stamp=NOW)], "Jetty", "", NOW + timedelta(hours=1)))
    assert read["LAST-MODIFIED"] == NOW + timedelta(hours=1)


def test_an_alarm_stays_as_it_is_while_nothing_changes() -> None:
    """The days that pass leave a feed alone in which nothing changed, rung alarms included."""
    one = replace(event(CLEAR, date(2031, 5, 20)), stamp=NOW)
    assert len(feed(one, alarm="day before").of("VEVENT")[0].children) == 1
    months_later = calendar([one], "Jetty", "", date(2031, 9, 1), alarm="day before")
    assert b"BEGIN:VALARM" in months_later


def test_a_service_day_takes_its_day() -> None:
    """3.8.2.7: OPAQUE blocks the day, for the boat is out of hire."""
    (item,) = feed(replace(event(), kind=SERVICE_DAY)).of("VEVENT")
    assert item["TRANSP"] == "OPAQUE"


def test_what_feeds_share_is_rendered_once_and_reads_the_same() -> None:
    kept: dict[tuple[Event, str | None], bytes] = {}
    some = [event(), event(engine="Heron")]
    for alarm in (None, "same day"):
        plainly = calendar(some, "Jetty", "", TODAY, alarm=alarm)
        assert calendar(some, "Jetty", "", TODAY, alarm=alarm, rendered=kept) == plainly
        assert calendar(some, "Jetty", "", TODAY, alarm=alarm, rendered=kept) == plainly
    assert len(kept) == 4


def test_a_calendar_keeps_its_own_uid() -> None:
    """7986, 5.3: the calendar's UID is persistent and unique."""
    assert feed(event())["UID"] == feed()["UID"]
    mine = event_uid(FLEET, "calendar", "Jetty")
    assert feed(uid=mine)["UID"] == mine
    assert read_feed(calendar([], "Depot", "", TODAY))["UID"] != feed()["UID"]


WILD = st.text(st.characters(exclude_categories=("Cs",)), max_size=300)


@steady
@given(
    st.builds(
        Event,
        engine=st.just("Plover"), boat=st.none(), task=st.just("plugs"),
        uid=st.uuids().map(str), on=st.dates(date(1970, 1, 2), date(2200, 1, 1)), title=WILD,
        description=WILD | st.sampled_from(["@title@", "@uid@ 20010103T040506Z 987654321"]),
        status=st.sampled_from(["due", "overdue", "clear", "no record"]),
        categories=st.lists(WILD, min_size=1, max_size=3).map(tuple),
        kind=st.sampled_from([JOB, EARLY, SEASON_MARK, SERVICE_DAY]),
        sequence=st.integers(0, 10**6), stamp=st.just(NOW),
    ),
    st.sampled_from([None, *ALARMS]),
)  # fmt: skip
def test_events_are_written_just_as_the_library_writes_each(
    event: Event, alarm: str | None
) -> None:
    """The quick way, values put into a pattern, against the library given every event anew."""
    rings = alarm if alarm is not None and module._rings(event, alarm) else None
    service, color = event.kind == SERVICE_DAY, COLORS.get(event.status)
    slow = module._item(event, service, color, rings).to_ical()
    assert module._octets(event, alarm) == slow
