"""Turned bits and cut ends: an error in words, the right answer, or a find of check. Never silence.

A few are tried here; `python -m tests.trials flips --full` tries thousands.
"""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from fleetcare.store.append import set_fleet_id
from fleetcare.store.fleet_file import FleetFile
from tests.cli.flips import PAGE, Flips, header_bits
from tests.cli.planted import filled
from tests.cli.typed import fleetcare
from tests.store.small_file import FLEET_ID

RANDOM = 60


@pytest.fixture(scope="module")
def whole(built: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("whole") / "fleet.db"
    shutil.copy(built / "small.db", path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLEETCARE_FLEET", str(path))
        filled()
        with FleetFile(path) as file, file.writing() as connection:
            set_fleet_id(connection, FLEET_ID)  # so that the same bits are turned every time
        fleetcare("feed", "write", path.with_name("fleet.ics"))
    return path.read_bytes()


def test_a_turned_bit_in_the_header_of_any_page_is_never_silent(fleet: Path, whole: bytes) -> None:
    flips = Flips(fleet, whole)
    flips.flip(header_bits(whole, 1, random.Random(1)), thorough=True)
    assert flips.bad == []
    assert sum(flips.ends.values()) == len(whole) // PAGE > 25
    assert flips.ends["said"] + flips.ends["seen by check"] > 25, flips.ends


def test_a_turned_bit_anywhere_is_never_silent(fleet: Path, whole: bytes) -> None:
    flips = Flips(fleet, whole)
    used = [at for at, byte in enumerate(whole) if byte]
    chance = random.Random(2)
    flips.flip(8 * chance.choice(used) + chance.randrange(8) for _ in range(RANDOM))
    assert flips.bad == []
    assert sum(flips.ends.values()) == RANDOM
    assert flips.ends["said"] + flips.ends["seen by check"] > 2, flips.ends


def test_a_missing_end_is_always_said(fleet: Path, whole: bytes) -> None:
    flips = Flips(fleet, whole)
    chance = random.Random(3)
    flips.cut([PAGE, len(whole) - PAGE, *(chance.randrange(len(whole)) for _ in range(6))])
    assert flips.bad == []
    assert dict(flips.ends) == {"said": 8}


def test_a_figure_changed_where_sqlite_cannot_know_is_seen(fleet: Path, whole: bytes) -> None:
    """The meter's figure on an engine's first day stands in one place only."""
    flips = Flips(fleet, whole)
    figure = (25000).to_bytes(2, "big")  # Plover's 250.0, as SQLite keeps it
    places = [at for at in range(len(whole)) if whole[at : at + 2] == figure]
    flips.flip(8 * at + 8 for at in places)
    assert flips.bad == []
    assert flips.ends["seen by check"] >= 1
