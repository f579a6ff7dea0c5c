"""A safe copy and putting it back: nothing is overwritten, nothing is lost on the way."""

from __future__ import annotations

import os
import sqlite3
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.due.rows import due_list
from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.rules.shipped import read_book
from fleetcare.show.values import due_rows
from fleetcare.store.backup import back_up, restore
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
    chmod = Path.chmod

    def meanwhile(self: Path, mode: int) -> None:
        target.write_bytes(b"theirs")
        chmod(self, mode)

    monkeypatch.setattr(Path, "chmod", meanwhile)
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


# -- putting one back --------------------------------------------------------------------------


@pytest.fixture
def later(path: Path) -> Path:
    """The fleet file after more was written than its copy.db holds."""
    copy_of(path, path.with_name("copy.db"))
    with FleetFile(path) as file:
        add(file, reads(9, 120))
    return path


def test_a_copy_is_not_put_over_a_file_without_the_word(later: Path) -> None:
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(RefusedError, match="--overwrite"):
        restore(later.with_name("copy.db"), later, overwrite=False)
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


def test_with_the_word_the_copy_is_in_its_place_and_the_old_file_beside(later: Path) -> None:
    before = digest(later)
    assert restore(later.with_name("copy.db"), later, overwrite=True) == 3
    with FleetFile(later) as file:
        assert [item.number for item in file.log()] == [1, 2, 3]
        assert fetch_sent(file.connection) == SENT
        assert add(file, reads(9, 130)) == [4]
    assert digest(later.with_name("fleet.db.before-restore")) == before
    assert restore(later.with_name("copy.db"), later, overwrite=True) == 3
    assert restore(later.with_name("copy.db"), later, overwrite=True) == 3
    names = sorted(item.name for item in later.parent.iterdir())
    aside = ["fleet.db.before-restore", "fleet.db.before-restore-2", "fleet.db.before-restore-3"]
    assert names == ["copy.db", "fleet.db", *aside]
    assert digest(later.with_name(aside[0])) == before
    assert entries_in(later.with_name(aside[1])) == 4


def test_a_copy_put_where_there_is_no_file_needs_no_word(later: Path) -> None:
    later.unlink()
    assert restore(later.with_name("copy.db"), later, overwrite=False) == 3
    with FleetFile(later) as file:
        assert len(file.log()) == 3
    names = sorted(item.name for item in later.parent.iterdir())
    assert names == ["copy.db", "fleet.db"]


@pytest.mark.parametrize("spoiled", [b"", b"no fleet file at all, just text", "half"])
def test_a_copy_that_is_no_good_leaves_the_fleet_file_in_its_place(
    later: Path, spoiled: bytes | str
) -> None:
    copy = later.with_name("copy.db")
    whole = copy.read_bytes()
    copy.write_bytes(whole[: len(whole) // 2] if isinstance(spoiled, str) else spoiled)
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(UnusableFileError):
        restore(copy, later, overwrite=True)
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


def test_a_copy_that_is_not_there_or_is_the_file_itself_is_refused(later: Path) -> None:
    before, listing = digest(later), sorted(later.parent.iterdir())
    with pytest.raises(RefusedError, match="does not exist"):
        restore(later.with_name("typo.db"), later, overwrite=True)
    with pytest.raises(RefusedError, match="is the fleet file itself"):
        restore(later, later, overwrite=True)
    link = later.with_name("link.db")
    link.symlink_to(later)
    with pytest.raises(RefusedError, match="is the fleet file itself"):
        restore(link, later, overwrite=True)
    link.unlink()
    assert digest(later) == before
    assert sorted(later.parent.iterdir()) == listing


@pytest.mark.parametrize("there", [True, False])
def test_a_journal_of_the_old_file_is_not_played_into_the_copy(later: Path, there: bool) -> None:
    """It goes aside with the file it belongs to, so that that one can still be healed."""
    journal_of(later).write_bytes(b"what is left")
    if not there:
        later.unlink()
    restore(later.with_name("copy.db"), later, overwrite=True)
    assert not journal_of(later).exists()
    aside = later.with_name("fleet.db.before-restore")
    assert aside.exists() == there
    assert journal_of(aside).read_bytes() == b"what is left"
    with FleetFile(later) as file:
        assert len(file.log()) == 3


def test_a_damaged_fleet_file_can_be_replaced_by_its_copy(later: Path) -> None:
    later.write_bytes(b"\x00" * 100)
    assert restore(later.with_name("copy.db"), later, overwrite=True) == 3
    with FleetFile(later) as file:
        assert len(file.log()) == 3
