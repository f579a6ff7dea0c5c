"""A small fleet, and sheets as other people keep them, for whoever imports one into the other."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.exchange.sheets import csv_at, fleet_at


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    with fleet_at(tmp_path / "fleet.db") as file:
        yield file


@pytest.fixture
def sheet(tmp_path: Path) -> Any:
    return lambda *lines: csv_at(tmp_path / "hours.csv", "\n".join(lines) + "\n")
