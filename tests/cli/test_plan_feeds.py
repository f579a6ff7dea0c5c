"""A kept plan in the feeds: who gets which of its days, and what changes them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import TODAY, fleetcare, row
from tests.show.feed_reader import Component, read_feed

QUICK = ("--effort", 0)


@pytest.fixture
def planned(small: Path) -> dict[str, Any]:
    """A small fleet whose plan is kept, and that plan."""
    said = fleetcare("plan", *QUICK, "--format", "json")
    fleetcare("plan", *QUICK, "--fix")
    found: dict[str, Any] = json.loads(said.out)
    return found


def service(*audience: str) -> list[Component]:
    """The service days that an audience's feed shows."""
    fleetcare("feed", "write", "out.ics", "--of", *audience)
    events = read_feed(Path("out.ics").read_bytes()).of("VEVENT")
    return [event for event in events if "service day" in event["CATEGORIES"]]


def visits(found: dict[str, Any], boat: str) -> list[str]:
    """The days on which a boat comes in."""
    return sorted(
        day["on"] for day in found["days"] for visit in day["visits"] if visit["boat"] == boat
    )


def days(events: list[Component]) -> list[str]:
    return sorted(event["DTSTART"].isoformat() for event in events)


def test_without_a_kept_plan_no_feed_has_a_service_day(small: Path) -> None:
    fleetcare("plan", *QUICK)
    assert service("fleet") == service("service-days") == []


def test_each_audience_gets_the_days_that_concern_it(planned: dict[str, Any]) -> None:
    every = sorted(day["on"] for day in planned["days"])
    assert days(service("service-days")) == days(service("fleet")) == every
    assert days(service("boat", "Dunlin")) == visits(planned, "Dunlin")
    assert days(service("engine", "Plover")) == visits(planned, "Lapwing")
    assert days(service("use", "hire")) == sorted(
        visits(planned, "Dunlin") + visits(planned, "Lapwing")
    )
    assert service("hot-or-stiff") == service("task", "impeller") == []
    assert {event["TRANSP"] for event in service("boat", "Dunlin")} == {"OPAQUE"}


def test_a_job_done_leaves_its_visit_and_an_empty_visit_its_day(planned: dict[str, Any]) -> None:
    day = planned["days"][0]
    engine, *others = day["visits"]
    tasks = [job["task"] for job in engine["jobs"]]
    before = service("engine", engine["engine"])[0]
    fleetcare("done", engine["engine"], tasks[0])
    after = service("engine", engine["engine"])[0]
    assert after["UID"] == before["UID"]
    left_over = [task for task in tasks if row(engine["engine"], task)["last_done_on"] != TODAY]
    assert tasks[0] not in left_over
    assert f"To do: {', '.join(left_over)}." in after["DESCRIPTION"].split("\n")
    assert after["SEQUENCE"] == before["SEQUENCE"] + 1  # its title counts the jobs
    for task in tasks[1:]:
        fleetcare("done", engine["engine"], task)
    left = [event for event in service("engine", engine["engine"])
            if event["DTSTART"].isoformat() == day["on"]]  # fmt: skip
    assert left == []
    whole = [event for event in service("fleet") if event["DTSTART"].isoformat() == day["on"]]
    assert len(whole) == bool(others)


def test_keeping_the_same_plan_again_changes_no_feed(planned: dict[str, Any]) -> None:
    fleetcare("feed", "add", "jetty", "--of", "service-days", "--publish-to", "feeds")
    assert ", 0 changed." in fleetcare("feed", "publish").out
    fleetcare("plan", *QUICK, "--fix", "--frozen", 365)
    assert ", 0 changed." in fleetcare("feed", "publish").out
    fleetcare("settings", "open_days", "thu")
    fleetcare("plan", *QUICK, "--fix")
    assert ", 1 changed." in fleetcare("feed", "publish").out
    feed = next(Path("feeds").glob("*.ics"))
    assert {event["DTSTART"].weekday() for event in read_feed(feed.read_bytes()).of("VEVENT")} == {
        3
    }


def test_the_server_hands_out_a_plan_as_soon_as_it_is_kept(small: Path) -> None:
    from fleetcare.cli.feed_serve import _feeds

    fleetcare("feed", "add", "jetty", "--of", "service-days", "--publish-to", "feeds")
    feeds = _feeds(Desk(fleet=str(small)))
    (before,) = feeds.current().values()
    fleetcare("plan", *QUICK, "--fix")
    (after,) = feeds.current().values()
    assert b"BEGIN:VEVENT" in after.plain and b"BEGIN:VEVENT" not in before.plain


def test_a_plan_that_cannot_be_read_leaves_feeds_as_they_are(small: Path) -> None:
    import sqlite3

    fleetcare("feed", "write", "before.ics")
    connection = sqlite3.connect(small)
    connection.execute("insert into plan (made, text) values (1, '{\"form\": 99}')")
    connection.commit()
    connection.close()
    said = fleetcare("feed", "write", "after.ics")
    assert "The plan that was kept cannot be read by this version" in said.err
    assert Path("before.ics").read_bytes() == Path("after.ics").read_bytes()
