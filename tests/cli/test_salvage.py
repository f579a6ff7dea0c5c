"""fleetcare salvage, typed: the plan, what one knows better, and the swaps it logs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli.context import Desk
from fleetcare.rules.shipped import examples_folder
from tests.cli.typed import TODAY, fleetcare, one_line, refused, row, rows, widest, written


@pytest.fixture
def club(fleet: Path) -> Path:
    """The invented club, as it was before its own swap of gearcases on 4 July 2026."""
    folder = fleet.parent / "club"
    folder.mkdir()
    for path in (examples_folder() / "tavvik").glob("*.csv"):
        text = path.read_text("utf-8")
        if path.name == "log.csv":
            head, *lines = text.splitlines(keepends=True)
            text = head + "".join(line for line in lines if line < "2026-07-01")
        (folder / path.name).write_text(text, encoding="utf-8")
    fleetcare("new", "--quiet")
    fleetcare("import", folder)
    return fleet


def plan(*words: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(fleetcare("salvage", *words, "--format", "json").out)
    return found


AT = ("TB-3", "TB-4", "--as-of", "2026-07-02")


def test_the_club_makes_one_sound_engine_of_two(club: Path) -> None:
    out = plan(*AT)
    (build,) = out["builds"]
    moved = [(item["component"], item["from"]) for item in build["components"] if item["moved"]]
    assert build["engine"] == "TB-3"
    assert moved == [("gearcase", "TB-4")]
    assert {"engine": "TB-4", "component": "powerhead", "condition": "bad"} in out["spares"]
    assert out["proved"] is True
    assert {"builds", "minutes", "order_first", "spares", "unknowns"} <= out.keys()
    said = fleetcare("salvage", *AT).out
    assert "two neighbours low" not in said.split("Left as spares")[0]
    assert "spline turned and tried by hand (5 min)" in " ".join(said.split())
    assert "gearcase pressure test" not in said  # it held in spring
    assert "licensed practice" in " ".join(said.split())


def test_it_fits_the_screen(club: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert widest(fleetcare("salvage", *AT).lines) <= 80
    monkeypatch.setattr(Desk, "width", lambda self: 40)
    assert widest(fleetcare("salvage", *AT).lines) <= 40


def test_the_swaps_are_logged_and_the_histories_move(club: Path) -> None:
    before = row("TB-4", "gear oil", "--as-of", "2026-07-02")
    said = fleetcare("salvage", "TB-3", "TB-4", "--do", "--on", "2026-07-04")
    assert "TB-3" in said.out and "stored entry" in said.out
    after = row("TB-3", "gear oil", "--as-of", "2026-07-04")
    assert after["last_done_on"] == before["last_done_on"]
    out = plan("TB-3", "TB-4", "--as-of", "2026-07-05")
    assert not any(item["moved"] for item in out["builds"][0]["components"])


def test_a_dry_run_stores_nothing(club: Path) -> None:
    before = written(club)
    said = fleetcare("salvage", "TB-3", "TB-4", "--do", "--on", "2026-07-04", "--dry-run")
    assert "would store" in said.out
    assert written(club) == before


def test_nothing_to_move_stores_nothing(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare("salvage", "OB-20", "OB-23", "--do", "--on", TODAY)
    assert said.lines[-1] == "No component moves; nothing was stored."
    assert written(ondrel) == before


def test_what_one_knows_better_counts(club: Path) -> None:
    bad = "TB-3 powerhead=bad"
    found = refused(club, "salvage", *AT, "--is", bad)
    assert "2 engines make 0 sound ones at most, not 1" in found
    assert "usable: powerhead" in found
    out = plan(*AT, "--is", "tb-4 gearcase=bad", "--is", "TB-3 gearcase=fair")
    (build,) = out["builds"]
    gearcase = next(item for item in build["components"] if item["component"] == "gearcase")
    assert (gearcase["from"], gearcase["condition"], gearcase["because"]) == (
        "TB-3", "fair", "as you said",
    )  # fmt: skip


def test_what_is_bought_is_ordered_and_how_to_log_it_is_said(club: Path) -> None:
    words = ("TB-3", "TB-4", "--is", "TB-4 gearcase=bad", "--buy", "gearcase=90")
    out = plan(*words, "--as-of", "2026-07-02")
    assert {"item": "gearcase", "count": 1} in out["order_first"]
    said = fleetcare("salvage", *words, "--do", "--on", "2026-07-04")
    assert "bought for TB-3 is not logged: fleetcare engine add" in said.err


def test_a_terminal_is_asked_what_the_record_does_not_know(
    club: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    said = fleetcare("salvage", *AT, stdin="good\nrotten\nfair\n" + "\n" * 20)
    assert "carburettor (good, fair, bad, missing; Enter: not known)" in said.out
    assert "as you said" in said.out


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("TB-3",), "two engines at least"),
        (("TB-3", "TB-3"), "two engines at least"),
        (("TB-3", "TB-5"), "several families"),
        (("TB-3", "TB-99"), "TB-99"),
        (("TB-3", "TB-4", "--is", "TB-3 gearcase"), "write 'ENGINE COMPONENT=CONDITION'"),
        (("TB-3", "TB-4", "--is", "TB-3 gearbox=bad"), "write 'ENGINE COMPONENT=CONDITION'"),
        (("TB-3", "TB-4", "--is", "TB-5 gearcase=bad"), "not one of the engines"),
        (("TB-3", "TB-4", "--buy", "gearcse=9"), "write COMPONENT=PRICE"),
        (("TB-3", "TB-4", "--buy", "gearcase=cheap"), "takes a number"),
        (("TB-3", "TB-4", "--as-of", "2020-01-01"), "is not known yet"),
    ],
)
def test_what_makes_no_sense_is_refused(club: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(club, "salvage", *words))


def test_a_family_not_on_record_is_taken_to_fit_and_said(small: Path) -> None:
    said = fleetcare("salvage", "Plover", "Spare")
    assert "Plover has no family on record; taken to be like the others." in said.err


def test_rows_are_the_builds_component_by_component(club: Path) -> None:
    head = fleetcare("salvage", *AT, "--format", "csv").lines[0]
    assert head == "engine,component,from,moved,condition,because"
    assert len(fleetcare("salvage", *AT, "--format", "ndjson").lines) == 7


def test_morning_and_feed_see_the_engine_after_the_swap(club: Path) -> None:
    held = rows("morning", "--as-of", "2026-07-03")
    assert next(item for item in held if item["engine"] == "TB-3")["verdict"] == "held"
    fleetcare("salvage", "TB-3", "TB-4", "--do", "--on", "2026-07-04")
    free = rows("morning", "--as-of", "2026-07-04")
    assert next(item for item in free if item["engine"] == "TB-3")["verdict"] != "held"
