"""Screens with names of any kind: wide letters, 80 characters, one engine, none."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import fleetcare, widest

OTTER = "かわうそ"  # four letters, eight columns
LONG = "The blue one with the dented bow that the club lent us for the summer regattas!!"
WORD = "x" * 80
SCREENS = (
    ("morning",),
    ("due",),
    ("due", "--all"),
    ("boat", "list"),
    ("engine", "list"),
    ("settings",),
    ("rules", "list"),
    ("rules", "show", "small-petrol"),
)


def with_engine(boat: str, engine: str) -> None:
    fleetcare("new")
    fleetcare("boat", "add", boat, "--use", "hire", "--water", "salt", "--place", "north jetty")
    fleetcare("engine", "add", engine, "--boat", boat, "--reading", 100, "--family", "twin")
    fleetcare("found", engine, "tell-tale", "weak", "--note", "said twice, by two people, at noon")


@pytest.mark.parametrize(
    ("boat", "engine"),
    [("Teal", "Smew"), (OTTER, f"{OTTER} 2"), (LONG, "Smew"), (LONG, LONG), ("Teal", OTTER * 5)],
)
def test_no_screen_is_wider_than_80_columns(fleet: Path, boat: str, engine: str) -> None:
    assert len(LONG) == 80
    with_engine(boat, engine)
    screens = [*SCREENS, ("why", engine, "impeller"), ("history", engine)]
    for words in screens:
        said = fleetcare(*words)
        assert widest(said.lines) <= 80, (words, said.out)


def test_a_name_of_80_letters_is_shown_whole(fleet: Path) -> None:
    assert len(WORD) == 80
    with_engine(WORD, WORD)
    for words in (("morning",), ("due",), ("engine", "list"), ("history", WORD)):
        assert WORD in fleetcare(*words).out


def test_columns_stand_under_each_other_whatever_the_letters(fleet: Path) -> None:
    with_engine(OTTER, OTTER)
    fleetcare("boat", "add", "Øre é", "--use", "hire", "--water", "fresh", "--place", "south")
    head, _, *lines = fleetcare("boat", "list").lines
    use, place = head.index("Use"), head.index("Place")
    for line in lines:
        assert column(line, "hire") == use
        assert column(line, "north" if OTTER in line else "south") == place


def column(line: str, word: str) -> int:
    return widest([line[: line.index(word)]])


@pytest.mark.parametrize("width", [40, 45, 59])
def test_on_a_phone_one_thing_stands_below_another(
    small: Path, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: width)
    fleetcare("found", "Plover", "tell-tale", "weak")
    for words in (("morning",), ("due",)):
        said = fleetcare(*words).lines
        assert widest(said) <= width
        assert "---" not in "".join(said)
    assert fleetcare("morning").lines[0] == "Lapwing, Plover: held"


@pytest.mark.parametrize("width", [60, 80, 100, 200])
def test_a_table_uses_the_width_there_is(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: width)
    said = fleetcare("morning").lines
    assert said[1].startswith("---")
    assert width - 20 <= widest(said) <= width
