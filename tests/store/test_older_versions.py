"""Files of every older version, made by the programs of their time, say today what they said then.

The files and what was said are in files/, written by make_version.py out of the project's own
history. `reason` is wording and may change; every figure, day and status may not.
"""

from __future__ import annotations

import json
import re
import shutil
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
