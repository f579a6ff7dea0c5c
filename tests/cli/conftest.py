"""A frozen day, a fleet file of one's own, and the invented fleets to start from."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from freezegun import freeze_time

from tests.cli.typed import TODAY, fleetcare


@pytest.fixture(scope="module", autouse=True)
def _today() -> Iterator[None]:
    with freeze_time(f"{TODAY} 08:00:00"):
        yield


@pytest.fixture(autouse=True)
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The fleet file that commands use without being told; it is not there yet."""
    for name in ("NO_COLOR", "TERM", "FORCE_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    path = tmp_path / "fleet.db"
    monkeypatch.setenv("FLEETCARE_FLEET", str(path))
    monkeypatch.setenv("LOGNAME", "jetty")
    monkeypatch.chdir(tmp_path)
    return path


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a small fleet, small.db, and the invented hire fleet, ondrel.db."""
    folder = tmp_path_factory.mktemp("built")
    with freeze_time(f"{TODAY} 08:00:00"):
        fleetcare("demo", folder / "demo", "--quiet")
        shutil.copy(folder / "demo" / "fleet.db", folder / "ondrel.db")
        at = ("--fleet", folder / "small.db")
        fleetcare("new", *at, "--hemisphere", "northern", "--rules", "small-petrol")
        since = ("--since", "2026-04-01")
        fleetcare("boat", "add", *at, "Lapwing", "--use", "hire", "--water", "fresh", *since)
        fleetcare("boat", "add", *at, "Dunlin", "--use", "hire", "--water", "salt", *since)
        plain = ("--hp", "6", "--stroke", "4", *since)
        known = ("--last", "impeller=2026-03-20@250", "--last", "swivel grease=2026-03-20")
        fleetcare(
            "engine", "add", *at, "Plover", "--boat", "Lapwing", *plain, "--reading", 250, *known
        )
        fleetcare("engine", "add", *at, "Knot", "--boat", "Dunlin", *plain, "--no-meter")
        fleetcare("engine", "add", *at, "Spare", *plain, "--reading", 90)
    return folder


@pytest.fixture
def small(built: Path, fleet: Path) -> Path:
    """Two boats, Lapwing (fresh) with Plover and Dunlin (salt) with Knot, and Spare in store.

    Plover has a meter, reads 250 on 1 April 2026 and had its impeller on 20 March; Knot has none.
    """
    shutil.copy(built / "small.db", fleet)
    return fleet


@pytest.fixture
def ondrel(built: Path, fleet: Path) -> Path:
    """The invented hire fleet."""
    shutil.copy(built / "ondrel.db", fleet)
    return fleet
