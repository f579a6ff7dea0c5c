"""Bookings on the command line: what other calendars say of the boats, in all its forms."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.typed import fleetcare, one_line, refused

HIRES = Path("hires.ics")
LINES = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//test//EN
BEGIN:VEVENT
UID:a
SUMMARY:Lapwing\\, family
DTSTART;VALUE=DATE:20260720
DTEND;VALUE=DATE:20260723
END:VEVENT
BEGIN:VEVENT
UID:b
SUMMARY:Dunlin for the club
DTSTART:20260724T223000Z
STATUS:TENTATIVE
END:VEVENT
BEGIN:VEVENT
UID:c
SUMMARY:Dunlin
DTSTART;VALUE=DATE:20260730
DTEND;VALUE=DATE:20260728
END:VEVENT
BEGIN:VEVENT
UID:d
SUMMARY:Dinner
DTSTART;VALUE=DATE:20260730
END:VEVENT
END:VCALENDAR
"""


def test_boats_show_their_booked_days_and_what_was_not_understood(small: Path) -> None:
    HIRES.write_text(LINES, encoding="utf-8")
    fleetcare("settings", "timezone", "Europe/Stockholm")
    said = fleetcare("bookings", HIRES).out
    assert "Lapwing  20-22 Jul" in said
    dunlin = next(line.split() for line in said.splitlines() if line.startswith("Dunlin"))
    assert dunlin == ["Dunlin", "25", "Jul", "28-30", "Jul"]  # half past midnight in Stockholm
    assert '"Dinner": names no boat' in said
    assert '"Dunlin": ends before it begins; Dunlin unknown 28-30 Jul' in " ".join(said.split())


def test_json_holds_every_day_and_every_doubt(small: Path) -> None:
    HIRES.write_text(LINES, encoding="utf-8")
    words = ("--from", "2026-07-22", "--to", "2026-07-29", "--format", "json")
    said = json.loads(fleetcare("bookings", HIRES, *words).out)
    boats = {row["boat"]: row for row in said["rows"]}
    assert (said["from"], said["to"]) == ("2026-07-22", "2026-07-29")
    assert boats["Lapwing"]["booked"] == ["2026-07-22"]
    assert boats["Dunlin"]["unknown"] == ["2026-07-28", "2026-07-29"]
    assert [item["summary"] for item in said["misread"]] == ["Dunlin"]


def test_a_web_page_instead_of_a_calendar_leaves_every_boat_unknown(small: Path) -> None:
    HIRES.write_text("<html>", encoding="utf-8")
    rows = json.loads(fleetcare("bookings", HIRES, "--format", "json").out)["rows"]
    assert [len(row["unknown"]) for row in rows] == [61, 61]


def test_a_missing_file_a_backward_span_and_an_unknown_zone_are_refused(small: Path) -> None:
    assert "no file" in one_line(refused(small, "bookings", "none.ics"))
    HIRES.write_text(LINES, encoding="utf-8")
    assert "first" in one_line(refused(small, "bookings", HIRES, "--to", "2026-07-01"))
    assert "Europe/Oslo" in one_line(refused(small, "settings", "timezone", "Europe/Oslow"))
    assert "time zone" in one_line(refused(small, "settings", "timezone", "../etc"))
