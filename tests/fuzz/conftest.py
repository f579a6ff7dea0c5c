"""The small fleet that everything here is typed at, made once, and a place with a copy of it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from freezegun import freeze_time

from tests.cli.typed import TODAY
from tests.fuzz.scenery import fleet_at, scenery, typing_in


@pytest.fixture(scope="session")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The fleet file to copy."""
    path = tmp_path_factory.mktemp("fuzz") / "base.db"
    fleet_at(path)
    return path


@pytest.fixture
def place(base: Path, tmp_path: Path) -> Iterator[Path]:
    """A folder to type in, on the invented fleets' today."""
    found = scenery(tmp_path / "scenery", base)
    kept = tempfile.tempdir
    tempfile.tempdir = str(tmp_path)
    with typing_in(found), freeze_time(f"{TODAY} 08:00:00"):
        yield found
    tempfile.tempdir = kept
