"""Withdrawing entries by new ones, which can themselves be withdrawn."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import fleetcare, one_line, refused, row, written


def reads() -> float:
    hours: float = row("Plover", "plugs")["hours_since"]
    return hours


def test_undo_takes_back_the_last_command_and_undo_again_gives_it_back(small: Path) -> None:
    fleetcare("reading", "Plover", 260)
    assert fleetcare("undo").lines[0] == (
        "stored entry 4: entry 3 withdrawn (fleetcare undo 4 takes it back)"
    )
    assert reads() == 0.0
    fleetcare("undo")
    assert reads() == 10.0
    marks = [line.endswith("[withdrawn]") for line in fleetcare("log").lines]
    assert marks == [False, False, False, True, False]


def test_a_command_of_several_entries_is_taken_back_whole(small: Path) -> None:
    fleetcare("done", "Plover", "plugs", "gear oil")
    assert fleetcare("undo").out.count("withdrawn") == 2
    assert row("Plover", "gear oil")["status"] == "no record"


def test_one_entry_is_taken_back_by_its_number(small: Path) -> None:
    fleetcare("done", "Plover", "plugs", "gear oil")
    fleetcare("reading", "Plover", 260)
    fleetcare("undo", 4)
    assert row("Plover", "gear oil")["status"] == "no record"
    assert row("Plover", "plugs")["status"] == "clear"
    assert row("Plover", "engine oil")["hours_since"] == 10.0


def test_nothing_is_ever_deleted(small: Path) -> None:
    fleetcare("reading", "Plover", 260)
    before = written(small)["log"]
    fleetcare("undo")
    assert written(small)["log"][: len(before)] == before


@pytest.mark.parametrize(
    ("numbers", "hint"),
    [
        (("99",), "there is no entry 99; fleetcare log shows them"),
        (("3", "99"), "there is no entry 99"),
    ],
)
def test_an_entry_that_is_not_there_is_refused(
    small: Path, numbers: tuple[str, ...], hint: str
) -> None:
    fleetcare("reading", "Plover", 260)
    assert hint in one_line(refused(small, "undo", *numbers))


def test_an_entry_is_not_withdrawn_twice(small: Path) -> None:
    fleetcare("reading", "Plover", 260)
    fleetcare("undo", 3)
    assert "entry 3 is withdrawn already" in one_line(refused(small, "undo", 3))


def test_an_empty_log_has_nothing_to_take_back(fleet: Path) -> None:
    fleetcare("new")
    assert "nothing to take back" in one_line(refused(fleet, "undo"))


def test_what_later_entries_stand_on_is_not_taken_away(small: Path) -> None:
    fleetcare("reading", "Plover", 5, "--old-meter", 260, "--on", "2026-07-01")
    fleetcare("reading", "Plover", 10)
    said = one_line(refused(small, "undo", 3))
    assert "would leave the log wrong" in said
    assert "Withdraw the later entry first" in said


def test_a_swap_is_taken_back_last_first(small: Path) -> None:
    fleetcare("swap", "Plover", "Spare", "gearcase", "--on", "2026-07-01")
    fleetcare("swap", "Plover", "Knot", "gearcase", "--on", "2026-07-10")
    assert "fleetcare undo 4" in one_line(refused(small, "undo", 3))
    fleetcare("undo", 4)
    fleetcare("undo", 3)


def test_a_whole_import_is_not_taken_back_by_a_slip(ondrel: Path) -> None:
    said = one_line(refused(ondrel, "undo"))
    assert "the last command stored 4414 entries; --yes takes all of them back" in said
    total = len(written(ondrel)["log"])
    assert "4414 of them" in one_line(fleetcare("undo", "--yes").out)
    assert len(written(ondrel)["log"]) == 2 * total


def test_on_a_terminal_many_are_asked_about(ondrel: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    total = len(written(ondrel)["log"])
    said = fleetcare("undo", stdin="n\n", code=1)
    assert "Take all of them back?" in said.out
    assert len(written(ondrel)["log"]) == total


# -- what it changed -----------------------------------------------------------------------------


def test_it_says_what_it_changed_as_the_entry_itself_did(small: Path) -> None:
    fleetcare("done", "Plover", "gear oil")
    assert "  Plover: gear oil was clear, now no record" in fleetcare("undo").lines
    assert any(
        line.startswith("  Plover: gear oil next due ") for line in fleetcare("undo", 4).lines
    )


def test_what_another_engine_carries_since_a_swap_is_told_too(small: Path) -> None:
    """The gearcase went from Plover to Spare with the oil that was changed on Plover."""
    fleetcare("done", "Plover", "gear oil", "--on", "2026-05-02")
    fleetcare("swap", "Plover", "Spare", "gearcase", "--on", "2026-06-01")
    assert row("Spare", "gear oil")["last_done_on"] == "2026-05-02"
    said = fleetcare("undo", 3).lines
    assert any(line.startswith("  Spare: gear oil was ") for line in said), said
    assert not any(line.startswith("  Plover: gear oil was ") for line in said), said


def test_a_swap_taken_back_tells_of_both_engines(small: Path) -> None:
    fleetcare("done", "Plover", "gear oil", "--on", "2026-05-02")
    fleetcare("swap", "Plover", "Spare", "gearcase", "--on", "2026-06-01")
    said = fleetcare("undo").out
    assert "  Plover: gear oil was " in said
    assert "  Spare: gear oil was " in said


def test_a_dry_run_and_very_many_entries_tell_no_changes(small: Path) -> None:
    fleetcare("done", "Plover", "gear oil")
    assert fleetcare("undo", "--dry-run").lines == ["would store entry 3 withdrawn"]
