"""The same input gives the same output, byte for byte, whatever the order of its rows."""

from __future__ import annotations

import csv
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.typed import ROOT, TODAY, fleetcare


def shuffled(example: str, folder: Path, seed: int) -> Path:
    """The tables of an example with their rows in another order."""
    folder.mkdir()
    dice = random.Random(seed)
    for path in sorted((ROOT / "examples" / example).glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            head, *rows = list(csv.reader(file))
        dice.shuffle(rows)
        with (folder / path.name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([head, *rows])
    return folder


def due_of(tables: Path, fleet: str) -> str:
    fleetcare("new", "--fleet", fleet)
    fleetcare("import", tables, "--fleet", fleet)
    return fleetcare("due", "--fleet", fleet, "--format", "json").out


@pytest.mark.parametrize("example", ["pim", "tavvik"])
def test_rows_imported_in_another_order_give_the_same_bytes(example: str, tmp_path: Path) -> None:
    plain = due_of(ROOT / "examples" / example, "plain.db")
    for seed in (1, 2):
        mixed = shuffled(example, tmp_path / f"tables{seed}", seed)
        assert due_of(mixed, f"mixed{seed}.db") == plain


def test_another_process_with_other_hashes_gives_the_same_bytes(ondrel: Path) -> None:
    words = [sys.executable, "-m", "fleetcare", "due", "--as-of", TODAY, "--format", "json"]
    told = {
        subprocess.run(
            words, capture_output=True, check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        ).stdout
        for seed in ("0", "1", "4711")
    }  # fmt: skip
    assert len(told) == 1
