"""Boats and engines: added, listed, moved, mounted, renamed, retired."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import fleetcare, one_line, refused, row, rows, written


def test_a_boat_is_added_listed_and_shown(small: Path) -> None:
    said = fleetcare("boat", "add", "Teal", "--use", "club", "--water", "brackish", "--place", "B")
    assert said.out == "added boat Teal: club, brackish water\n"
    assert "Teal     club  brackish  B" in fleetcare("boat", "list").out
    assert fleetcare("boat", "show", "teal").lines == [
        "Teal: club, B, since 2026-07-18",
        "  brackish water from 2026-07-18",
    ]


def test_a_move_counts_from_its_day(small: Path) -> None:
    said = fleetcare("boat", "move", "Lapwing", "brackish", "--on", "2026-06-01", "--by", "office")
    assert said.out.startswith("stored entry 3: 2026-06-01 Lapwing moved to brackish water")
    assert "  brackish water from 2026-06-01" in fleetcare("boat", "show", "Lapwing").lines
    assert row("Plover", "gear oil", "--as-of", "2026-05-31")["water"] == "fresh"
    assert row("Plover", "gear oil")["water"] == "brackish"


@pytest.mark.parametrize("water", ["fresh", "brackish", "salt"])
def test_a_boat_moves_to_the_water_that_was_said(small: Path, water: str) -> None:
    fleetcare("boat", "move", "Dunlin", water)  # it lay in salt water
    assert row("Knot", "flush")["water"] == water
    fleetcare("boat", "add", "Reed", "--use", "club", "--water", water)
    assert f"Reed     club  {water}" in fleetcare("boat", "list").out


def test_a_boat_with_an_engine_on_it_is_not_retired(small: Path) -> None:
    said = one_line(refused(small, "boat", "retire", "Lapwing"))
    assert 'fleetcare engine into-store "Plover"' in said
    fleetcare("engine", "into-store", "Plover")
    fleetcare("boat", "retire", "Lapwing")
    assert "Lapwing" not in fleetcare("boat", "list").out


def test_what_is_said_of_the_past_starts_clocks(small: Path) -> None:
    said = fleetcare(
        "engine", "add", "Teal", "--hp", "9.9", "--reading", "300", "--boat", "Lapwing",
        "--last", "impeller=2026-06-10@250", "--last", "gear oil=2026-06-10",
    )  # fmt: skip
    assert said.lines[0] == "added engine Teal, on Lapwing"
    assert said.lines[1].startswith("stored entry 3: 2026-06-10 Teal: impeller done at 250 h")
    impeller, plugs = row("Teal", "impeller"), row("Teal", "plugs")
    assert (impeller["last_done_on"], impeller["last_done_hours"]) == ("2026-06-10", 250.0)
    assert (impeller["hours_since"], impeller["status"]) == (50.0, "clear")
    assert plugs["status"] == "no record"


def test_a_new_engine_starts_its_clocks_the_day_it_came(small: Path) -> None:
    fleetcare("engine", "add", "Teal", "--new", "--boat", "Dunlin", "--hp", "4")
    assert row("Teal", "impeller")["status"] == "clear"


def test_tasks_of_parts_it_has_not_have_no_row(small: Path) -> None:
    fleetcare("engine", "add", "Teal", "--new", "--without", "thermostat")
    assert "thermostat" not in {item["task"] for item in rows("due", "--engine", "Teal")}


def test_engines_are_listed_with_where_they_are_and_what_they_read(small: Path) -> None:
    fleetcare("lay-up", "Plover")
    said = fleetcare("engine", "list").lines
    assert said[2].split() == ["Plover", "Lapwing", "laid", "up", "6", "250"]
    assert said[3].split() == ["Knot", "Dunlin", "6", "no", "meter"]
    assert said[4].split() == ["Spare", "in", "store", "6", "90"]


def test_an_engine_moves_and_its_history_with_it(small: Path) -> None:
    fleetcare("engine", "into-store", "Plover", "--on", "2026-07-01")
    fleetcare("engine", "mount", "Spare", "Lapwing", "--on", "2026-07-01")
    fleetcare("engine", "mount", "Plover", "Dunlin", "--on", "2026-07-10")
    assert "from 2026-07-01: in store" in fleetcare("engine", "show", "Plover").out
    assert "from 2026-07-10: Dunlin" in fleetcare("engine", "show", "Plover").out
    assert row("Plover", "impeller")["boat"] == "Dunlin"
    assert row("Plover", "impeller")["last_done_on"] == "2026-03-20"


def test_a_renamed_engine_answers_to_both_names(small: Path) -> None:
    assert fleetcare("engine", "rename", "Plover", "Redshank").out == (
        "Plover is now Redshank; it also answers to Plover\n"
    )
    fleetcare("engine", "also-called", "Redshank", "the old six")
    for name in ("Plover", "redshank", "The Old Six"):
        assert fleetcare("reading", name, 251, "-n").out.startswith("would store 2026-07-18 Redsh")


def test_a_retired_engine_leaves_the_lists_and_keeps_its_history(small: Path) -> None:
    fleetcare("engine", "retire", "Plover")
    assert {item["engine"] for item in rows("due")} == {"Knot", "Spare"}
    assert {item["boat"] for item in rows("morning")} == {"Dunlin"}
    assert "retired" in fleetcare("history", "Plover").out
    assert "retired" in fleetcare("engine", "list").lines[2]
    assert "or retired" in one_line(refused(small, "why", "Plover", "impeller"))


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("add", "Teal"), "what does its hour meter show? --reading FIGURE"),
        (("add", "Teal", "--new", "--hp", "six"), 'takes a number such as 12.5, not "six"'),
        (("add", "Teal", "--new", "--boat", "Lapwng"), 'no boat "Lapwng". Did you mean "Lapwing"?'),
        (("add", "Teal", "--new", "--rules", "hirr"), 'Did you mean "hire"?'),
        (("add", "Teal", "--new", "--last", "impeller"), "TASK=DATE"),
        (("add", "Teal", "--new", "--last", "impellr=2026-01-01"), 'Did you mean "impeller"'),
        (("add", "Teal", "--new", "--last", "impeller=2027-01-01"), "lies in the future"),
        (("add", "Teal", "--new", "--last", "impeller=1/2/2026"), "2026-02-01 or 2026-01-02"),
        (("add", "Teal", "--new", "--without", "impellr"), 'Did you mean "impeller"'),
        (("add", "plover", "--new"), "exists already"),
        (("add", "a;b", "--new"), "holds a "),
        (("add", "a\x1b[31mb", "--new"), "control character"),
        (("add", "x" * 81, "--new"), "longer than 80 characters"),
        (("rename", "Plover", "Knot"), "exists already"),
        (("also-called", "Plover", "knot"), "exists already"),
        (("mount", "Plover", "Lapwing"), 'is on boat "Lapwing" already'),
        (("into-store", "Spare"), "is in store already"),
        (("show", "Plovr"), 'no engine "Plovr". Did you mean "Plover"?'),
    ],
)
def test_what_cannot_be_of_an_engine_is_refused(
    small: Path, words: tuple[str, ...], hint: str
) -> None:
    assert hint in one_line(refused(small, "engine", *words))


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("add", "Lapwing", "--use", "hire", "--water", "salt"), "exists already"),
        (("show", "Lapwng"), 'Did you mean "Lapwing"?'),
        (("move", "Lapwing", "salt", "--on", "2026-01-01"), "before it was known"),
    ],
)
def test_what_cannot_be_of_a_boat_is_refused(
    small: Path, words: tuple[str, ...], hint: str
) -> None:
    assert hint in one_line(refused(small, "boat", *words))


def test_an_empty_fleet_says_how_to_add(fleet: Path) -> None:
    fleetcare("new")
    assert "(fleetcare engine add)" in one_line(refused(fleet, "history", "Plover"))
    assert fleetcare("engine", "list").lines[0].startswith("Engine")
    assert written(fleet)["engine"] == []
