"""Files of every older version, made by the programs of their time, say today what they said then.

The files and what was said are in files/, written by make_version.py out of the project's own
history. `reason` is wording and may change; every figure, day and status may not.
"""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import stat
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.due.rows import due_list
from fleetcare.errors import UnusableFileError
from fleetcare.rules.shipped import read_book
from fleetcare.show.log_text import entry_words
from fleetcare.show.values import due_rows
from fleetcare.store.backup import back_up
from fleetcare.store.file import open_file
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.integrity import file_faults
from fleetcare.store.looks import row_faults
from fleetcare.store.restore import restore
from fleetcare.store.schema import VERSION
from fleetcare.store.sent import fetch_sent
from tests.cli.typed import fleetcare
from tests.store.small_file import digest, make
from tests.store.test_opening import version_of

FILES = Path(__file__).parent / "files"
OLDER = range(1, VERSION)


@pytest.fixture(params=OLDER)
def version(request: pytest.FixtureRequest) -> int:
    number: int = request.param
    return number


@pytest.fixture
def path(version: int, tmp_path: Path) -> Path:
    """A file of that version."""
    path = tmp_path / "fleet.db"
    shutil.copy(FILES / f"version_{version}.db", path)
    assert version_of(path) == version
    return path


@pytest.fixture
def then(version: int) -> dict[str, Any]:
    """What its own program said of it."""
    text = (FILES / f"version_{version}.json").read_text(encoding="utf-8")
    said: dict[str, Any] = json.loads(text)
    assert said["version"] == version
    return said


def test_every_older_version_is_kept() -> None:
    names = sorted(path.name for path in FILES.glob("version_*.db"))
    assert names == [f"version_{number}.db" for number in OLDER]


def test_the_due_list_is_as_it_was_then(path: Path, then: dict[str, Any]) -> None:
    book = read_book(FILES, {"steady", "small-petrol"})
    with FleetFile(path) as file:
        for text, wanted in then["due"].items():
            day = date.fromisoformat(text)
            rows = due_rows(due_list(file.fleet(), file.history(day), book, day), ())
            assert len(rows) == len(wanted) > 15
            for row, old in zip(rows, wanted, strict=True):
                del old["reason"]
                assert {key: row[key] for key in old} == old


def test_every_entry_is_as_it_was_then_and_the_file_is_whole(
    path: Path, then: dict[str, Any]
) -> None:
    with FleetFile(path) as file:
        kept = [
            [item.number, item.act, str(item.on), item.by, item.withdrawn, item.withdraws,
             item.entry and entry_words(item.entry)]
            for item in file.log()
        ]  # fmt: skip
        assert kept == then["log"]
        assert len(kept) > 20
        assert file_faults(file.connection) == []
        assert list(row_faults(file.connection, date(2026, 7, 18))) == []


def test_calendars_go_on_from_what_they_were_sent(path: Path, then: dict[str, Any]) -> None:
    with FleetFile(path) as file:
        assert [list(row[:6]) for row in fetch_sent(file.connection)] == then["sent"]
        assert len(then["sent"]) > 10


def test_it_is_brought_up_to_date_once_and_goes_on(path: Path) -> None:
    open_file(path).close()
    assert version_of(path) == VERSION
    after = digest(path)
    with FleetFile(path) as file:
        assert digest(path) == after
        last = file.log()[-1].number
        with file.writing() as connection:
            connection.execute(
                "insert into log (id, act, at, day, event, engine, reading) "
                "values (?, ?, '2026-07-18T09:00:00+00:00', 739815, 'reading', 1, 1250)",
                (last + 1, last + 1),
            )
        assert file_faults(file.connection) == []
        assert len(file.log()) == last + 1


def test_a_copy_of_an_older_version_is_put_back_up_to_date_and_itself_left_alone(
    path: Path,
) -> None:
    before = digest(path)
    target = path.with_name("new.db")
    done = restore(path, target, overwrite=False)
    assert digest(path) == before
    assert version_of(target) == VERSION
    with FleetFile(target) as file:
        assert len(file.log()) == done.entries > 20


@pytest.mark.parametrize("ahead", [1, 1000])
def test_a_file_of_a_newer_version_is_refused_by_everything_and_left_untouched(
    ahead: int, tmp_path: Path
) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        back_up(file.connection, tmp_path / "copy.db")
    data = path.read_bytes()
    newer = data[:60] + (VERSION + ahead).to_bytes(4, "big") + data[64:]
    path.write_bytes(newer)
    words = re.escape(f"newer fleetcare (file {VERSION + ahead}, this one knows {VERSION})")
    with pytest.raises(UnusableFileError, match=words):
        open_file(path)
    with pytest.raises(UnusableFileError, match=words):
        restore(path, tmp_path / "copy.db", overwrite=True)
    assert path.read_bytes() == newer


def test_a_file_that_became_newer_while_it_was_open_is_written_no_more(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        newer = open_file(path)
        newer.execute(f"pragma user_version = {VERSION + 1}")
        newer.close()
        before = digest(path)
        with pytest.raises(UnusableFileError, match="newer fleetcare"), file.writing():
            pytest.fail("it is newer")
        assert digest(path) == before


# -- as it was ---------------------------------------------------------------------------------


def dumped(path: Path) -> list[str]:
    """All that a file holds, as statements."""
    connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        return [f"version {version_of(path)}", *connection.iterdump()]
    finally:
        connection.close()


def beside(path: Path) -> list[str]:
    return sorted(item.name for item in path.parent.iterdir() if item.name != path.name)


def test_what_it_was_before_is_kept_beside_it_once_for_its_owner_alone(path: Path) -> None:
    before, version, there = dumped(path), version_of(path), beside(path)
    with FleetFile(path) as file:
        older = file.older
    assert older == path.with_name(f"{path.name}.version-{version}")
    assert dumped(older) == before
    assert stat.S_IMODE(older.stat().st_mode) == 0o600
    with FleetFile(path) as file:
        assert file.older is None
    assert beside(path) == sorted([*there, older.name])


def test_an_update_that_fails_may_be_tried_again_and_one_copy_is_enough(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> Any:
        raise sqlite3.OperationalError("no")

    before, there = digest(path), beside(path)
    with monkeypatch.context() as patched:
        patched.setattr("fleetcare.store.file.migrations", broken)
        for _ in range(2):
            with pytest.raises(sqlite3.OperationalError):
                FleetFile(path)
    assert digest(path) == before
    with FleetFile(path) as file:
        assert file.older is not None
        assert beside(path) == sorted([*there, file.older.name])


def test_a_copy_of_another_log_is_never_taken_for_it(path: Path) -> None:
    taken = path.with_name(f"{path.name}.version-{version_of(path)}")
    taken.write_bytes(b"something else")
    before = dumped(path)
    with FleetFile(path) as file:
        assert file.older == taken.with_name(f"{taken.name}-2")
        assert dumped(file.older) == before
    assert taken.read_bytes() == b"something else"


def test_the_command_says_where_it_is(path: Path) -> None:
    said = fleetcare("log", "--fleet", path).err
    assert "was brought up to date for this program. As it was, it is kept as" in said
    assert "brought up to date" not in fleetcare("log", "--fleet", path).err


def test_a_disk_without_room_for_it_keeps_the_older_file_as_it_is(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        error = sqlite3.OperationalError("database or disk is full")
        error.sqlite_errorname = "SQLITE_FULL"
        raise error

    before, there = digest(path), beside(path)
    monkeypatch.setattr("fleetcare.store.older.copy_into", full)
    with pytest.raises(UnusableFileError, match="the disk is full"):
        FleetFile(path)
    assert (digest(path), beside(path)) == (before, there)
