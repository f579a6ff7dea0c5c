"""The season's end and start, one engine or all of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import fleetcare, one_line, refused, row, rows


def test_lay_up_shows_what_is_to_do_engine_by_engine(small: Path) -> None:
    said = fleetcare("lay-up", "Plover", "Knot", "plover")
    assert said.err == "2 engines laid up on 2026-07-18.\n"
    assert said.out.count("stored entry") == 2
    todo = " ".join(said.out.split())
    plover, knot = todo.split("Plover: to do: ")[1].split("Knot: to do: ")
    for task in ("old fuel", "carburettor drain", "inhibitor oil", "gear oil"):
        assert task in plover
    assert "tank flush" in knot


def test_laid_up_engines_keep_ageing_and_say_before_launch(small: Path) -> None:
    fleetcare("lay-up", "Plover", "--on", "2026-07-01")
    assert row("Plover", "swivel grease", "--as-of", "2026-09-30")["status"] == "overdue"
    assert "before launch" in fleetcare("due", "--engine", "Plover", "--as-of", "2026-09-30").out
    assert {item["engine"] for item in rows("morning")} == {"Knot"}


def test_all_takes_those_that_are_not_yet(small: Path) -> None:
    fleetcare("lay-up", "Plover")
    assert fleetcare("lay-up", "--all").err == "2 engines laid up on 2026-07-18.\n"
    said = fleetcare("launch", "--all", "--dry-run")
    assert said.out.count("would store") == 3
    assert said.err == "3 engines would be launched on 2026-07-18.\n"
    assert fleetcare("launch", "--all").err == "3 engines launched on 2026-07-18.\n"
    assert "--all" in one_line(refused(small, "launch", "--all"))


def test_launch_shows_the_looks_of_the_first_start(ondrel: Path) -> None:
    said = fleetcare("launch", "OB-09")
    assert "intakes look" in said.out
    assert "kill cord" in said.out


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("lay-up",), "no engine to lay up: name some, or --all"),
        (("launch", "Plover"), 'engine "Plover" is not laid up'),
        (("lay-up", "Plover", "Plovr"), 'Did you mean "Plover"?'),
        (("lay-up", "Plover", "--on", "2026-12-01"), "lies in the future"),
    ],
)
def test_a_season_that_cannot_be_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, *words))


def test_an_engine_laid_up_is_not_laid_up_again(small: Path) -> None:
    fleetcare("lay-up", "Plover")
    assert 'engine "Plover" is laid up already' in one_line(refused(small, "lay-up", "Plover"))
