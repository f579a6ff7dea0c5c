"""The morning list says whose figures are so old that their hours are a guess."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import fleetcare, rows, widest


def told(*words: str) -> str:
    """The line of old figures, whole."""
    text = " ".join(fleetcare("morning", *words).out.split())
    return text.split("figures older than 14 days: ")[1].split(" 2 boats:")[0]


def test_figures_older_than_a_fortnight_are_named_with_their_age(small: Path) -> None:
    # Plover reads 250 on 1 April, its first day; Knot has no meter and never ran
    assert told() == "Dunlin (never read), Lapwing (108 days)"
    fleetcare("run", "Knot", 3, "--on", "2026-07-04")
    assert told() == "Lapwing (108 days)"
    assert told("--as-of", "2026-07-19") == "Lapwing (109 days), Dunlin (15 days)"


def test_a_boat_that_just_goes_is_named_too(ondrel: Path) -> None:
    fleetcare("lay-up", "OB-14", "OB-17")
    ages = {item["boat"]: (item["verdict"], item["reading_age_days"]) for item in rows("morning")}
    later = {
        item["boat"] for item in rows("morning", "--as-of", "2026-08-05")
        if item["reading_age_days"] > 14
    }  # fmt: skip
    said = " ".join(fleetcare("morning", "--as-of", "2026-08-05").out.split())
    line = said.split("figures older than 14 days: ")[1]
    assert later
    assert all(f"{boat} (" in line for boat in later)
    assert all(age <= 14 for _, age in ages.values())
    assert "figures older" not in fleetcare("morning").out


def test_laid_up_engines_owe_no_figure(small: Path) -> None:
    fleetcare("lay-up", "--all")
    assert "figures older" not in fleetcare("morning").out


@pytest.mark.parametrize("width", [40, 60])
def test_on_a_phone_the_old_figures_fit(
    small: Path, monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: width)
    assert widest(fleetcare("morning").lines) <= width
