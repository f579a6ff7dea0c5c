"""The feed on the command line: what was sent is remembered for today alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from freezegun import freeze_time

from tests.cli.typed import fleetcare, one_line, refused, written

ICS = Path("fleet.ics")


def sequences() -> list[int]:
    text = ICS.read_text(encoding="utf-8")
    return [int(found) for found in re.findall(r"^SEQUENCE:(\d+)", text, re.M)]


def events() -> int:
    return ICS.read_text(encoding="utf-8").count("BEGIN:VEVENT")


def test_todays_feed_is_remembered_and_written_again_is_left_alone(small: Path) -> None:
    assert one_line(fleetcare("feed", "write", ICS).out) == f"{ICS}: {events()} events."
    assert len(written(small)["sent"]) == events()
    before, stat = written(small), ICS.stat()
    said = one_line(fleetcare("feed", "write", ICS).out)
    assert said == f"{ICS}: {events()} events, unchanged."
    assert written(small) == before
    assert (ICS.stat().st_mtime_ns, ICS.stat().st_ino) == (stat.st_mtime_ns, stat.st_ino)


def test_a_job_that_moves_is_sent_with_the_next_number(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    assert set(sequences()) == {0}
    fleetcare("done", "Plover", "gear oil", "--found", "clean")
    fleetcare("feed", "write", ICS)
    assert 1 in sequences()


def test_another_day_neither_reads_nor_changes_what_was_sent(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    fleetcare("done", "Plover", "gear oil", "--found", "clean")
    fleetcare("feed", "write", ICS)
    before = written(small)
    for day in ("2026-07-17", "2026-08-01"):
        fleetcare("feed", "write", ICS, "--as-of", day)
        assert set(sequences()) == {0}
        assert "DTSTAMP:" + day.replace("-", "") + "T000000Z" in ICS.read_text(encoding="utf-8")
        assert written(small) == before


def test_an_overdue_event_steps_to_the_next_day(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    with freeze_time("2026-07-19 08:00:00"):
        fleetcare("feed", "write", ICS)
    assert 1 in sequences()


def test_no_alarm_unless_asked_for(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    assert "VALARM" not in ICS.read_text(encoding="utf-8")
    fleetcare("feed", "write", ICS, "--alarm")
    assert "VALARM" in ICS.read_text(encoding="utf-8")
    fleetcare("feed", "write", ICS, "--alarm", "same-day", "--name", "Jobs of ours")
    assert "Jobs of ours" in ICS.read_text(encoding="utf-8")


def test_a_folder_is_made_and_a_fleet_without_engines_has_an_empty_feed(fleet: Path) -> None:
    fleetcare("new")
    assert fleetcare("feed", "write", "out/fleet.ics").out == "out/fleet.ics: 0 events.\n"
    assert Path("out/fleet.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


@pytest.mark.parametrize("words", [("write", "fleet.ics")])
def test_without_a_fleet_no_feed_is_written(fleet: Path, words: tuple[str, ...]) -> None:
    assert "no fleet yet" in one_line(refused(fleet, "feed", *words))
    assert not ICS.exists()


def test_what_waits_on_a_held_engine_says_first_that_it_must_not_go_out(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    assert "must not go out" not in ICS.read_text(encoding="utf-8")
    fleetcare("found", "Plover", "tell-tale", "weak")
    fleetcare("feed", "write", ICS)
    whole = ICS.read_bytes().decode().replace("\r\n ", "")
    told = {
        re.findall(r"SUMMARY:(\w+: [\w -]+)", event)[0]: "Held\\, it must not go out" in event
        for event in whole.split("BEGIN:VEVENT")[1:]
        if "SUMMARY:Plover: " in event or "SUMMARY:Knot: " in event
    }
    assert told["Plover: intakes look"] and not told["Knot: tank flush"]
    assert (
        "Held\\, it must not go out: tell-tale weak on 18 Jul 2026\\; "
        "wanted: intakes look\\, tell-tale hose\\; to be seen: tell-tale strong cool.\\n"
    ) in whole
    assert all(not held for name, held in told.items() if name.startswith("Knot"))


def test_a_dash_writes_the_same_feed_to_stdout(small: Path) -> None:
    fleetcare("feed", "write", ICS)
    said = fleetcare("feed", "write", "-")
    assert said.out.splitlines() == ICS.read_bytes().decode().splitlines()
    assert not Path("-").exists()


def test_an_engine_nobody_ever_read_is_not_said_to_have_been_read_on_its_first_day(
    small: Path,
) -> None:
    # Knot has no meter and never ran; the morning list says of its boat: never read
    fleetcare("feed", "write", ICS)
    whole = ICS.read_bytes().decode().replace("\r\n ", "")
    assert "last reading or run: Knot (never)\\, Plover (1 Apr 2026)." in whole
    fleetcare("run", "Knot", 3, "--on", "2026-07-04")
    fleetcare("feed", "write", ICS)
    assert "Knot (never)" not in ICS.read_bytes().decode().replace("\r\n ", "")
