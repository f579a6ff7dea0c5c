"""Tables in by `import`, rows out by `due`: every field that the day-by-day oracle works out.

The oracle knows no forecast: days to come, and what only they make due, are tested in tests/due.
"""

from __future__ import annotations

import csv
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.cli.typed import ROOT, TODAY, fleetcare, rows
from tests.oracle.oracle import due_rows
from tests.trials.example_tables import last_as_jobs

FORECAST = ("due_early", "due_on", "due_late", "status", "raised_by_likely_hours", "likely_hours")
SETS = ("small-petrol", "hire", "salt-mooring")


def toml(name: str) -> dict[str, Any]:
    return tomllib.loads((ROOT / "intervals" / f"{name}.toml").read_text("utf-8"))


def tables(folder: Path) -> dict[str, list[dict[str, str]]]:
    """The tables read by the standard library alone."""
    found = {}
    for name in ("settings", "boats", "engines", "log"):
        with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            found[name] = list(csv.DictReader(file))
    return found


def in_oracle(example: str, as_of: str) -> list[dict[str, Any]]:
    given = last_as_jobs(tables(ROOT / "examples" / example))
    sets = {name: toml(name) for name in SETS}
    return due_rows(given, sets, toml("uses"), date.fromisoformat(as_of))


@pytest.mark.parametrize("as_of", [TODAY, "2026-06-05"])
@pytest.mark.parametrize("example", ["pim", "tavvik"])
def test_due_equals_the_oracle(example: str, as_of: str) -> None:
    fleetcare("new")
    fleetcare("import", ROOT / "examples" / example)
    mine = {(row["engine"], row["task"]): row for row in rows("due", "--as-of", as_of)}
    theirs = {(row["engine"], row["task"]): row for row in in_oracle(example, as_of)}
    assert sorted(mine) == sorted(theirs)
    # nor does it know what findings ask for (tests/flags/test_follow_ups.py)
    found = {
        f"{row['part']} {row['condition']} on "
        for row in tables(ROOT / "examples" / example)["log"] if row["condition"] and row["part"]
    }  # fmt: skip
    theirs = {
        name: row for name, row in theirs.items()
        if not any(words in mine[name]["reason"] for words in found)
    }  # fmt: skip
    assert {
        (*name, field): (mine[name][field], value)
        for name, row in theirs.items()
        for field, value in row.items()
        if field in mine[name] and mine[name][field] != value and field not in FORECAST
    } == {}
    assert len(set(next(iter(theirs.values()))) & set(next(iter(mine.values())))) >= 20
    for name, row in theirs.items():
        if {row["status"], mine[name]["status"]} != {"clear", "due"}:
            assert mine[name]["status"] == row["status"], name
        if row["life_used"] is not None and row["life_used"] >= 1:
            assert mine[name]["due_on"] == row["due_on"], name
