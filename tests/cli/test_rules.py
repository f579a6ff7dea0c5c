"""Rule sets from the command line: listed, shown, and one's own tested."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import fleetcare, one_line, refused, row, widest

HARBOUR = """
[set]
name = "harbour"
title = "Our harbour"
extends = "small-petrol"
basis = "our own"

[[task]]
name = "swivel grease"
limits.fresh = { days = 10 }
limits.salt = { days = 10 }
source = "our own"
"""


@pytest.fixture
def harbour(small: Path) -> Path:
    folder = small.parent / "intervals"
    folder.mkdir()
    path = folder / "harbour.toml"
    path.write_text(HARBOUR, encoding="utf-8")
    return path


def test_the_shipped_sets_are_listed_without_a_fleet(fleet: Path) -> None:
    said = fleetcare("rules", "list").out
    for name in ("hire", "salt-mooring", "small-petrol"):
        assert f"\n{name}" in said
    assert said.count("shipped") == 3


def test_ones_own_set_is_listed_beside_them(harbour: Path) -> None:
    line = next(line for line in fleetcare("rules", "list").lines if line.startswith("harbour"))
    assert line.split()[-3:] == ["yours", "Our", "harbour"]
    assert str(harbour) in fleetcare("rules", "show", "harbour").lines[0]
    assert "10 days" in fleetcare("rules", "show", "harbour", "swivel grease").out


def test_a_set_is_shown_with_limits_and_sources(fleet: Path) -> None:
    said = fleetcare("rules", "show", "small-petrol").out
    assert "impeller" in said
    assert "overheating" in said
    whole = fleetcare("rules", "show", "small-petrol", "impeller").lines
    assert whole[0] == "impeller: Renew the cooling-pump impeller"
    assert any(line.startswith("  source: ") for line in whole)
    assert widest([*said.splitlines(), *whole]) <= 80


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("show", "small-petrl"), 'no rule set "small-petrl". Did you mean "small-petrol"?'),
        (("show", "zzz"), "There are hire, salt-mooring, small-petrol."),
        (("show", "hire", "impellr"), 'task "impellr" is not in the rule set "hire". Did you mean'),
        (("test", "nosuch.toml"), "nosuch.toml"),
    ],
)
def test_what_is_not_there_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "rules", *words))


def test_a_good_file_tells_every_status_it_would_change(harbour: Path) -> None:
    fleetcare("done", "Plover", "swivel grease", "--found", "top and bottom",
              "--on", "2026-07-05")  # fmt: skip
    fleetcare("settings", "rules", "harbour")
    harbour.write_text(HARBOUR.replace("days = 10", "months = 4"), encoding="utf-8")
    assert row("Plover", "swivel grease")["status"] == "clear"
    tried = harbour.parent.parent / "harbour.toml"
    tried.write_text(HARBOUR, encoding="utf-8")
    said = fleetcare("rules", "test", tried).lines
    assert said[0].endswith("harbour.toml is good: 40 tasks, named harbour.")
    assert "Plover: swivel grease was clear, would be overdue" in said
    assert row("Plover", "swivel grease")["status"] == "clear"  # only tried


def test_a_wrong_file_is_named_with_task_and_key(small: Path) -> None:
    wrong = small.parent / "wrong.toml"
    text = HARBOUR.replace("days = 10", "dayz = 10").replace('"harbour"', '"wrong"')
    wrong.write_text(text, encoding="utf-8")
    said = refused(small, "rules", "test", wrong)
    assert "wrong.toml" in said
    assert "swivel grease" in said
    assert "dayz" in said


def test_a_set_that_is_wrong_does_not_become_the_fleets(harbour: Path) -> None:
    harbour.write_text(HARBOUR.replace("days = 10", "dayz = 10"), encoding="utf-8")
    assert "dayz" in refused(harbour.parent.parent / "fleet.db", "settings", "rules", "harbour")
    words = ("engine", "add", "Teal", "--new", "--rules", "harbour")
    assert "dayz" in refused(harbour.parent.parent / "fleet.db", *words)
