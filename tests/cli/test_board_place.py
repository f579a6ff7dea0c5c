"""The board of one place: the same as the whole board says of the boats that lie there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from lxml import html

from fleetcare.cli.board_facts import facts_of
from fleetcare.cli.context import Desk
from fleetcare.show.board_facts import Facts
from tests.cli.typed import TODAY, fleetcare, refused

DAY = date.fromisoformat(TODAY)


@pytest.fixture
def two_places(small: Path) -> Path:
    """Beside the small fleet's boats three at the Mole, five engines more, and swaps between."""
    for boat in ("Ruff", "Stint", "Dotterel"):
        fleetcare("boat", "add", boat, "--use", "hire", "--water", "salt", "--place", "The Mole",
                  "--since", "2024-05-01")  # fmt: skip
    for engine, boat in (("R-1", "Ruff"), ("S-1", "Stint"), ("D-1", "Dotterel")):
        fleetcare("engine", "add", engine, "--boat", boat, "--since", "2024-05-01", "--reading", 0)
    for engine in ("X-1", "X-2", "X-3", "X-4", "X-5"):
        fleetcare("engine", "add", engine, "--since", "2024-05-01", "--reading", 0)
    for month in range(6, 13):
        fleetcare("reading", "R-1", month * 10 - 50, "--on", f"2024-{month:02}-20")
    fleetcare("reading", "R-1", 120, "--on", "2026-07-01")
    fleetcare("swap", "R-1", "X-1", "gearcase", "--on", "2025-03-01")
    fleetcare("swap", "X-1", "Plover", "gearcase", "--on", "2026-05-01")
    fleetcare("found", "S-1", "tell-tale", "weak", "--on", "2026-07-10")
    fleetcare("engine", "into-store", "D-1", "--on", "2026-06-01")
    fleetcare("engine", "mount", "X-3", "Dotterel", "--on", "2026-06-02")
    return small


def facts(path: Path, place: str | None = None) -> Facts:
    return facts_of(Desk(fleet=str(path)), DAY, place)


def test_the_board_of_a_place_has_the_rows_of_the_boats_that_lie_there(two_places: Path) -> None:
    whole, here = facts(two_places), facts(two_places, "the mole")
    assert here.there == {"R-1", "S-1", "X-3"} == set(here.by_engine)
    assert here.rows == tuple(row for row in whole.rows if row.engine in here.there) != ()
    assert here.held == whole.held == {"S-1"}
    assert {item.boat for item in here.verdicts} == {"Ruff", "Stint", "Dotterel"}
    assert set(here.flags) == set(whole.flags) & here.there
    assert here.place == "The Mole"


def test_in_a_large_fleet_only_the_engines_of_the_place_are_read(
    two_places: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = facts(two_places, "The Mole")
    monkeypatch.setattr("fleetcare.show.board_facts.LARGE", 0)
    monkeypatch.setattr("fleetcare.cli.looking.FEW", 1)
    monkeypatch.setattr("fleetcare.usage.outlooks.is_old", lambda learned: True)
    alone = facts(two_places, "The Mole")
    assert set(alone.fleet.engines) == {"R-1", "S-1", "X-3", "D-1", "X-1", "Plover"}
    monkeypatch.setattr("fleetcare.cli.looking.FEW", 99)
    whole = facts(two_places, "The Mole")
    assert len(whole.fleet.engines) > 6
    assert _told(alone) == _told(whole)


def _told(found: Facts) -> list[object]:
    return [
        found.rows, found.by_engine, found.flags, found.held, found.verdicts, found.there,
        [replace(found.fleet, engines={}).boats, found.place],
    ]  # fmt: skip


def test_the_page_says_which_place_and_shows_no_other_boat(two_places: Path) -> None:
    tree = html.document_fromstring(
        fleetcare("board", "--html", "-", "--place", "The Mole").out.encode()
    )
    names = {item.xpath("string(header/h3)") for item in tree.xpath("//article")}
    assert names == {"R-1", "S-1", "X-3"}
    assert "The Mole" in tree.xpath("string(//title)")
    text = tree.text_content()
    assert "Knot" not in text and "Dunlin" not in text
    assert "Lapwing" not in tree.xpath("string(//main)")


def test_a_place_that_is_none_is_refused_with_the_nearest(two_places: Path) -> None:
    assert 'no boat lies at "The Mola". Did you mean "The Mole"?' in refused(
        two_places, "board", "--place", "The Mola"
    )


def test_a_page_too_large_for_a_phone_says_how_to_make_it_smaller(
    two_places: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Phones" not in fleetcare("board").err
    monkeypatch.setattr("fleetcare.cli.board.HEAVY", 1000)
    assert "fleetcare board --place NAME" in fleetcare("board").err
