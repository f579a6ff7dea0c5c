"""The invented hire fleet's story, as its tour and its lists tell it."""

from __future__ import annotations

import re
from pathlib import Path

from tests.cli.typed import TODAY, fleetcare, one_line, refused, row, rows, written

PRECURSORS = {"overheating", "seized swivel"}
PROOFS = [
    ("OB-14", "tell-tale", "strong cool"),
    ("OB-14", "water tube", "pieces found", "--count", 2),
    ("OB-17", "gearcase test", "holds"),
    ("OB-17", "gear oil", "clean"),
]


def test_the_engine_with_a_weak_tell_tale_stands_first_and_is_held(ondrel: Path) -> None:
    first = rows("morning")[0]
    assert (first["boat"], first["engine"], first["verdict"]) == ("Boat 14", "OB-14", "held")
    assert first["reason"].startswith(
        "tell-tale weak, 28 Jun; overheated, 5 Jul; impeller vanes missing (2), 6 Jul; wanted: "
    )
    assert "impeller overdue since 6 Apr 2024 (leads to overheating)" in first["reason"]
    assert fleetcare("morning").lines[2].startswith("Boat 14  OB-14   held     tell-tale weak")


def test_the_swivel_that_went_stiff_had_been_overdue_for_a_year(ondrel: Path) -> None:
    # last greased 2 April 2025; 60 days are past on 1 June, overdue on the next day
    grease = row("OB-21", "swivel grease")
    assert (grease["status"], grease["overdue_since"]) == ("overdue", "2025-06-02")
    assert grease["leads_to"] == ["seized swivel"]
    boat = next(item for item in rows("morning") if item["boat"] == "Boat 21")
    assert "swivel grease overdue since 2 Jun 2025 (leads to seized swivel)" in boat["reason"]
    assert "swivel stiff, 20 Jun" in boat["reason"]
    assert row("OB-21", "swivel grease", "--as-of", "2025-06-02")["status"] == "overdue"
    assert row("OB-21", "swivel grease", "--as-of", "2025-06-01")["status"] == "due"


def test_check_is_quiet_once_every_precursor_and_every_wanted_job_is_logged(ondrel: Path) -> None:
    fleetcare("due", "--check", code=3)
    out_today = rows("morning")
    going = {item["engine"] for item in out_today}
    jobs = {
        (item["engine"], item["task"])
        for item in rows("due")
        if item["engine"] in going
        and item["status"] in ("overdue", "no record")
        and PRECURSORS & set(item["leads_to"])
    }
    for item in out_today:
        if item["verdict"] == "held":
            wanted = re.search(r"wanted: ([^;]*)", item["reason"])
            assert wanted
            jobs |= {(item["engine"], task) for task in wanted[1].split(", ")}
    assert {engine for engine, _ in jobs} == {"OB-12", "OB-14", "OB-17", "OB-19", "OB-21"}
    for engine in sorted({engine for engine, _ in jobs}):
        fleetcare("done", engine, *sorted(task for name, task in jobs if name == engine))
    fleetcare("due", "--check", code=3)  # done, and nothing proves it yet
    for engine, part, word, *count in PROOFS:
        fleetcare("found", engine, part, word, *count)
    fleetcare("due", "--check")
    assert "held" not in {item["verdict"] for item in rows("morning")}


def test_hours_went_to_the_spare_while_the_own_engine_was_away(ondrel: Path) -> None:
    assert row("OB-03", "impeller")["boat"] is None
    assert row("Spare A", "impeller")["boat"] == "Boat 3"


def test_a_gearcase_of_unknown_past_has_no_record(ondrel: Path) -> None:
    assert row("OB-19", "impeller")["status"] == "no record"
    assert row("OB-19", "impeller", "--as-of", "2026-07-07")["status"] == "clear"


def test_the_tour_says_each_command_and_where_the_files_are(fleet: Path) -> None:
    said = fleetcare("demo", "here").out
    assert f"its today is {TODAY}" in said
    assert said.count("\n$ fleetcare ") == 4
    assert "Boat 14  OB-14   held" in said
    assert "The fleet is in here/fleet.db, the calendar feed in here/fleet.ics." in said
    assert Path("here/fleet.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")
    last = said.splitlines()[-1].removeprefix("Try: fleetcare ")
    assert last == f'why --fleet here/fleet.db --as-of {TODAY} OB-21 "swivel grease"'
    assert not fleet.exists()
    assert len(written(Path("here/fleet.db"))["log"]) == 4414


def test_the_other_two_fleets_have_their_tours(fleet: Path) -> None:
    for name in ("tavvik", "pim"):
        said = fleetcare("demo", name, "--of", name).out
        words = said.splitlines()[-1].removeprefix("Try: fleetcare ").split()
        assert fleetcare(*words).out


def test_a_tour_never_overwrites_a_fleet(fleet: Path) -> None:
    Path("here").mkdir()
    Path("here/fleet.db").write_text("mine", encoding="utf-8")
    said = fleetcare("demo", "here", code=1)
    assert "exists already" in one_line(said.err)
    assert Path("here/fleet.db").read_text(encoding="utf-8") == "mine"
    assert refused(fleet, "due")
