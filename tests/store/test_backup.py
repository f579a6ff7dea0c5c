"""A safe copy: nothing is overwritten, nothing is lost on the way, nobody else may read it."""

from __future__ import annotations

import os
import sqlite3
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.due.rows import due_list
from fleetcare.errors import Fault, RefusedError, UnusableFileError
from fleetcare.rules.shipped import read_book
from fleetcare.show.values import due_rows
from fleetcare.store import backup
from fleetcare.store.backup import back_up
from fleetcare.store.file import journal_of, open_file
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.sent import SentRow, fetch_sent, keep_sent
from tests.store.small_file import add, digest, entries_in, make, may, reads

SENT: list[SentRow] = [
    ("one", may(4).toordinal(), "Plover: plugs, due 4 May", "due", 3, "2025-05-01T08:00:00+00:00",
     '["12 days left"]', "a basis"),
    ("two", may(9).toordinal(), "Teal: =1+1", "overdue", 0, "2025-05-02T08:00:00+00:00", "[]", ""),
]  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101), reads(3, 102.5))
        add(file, reads(4, 110, engine="Teal"))
        with file.writing() as connection:
            keep_sent(connection, SENT)
    return path


def copy_of(path: Path, target: Path) -> int:
    with FleetFile(path) as file:
        return back_up(file.connection, target)


def due_values(path: Path) -> list[dict[str, Any]]:
    as_of = date(2025, 9, 1)
    with FleetFile(path) as file:
        fleet, history = file.fleet(), file.history(as_of)
    book = read_book(None, {"small-petrol"})
    return due_rows(due_list(fleet, history, book, as_of), ())


def test_a_copy_holds_the_same_fleet_log_due_list_and_what_was_sent(path: Path) -> None:
    target = path.with_name("copy.db")
    assert copy_of(path, target) == 3
    with FleetFile(path) as ours, FleetFile(target) as copy:
        assert copy.fleet() == ours.fleet()
        assert copy.log() == ours.log()
        assert fetch_sent(copy.connection) == fetch_sent(ours.connection) == SENT
    assert due_values(target) == due_values(path)
    assert len(due_values(path)) > 20
    assert target.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("there", [b"", b"somebody's notes"])
def test_a_copy_never_overwrites(path: Path, there: bytes) -> None:
    target = path.with_name("copy.db")
    target.write_bytes(there)
    before = digest(path)
    with pytest.raises(RefusedError, match="a copy never overwrites"):
        copy_of(path, target)
    with pytest.raises(RefusedError, match="a copy never overwrites"):
        copy_of(path, path)
    assert target.read_bytes() == there
    assert digest(path) == before


def test_a_copy_does_not_overwrite_what_took_its_name_meanwhile(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = path.with_name("copy.db")
    look = backup.damages

    def meanwhile(connection: sqlite3.Connection) -> list[Fault]:
        target.write_bytes(b"theirs")
        return look(connection)

    monkeypatch.setattr(backup, "damages", meanwhile)
    with pytest.raises(RefusedError, match="exists already"):
        copy_of(path, target)
    assert target.read_bytes() == b"theirs"
    assert sorted(item.name for item in path.parent.iterdir()) == ["copy.db", "fleet.db"]


def test_a_copy_leaves_no_half_file_and_makes_its_folder(path: Path) -> None:
    target = path.parent / "new" / "folder" / "copy.db"
    copy_of(path, target)
    assert os.listdir(target.parent) == ["copy.db"]  # noqa: PTH208  # names only
    with FleetFile(target) as copy:
        assert len(copy.log()) == 3


def test_a_place_that_cannot_take_a_copy_is_told_in_words(path: Path) -> None:
    (path.parent / "notes").write_bytes(b"a file")
    with pytest.raises(UnusableFileError, match="cannot be made"):
        copy_of(path, path.parent / "notes" / "copy.db")


def test_no_copy_is_made_beside_the_journal_of_a_lost_file(path: Path) -> None:
    target = path.with_name("copy.db")
    journal_of(target).write_bytes(b"what is left")
    with pytest.raises(RefusedError, match=r"copy\.db-journal is left"):
        copy_of(path, target)
    assert not target.exists()


def test_a_copy_of_a_damaged_file_is_refused_and_nothing_is_left(path: Path) -> None:
    connection = sqlite3.connect(path)
    pages = dict(connection.execute("select name, rootpage from sqlite_master"))
    connection.close()
    data = bytearray(path.read_bytes())
    at = (pages["sent"] - 1) * 4096  # a page the copying itself does not look into
    data[at : at + 4096] = b"\xa5" * 4096
    path.write_bytes(data)
    before = digest(path)
    with pytest.raises(UnusableFileError, match="damaged"):
        copy_of(path, path.with_name("copy.db"))
    assert digest(path) == before
    assert os.listdir(path.parent) == ["fleet.db"]  # noqa: PTH208  # names only


class Disturbed(sqlite3.Connection):
    """A connection beside which another program writes as soon as a copy was made."""

    path: Path

    def backup(self, *args: Any, **more: Any) -> None:
        super().backup(*args, **more)
        other = open_file(self.path, wait=0)
        try:  # noqa: SIM105  # the error is what is expected
            other.execute("insert into log (id, act, at, day, event) values (4, 4, '', 1, 'x')")
        except sqlite3.OperationalError:
            pass  # it has to wait until the copy is done
        other.close()


def test_a_writer_beside_it_does_not_spoil_a_copy(path: Path) -> None:
    source = sqlite3.connect(path, isolation_level=None, factory=Disturbed)
    source.path = path
    assert back_up(source, path.with_name("copy.db")) == 3
    source.close()
    assert entries_in(path.with_name("copy.db")) == 3
