"""Kept fits: taken while they are as good as new ones, and never in the way."""

from __future__ import annotations

import json
import sqlite3
from datetime import date
from pathlib import Path

import pytest

from tests.cli.typed import ROOT, fleetcare, rows


def fits(path: Path) -> dict[str, tuple[int, int, str, bytes]]:
    with sqlite3.connect(path) as connection:
        found = connection.execute(
            "select engine.name, entry, day, ground, outlook from fit "
            "join engine on engine.id = fit.engine"
        ).fetchall()
    connection.close()
    return {name: (entry, day, ground, outlook) for name, entry, day, ground, outlook in found}


def emptied(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("delete from fit")
    connection.commit()
    connection.close()


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "fleet.db"
    monkeypatch.setenv("FLEETCARE_FLEET", str(path))
    fleetcare("new")
    fleetcare("import", ROOT / "examples" / "pim")
    return path


def test_a_list_keeps_its_fits_and_they_change_no_byte_of_the_next(fleet: Path) -> None:
    assert fits(fleet) == {}
    first = fleetcare("due", "--format", "json")
    kept = fits(fleet)
    assert kept
    assert fleetcare("due", "--format", "json").out == first.out
    assert fits(fleet) == kept
    emptied(fleet)
    assert fleetcare("due", "--format", "json").out == first.out
    assert fits(fleet) == kept


def test_an_entry_makes_its_own_engine_learn_again_and_no_other(fleet: Path) -> None:
    fleetcare("import", ROOT / "examples" / "tavvik")
    fleetcare("due")
    before = fits(fleet)
    engine = "Old Two"
    fleetcare("run", engine, "1.5", "--on", "yesterday")
    fleetcare("due")
    after = fits(fleet)
    assert after[engine][3] != before[engine][3]
    own = [name for name in after if " own " in after[name][2]]  # the others borrow, and move
    assert own
    assert all(after[name][3] == before[name][3] for name in own)
    assert len({entry for entry, *_ in after.values()}) == 1  # the others stand on the new log too


def test_a_withdrawn_entry_is_forgotten_by_the_forecast(fleet: Path) -> None:
    engine = rows("due")[0]["engine"]
    fleetcare("due")
    before = fits(fleet)
    fleetcare("run", engine, "9", "--on", "yesterday")
    fleetcare("due")
    assert fits(fleet)[engine][3] != before[engine][3]
    fleetcare("undo")
    told = fleetcare("due", "--format", "json").out
    assert fits(fleet)[engine][3] == before[engine][3]
    emptied(fleet)
    assert fleetcare("due", "--format", "json").out == told


def test_a_day_in_the_past_takes_no_fit_of_later_entries_and_keeps_none(fleet: Path) -> None:
    past = fleetcare("due", "--as-of", "2026-06-05", "--format", "json").out
    assert fits(fleet) == {}
    fleetcare("due")
    kept = fits(fleet)
    assert fleetcare("due", "--as-of", "2026-06-05", "--format", "json").out == past
    assert fits(fleet) == kept


def test_another_season_makes_every_fit_anew(fleet: Path) -> None:
    fleetcare("due")
    before = fits(fleet)
    fleetcare("settings", "season", "06-01/08-31")
    told = fleetcare("due", "--format", "json").out
    after = fits(fleet)
    assert all(after[name][2] != before[name][2] for name in after)
    emptied(fleet)
    assert fleetcare("due", "--format", "json").out == told


def test_beside_a_writer_a_list_does_without_keeping(fleet: Path) -> None:
    writer = sqlite3.connect(fleet, isolation_level=None)
    writer.execute("begin immediate")
    told = json.loads(fleetcare("due", "--format", "json").out)
    assert told["rows"] and fits(fleet) == {}
    writer.execute("rollback")
    writer.close()


def test_dates_do_not_hang_on_when_the_fits_were_made(fleet: Path) -> None:
    """Fits made on one day serve the next: as if made on that day."""
    fleetcare("due", "--as-of", date(2026, 8, 1).isoformat())
    late = fleetcare("due", "--as-of", "2026-09-15", "--format", "json").out
    emptied(fleet)
    assert fleetcare("due", "--as-of", "2026-09-15", "--format", "json").out == late


@pytest.mark.parametrize(
    "change",
    ["learned = substr(learned, 1, 12) || '9' || substr(learned, 14)", "day = day - 1",
     "entry = entry + 1", "ground = ground || ' '", "outlook = zeroblob(length(outlook))",
     "learned = '{'"],
)  # fmt: skip
def test_a_fit_that_was_changed_outside_is_learned_anew(fleet: Path, change: str) -> None:
    wanted = fleetcare("due", "--format", "json").out
    kept = fits(fleet)
    connection = sqlite3.connect(fleet)
    connection.execute(f"update fit set {change}")
    connection.commit()
    connection.close()
    assert fleetcare("due", "--format", "json").out == wanted
    if not change.startswith("entry"):  # such a row says it is from a later log, and stays
        assert fits(fleet) == kept
