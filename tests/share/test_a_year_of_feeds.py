"""A year of days: what one engine's log changes moves no other engine's event."""

from __future__ import annotations

import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from fleetcare.due.rows import due_list
from fleetcare.rules.shipped import read_book
from fleetcare.share.audiences import from_kept
from fleetcare.share.feeds import current, settled_feeds
from fleetcare.share.sight import Sight, sight
from fleetcare.store.fleet_file import FleetFile
from fleetcare.usage.outlooks import Forecast
from tests.share.small_feeds import TODAY, old_fleet, type_
from tests.show.feed_reader import Component, read_feed

BOOK = read_book(None, {"small-petrol"})
Told = tuple[Path, list[tuple[date, dict[str, Component], dict[str, Component]]]]
STEP, DAYS = 6, 366
CHANGED = TODAY + timedelta(120)


def look(path: Path, as_of: date) -> Sight:
    """The fleet as feeds see it on a day, by the forecast."""
    with FleetFile(path) as file:
        fleet, history = file.fleet(), file.history(as_of)
    rows = due_list(fleet, history, BOOK, as_of, forecast=Forecast(BOOK.uses))
    return sight(fleet, history, BOOK, rows, as_of)


def sent(path: Path, as_of: date) -> dict[str, Component]:
    """The whole fleet's feed of a day as it goes out, its events by UID."""
    now = datetime(as_of.year, as_of.month, as_of.day, 5, tzinfo=UTC)
    seen = look(path, as_of)
    audience = from_kept("fleet", seen.fleet)
    with FleetFile(path) as file:
        feeds = current(
            file,
            lambda: seen,
            lambda connection, known: settled_feeds(connection, known, [audience], now),
        )
    events = read_feed(feeds[audience].content()).of("VEVENT")
    by_uid = {str(event["UID"]): event for event in events}
    assert len(by_uid) == len(events)
    return by_uid


def about(event: Component) -> str:
    """Whose and which event it is, without its day."""
    return str(event["SUMMARY"]).rpartition(",")[0] or str(event["SUMMARY"])


def said(event: Component | None) -> list[object] | None:
    """What is sent of it, its description and stamps apart."""
    keys = ("DTSTART", "DTEND", "SUMMARY", "CATEGORIES", "SEQUENCE", "STATUS")
    return None if event is None else [event[key] for key in keys]


def warned(event: Component) -> bool:
    """Whether it stands first and carries the warning that some figures are old."""
    return str(event["DESCRIPTION"]).startswith("Figures over")


def values(event: Component) -> dict[str, list[tuple[object, ...]]]:
    """Every property as it is written."""
    return {
        name: [(item.params, item.value) for item in items]
        for name, items in event.properties.items()
    }


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Told:
    """Day by day the feeds of a fleet, and of one in which Plover is used and mended otherwise."""
    place = tmp_path_factory.mktemp("year")
    plain, other = place / "plain.db", place / "other.db"
    old_fleet(plain)
    shutil.copy(plain, other)
    days = []
    for after in range(0, DAYS, STEP):
        day = TODAY + timedelta(after)
        if day == CHANGED:
            type_(other, "reading", "Plover", 395, "--on", CHANGED)
            type_(other, "done", "Plover", "gear oil", "anodes", "--on", CHANGED)
            type_(other, "found", "Plover", "swivel", "stiff", "--on", CHANGED)
        days.append((day, sent(plain, day), sent(other, day)))
    return plain, days


def test_changing_one_engine_changes_no_other_engines_event(told: Told) -> None:
    _, days = told
    assert (CHANGED - TODAY).days % STEP == 0
    moved = 0
    for _, plain, other in days:
        for uid in plain.keys() | other.keys():
            one, two = plain.get(uid), other.get(uid)
            told_of = one or two
            assert told_of is not None
            if "Plover" in about(told_of):
                moved += said(one) != said(two)
                continue
            assert one is not None and two is not None
            assert said(one) == said(two)
            if not warned(one) and not warned(two):
                assert values(one) == values(two)
    assert moved > 50


def test_a_uid_is_one_job_of_one_engine_all_the_year(told: Told) -> None:
    _, days = told
    names: dict[str, str] = {}
    for _, plain, other in days:
        for uid, event in (*plain.items(), *other.items()):
            assert names.setdefault(uid, about(event)) == about(event)
    assert len(names) > 60


def test_sequence_never_falls_and_rises_only_with_day_title_or_status(told: Told) -> None:
    _, days = told
    for at in (1, 2):
        last: dict[str, Component] = {}
        for day in days:
            for uid, event in (day[1] if at == 1 else day[2]).items():
                before = last.get(uid)
                if before is not None:
                    same = all(
                        event[key] == before[key] for key in ("DTSTART", "SUMMARY", "CATEGORIES")
                    )
                    assert event["SEQUENCE"] >= before["SEQUENCE"]
                    if same:
                        assert event["SEQUENCE"] == before["SEQUENCE"], event
                last[uid] = event


def test_a_restored_fleet_sends_the_same(told: Told, tmp_path: Path) -> None:
    plain, days = told
    copy, back = tmp_path / "copy.db", tmp_path / "back.db"
    type_(plain, "backup", copy)
    type_(back, "restore", copy)
    day, before, _ = days[-1]
    assert sent(back, day) == before
    assert {*sent(back, day + timedelta(1))} == {*sent(plain, day + timedelta(1))}
