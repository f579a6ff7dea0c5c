"""Vanes missing, held; a new impeller, still held; the pieces found, and it goes.

At every step the morning list, the due list and the feed must say the same. That an impeller
over an old fragment overheats again: Cooling system repair tips.
"""

from __future__ import annotations

from pathlib import Path

from icalendar import Calendar

from tests.cli.typed import TODAY, fleetcare, row, rows

ENGINE, BOAT = "OB-05", "Boat 5"


def verdict(boat: str = BOAT) -> dict[str, object]:
    return next(item for item in rows("morning") if item["boat"] == boat)


def in_feed(engine: str, task: str) -> dict[str, str] | None:
    """The job's event: its title and day."""
    fleetcare("feed", "write", "fleet.ics")
    for event in Calendar.from_ical(Path("fleet.ics").read_bytes()).walk("VEVENT"):
        title = str(event["SUMMARY"])
        if title.startswith(f"{engine}: {task},"):
            return {"title": title, "on": event["DTSTART"].dt.isoformat()}
    return None


def test_the_story_of_the_missing_vanes(ondrel: Path) -> None:
    assert verdict()["verdict"] != "held"
    assert row(ENGINE, "impeller")["status"] == "clear"

    said = fleetcare("found", ENGINE, "impeller vanes", "missing", "--count", 2)
    assert f"{ENGINE} is held: impeller vanes missing (2)" in said.out
    assert verdict()["verdict"] == "held"
    assert "wanted: impeller, water tube" in str(verdict()["reason"])
    for task in ("impeller", "water tube"):
        wanted = row(ENGINE, task)
        assert (wanted["status"], wanted["overdue_since"]) == ("overdue", TODAY)
        assert wanted["held"] and "vanes missing (2)" in wanted["reason"]
        event = in_feed(ENGINE, task)
        assert event is not None and "overdue" in event["title"] and event["on"] == TODAY
    assert rows("due")[0]["held"]
    fleetcare("due", "--engine", ENGINE, "--check", code=3)

    said = fleetcare("done", ENGINE, "impeller")
    assert f"{ENGINE} is still held: impeller vanes missing (2)" in said.out
    assert "to be seen: water tube clear or pieces found" in said.out
    assert verdict()["verdict"] == "held"
    assert row(ENGINE, "impeller")["status"] == "clear"
    assert row(ENGINE, "water tube")["status"] == "overdue"
    event = in_feed(ENGINE, "impeller")
    assert event is None or "overdue" not in event["title"]
    assert in_feed(ENGINE, "water tube") is not None

    fleetcare("done", ENGINE, "water tube", "--found", "pieces found", "--count", 1)
    assert verdict()["verdict"] == "held"
    fleetcare("found", ENGINE, "water tube", "pieces found", "--count", 1)
    assert verdict()["verdict"] != "held"
    assert not row(ENGINE, "water tube")["held"]
    # what the tube gave up asks for a look further on, and holds nobody
    assert row(ENGINE, "thermostat")["reason"].startswith("water tube pieces found")


def test_the_hold_and_the_clock_go_with_the_gearcase(ondrel: Path) -> None:
    before = row(ENGINE, "impeller")
    # a swap counts from the start of its day, so what was found before it is of an earlier day
    fleetcare("found", ENGINE, "impeller vanes", "missing", "--count", 2, "--on", "yesterday")
    fleetcare("swap", ENGINE, "OB-06", "gearcase")
    assert verdict()["verdict"] != "held"
    assert verdict("Boat 6")["verdict"] == "held"
    there = row("OB-06", "impeller")
    assert (there["status"], there["hours_since"]) == ("overdue", before["hours_since"])
    assert there["last_done_on"] == before["last_done_on"]
    assert in_feed("OB-06", "water tube") is not None
    fleetcare("done", "OB-06", "impeller")
    fleetcare("done", "OB-06", "water tube", "--found", "clear")
    assert verdict("Boat 6")["verdict"] != "held"


def test_a_withdrawn_finding_holds_nobody(ondrel: Path) -> None:
    fleetcare("found", ENGINE, "impeller vanes", "missing", "--count", 2)
    assert verdict()["verdict"] == "held"
    fleetcare("undo")
    assert verdict()["verdict"] != "held"
    assert "missing" not in row(ENGINE, "water tube")["reason"]


def test_why_counts_from_the_greasing_that_was_done(small: Path) -> None:
    fleetcare("done", "Plover", "swivel grease", "--on", "2026-05-01", "--found", "top and bottom")
    fleetcare("done", "Plover", "swivel grease", "--on", "2026-07-01", "--found", "none")
    assert row("Plover", "swivel grease")["last_done_on"] == "2026-05-01"
    assert "Clock: from 2026-05-01" in fleetcare("why", "Plover", "swivel grease").out
