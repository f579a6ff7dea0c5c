"""A safe copy: nothing is overwritten, nothing is lost on the way, nobody else may read it."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import IO, Any

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

ROOT = Path(__file__).parent.parent.parent
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


WRITERS = ("Plover", "Teal")


def test_copies_made_while_others_write_without_end_are_whole_commands_up_to_a_moment(
    tmp_path: Path,
) -> None:
    """Each holds all that was acknowledged before it was begun, and of no command a part."""
    path = tmp_path / "fleet.db"
    make(path, WRITERS).connection.close()
    ours, theirs = os.pipe()  # one for all: whoever gets to write is heard
    programs = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.store.writer", str(path), engine], cwd=ROOT,
            stdout=theirs, stderr=subprocess.DEVNULL,
        )
        for engine in WRITERS
    ]  # fmt: skip
    os.close(theirs)
    said = os.fdopen(ours, "rb")
    counts = [0]
    try:
        for number in range(5):
            promised = said_after(said, counts[-1])
            copy = tmp_path / f"copy-{number}.db"
            with FleetFile(path) as file:
                file.connection.execute("pragma busy_timeout = 300000")
                counts.append(back_up(file.connection, copy))
            assert counts[-1] >= promised
            assert numbers_in(copy) == list(range(1, counts[-1] + 1))
            assert counts[-1] % 3 == 0  # a writer's command is three entries
    finally:
        for program in programs:
            program.kill()
            program.wait()
        said.close()
    whole = rows_of(path)
    for number, count in enumerate(counts[1:]):
        assert rows_of(tmp_path / f"copy-{number}.db") == whole[:count]


def said_after(said: IO[bytes], last: int) -> int:
    """The number of an entry after that one which was acknowledged."""
    number = 0
    while number <= last:
        number = int(said.readline().split()[2])
    return number


def rows_of(path: Path) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    found = connection.execute("select * from log order by id").fetchall()
    connection.close()
    return found


def numbers_in(path: Path) -> list[object]:
    return [row[0] for row in rows_of(path)]


@pytest.mark.parametrize("umask", [0, 0o022, 0o777])
def test_nobody_else_may_read_a_copy_at_any_moment_whatever_the_umask(
    path: Path, umask: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    modes = []
    look = backup.damages

    def meanwhile(connection: sqlite3.Connection) -> list[Fault]:
        modes.append({item.stat().st_mode & 0o777 for item in path.parent.glob(".copy.db.*")})
        return look(connection)

    path.chmod(0o644)
    monkeypatch.setattr(backup, "damages", meanwhile)
    before = os.umask(umask)
    try:
        copy_of(path, path.with_name("copy.db"))
    finally:
        os.umask(before)
    assert modes == [{0o600}]
    assert path.with_name("copy.db").stat().st_mode & 0o777 == 0o600
    assert path.stat().st_mode & 0o777 == 0o644


def test_two_programs_that_copy_to_one_name_at_once_do_not_spoil_each_others(path: Path) -> None:
    """One of them takes the name, with its own whole copy; the other is refused."""
    target = path.with_name("copy.db")
    with FleetFile(path) as file, backup.half_of(target) as other:
        other.write_bytes(b"half a copy of another program")
        renamed = other.rename(other.with_name(f".{target.name}.1.half"))
        assert back_up(file.connection, target) == 3
        assert renamed.read_bytes() == b"half a copy of another program"
        renamed.unlink()
    assert entries_in(target) == 3
