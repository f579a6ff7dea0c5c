"""Files that cannot be used are refused in words, with exit code 4, and left as they are.

What SQLite itself says of such files was tried with the library: a 0-byte file passes its
integrity check, another program's database opens, so neither is left to it.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fleetcare.errors import FleetcareError, UnusableFileError
from fleetcare.store.file import journal_of, open_file
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.schema import APPLICATION_ID, VERSION
from tests.store.small_file import add, digest, entries_in, make, may, reads

NOBODY = 65534


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A fleet file of many pages."""
    path = tmp_path_factory.mktemp("whole") / "fleet.db"
    with make(path) as file:
        add(file, *(reads(day, 100 + day / 10) for day in range(2, 30) for _ in range(20)))
    return path.read_bytes()


def another_programs(data: bytes) -> bytes:
    return data[:68] + b"\x00\x00\x00\x01" + data[72:]


def newer(data: bytes) -> bytes:
    return data[:60] + (VERSION + 1).to_bytes(4, "big") + data[64:]


# how a file came to grief, and a word of what is said of it
DAMAGES: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "header zeroed": (lambda data: bytes(100) + data[100:], "not a fleet file"),
    "cut to half": (lambda data: data[: len(data) // 2], "is cut short"),
    "cut by one page": (lambda data: data[:-4096], "is cut short"),
    "cut within its first page": (lambda data: data[:512], "is cut short"),
    "cut within its header": (lambda data: data[:60], "not a fleet file"),
    "0 bytes": (lambda data: b"", "is empty"),
    "text": (lambda data: b"engine,reading\nPlover,12.5\n" * 50, "not a fleet file"),
    "zeros": (lambda data: bytes(8192), "not a fleet file"),
    "another program's": (another_programs, "another program's database"),
    "newer": (newer, f"newer fleetcare .file {VERSION + 1}, this one knows {VERSION}"),
    "first page scrambled": (lambda data: data[:100] + b"\xa5" * 3996 + data[4096:], "is damaged"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_file_that_came_to_grief_is_refused_and_left_untouched(
    damage: str, whole: bytes, tmp_path: Path
) -> None:
    spoil, words = DAMAGES[damage]
    path = tmp_path / "fleet.db"
    path.write_bytes(spoil(whole))
    before, listing = digest(path), sorted(tmp_path.iterdir())
    with pytest.raises(UnusableFileError, match=words) as caught:
        open_file(path)
    assert caught.value.exit_code == 4
    assert str(path) in str(caught.value)
    assert digest(path) == before
    assert sorted(tmp_path.iterdir()) == listing


def test_a_database_that_any_other_program_made_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "theirs.db"
    connection = sqlite3.connect(path)
    connection.execute("create table log (id integer primary key, what text)")
    connection.execute("insert into log (what) values ('theirs')")
    connection.commit()
    connection.close()
    before = digest(path)
    with pytest.raises(UnusableFileError, match="another program's database"):
        open_file(path)
    assert digest(path) == before


def test_a_folder_is_not_a_fleet_file(tmp_path: Path) -> None:
    with pytest.raises(UnusableFileError, match="is a folder"):
        open_file(tmp_path)


def test_opening_a_name_that_is_not_there_makes_nothing(tmp_path: Path) -> None:
    with pytest.raises(UnusableFileError, match="No such file"):
        open_file(tmp_path / "typo.db")
    assert list(tmp_path.iterdir()) == []


def test_damage_deep_inside_is_told_as_damage_when_it_is_met(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    path.write_bytes(whole[: 8 * 4096] + b"\xa5" * (len(whole) - 8 * 4096))
    before = digest(path)
    with pytest.raises(UnusableFileError, match="is damaged"), FleetFile(path) as file:
        file.history()
    assert digest(path) == before


def test_a_file_that_grows_while_it_is_looked_at_is_not_called_cut_short(
    whole: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer has written its first page and finishes just before its journal is looked for."""
    path = tmp_path / "fleet.db"
    path.write_bytes(whole[:8192])
    journal, is_there = journal_of(path), Path.exists

    def exists(self: Path) -> bool:
        if self == journal:
            path.write_bytes(whole)
        return is_there(self)

    monkeypatch.setattr(Path, "exists", exists)
    open_file(path).close()


# -- read-only, as a user who may not write ----------------------------------------------------


@pytest.fixture
def open_to_all() -> Iterator[Path]:
    """A folder that another user can reach, unlike pytest's own."""
    with tempfile.TemporaryDirectory(prefix="fleetcare-test-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


def as_nobody(work: Callable[[], str]) -> str:
    """What a child process says that may not write: another user, when we are root."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:  # pragma: no cover  # the child ends here, whatever happens
        said = "nothing"
        try:
            if os.getuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            said = work()
        except FleetcareError as error:
            said = f"{error.exit_code} {error}"
        except BaseException as error:
            said = f"crash {error!r}"
        finally:
            os.write(write_end, said.encode())
            os._exit(0)
    os.close(write_end)
    with os.fdopen(read_end, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said


@pytest.mark.parametrize("modes", [(0o444, 0o555), (0o444, 0o755), (0o644, 0o555)])
def test_a_file_that_may_not_be_written_is_read_but_a_write_is_refused_in_words(
    open_to_all: Path, modes: tuple[int, int]
) -> None:
    path = open_to_all / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101))
    path.chmod(modes[0])
    open_to_all.chmod(modes[1])
    if modes[0] == 0o644 and os.getuid() == 0:
        os.chown(path, NOBODY, NOBODY)  # its file may be written, its folder may not
    before, listing = digest(path), sorted(open_to_all.iterdir())

    def look() -> str:
        with FleetFile(path) as file:
            return f"{len(file.log())} entry, {len(file.fleet().engines)} engines"

    def write() -> str:
        with FleetFile(path) as file:
            add(file, reads(3, 102))
        return "written"

    assert as_nobody(look) == "1 entry, 3 engines"
    said = as_nobody(write)
    assert said.startswith("4 "), said
    assert "read-only" in said or "cannot be used" in said
    assert digest(path) == before
    assert sorted(open_to_all.iterdir()) == listing


def test_a_write_left_half_done_on_a_read_only_stick_says_how_to_get_at_the_rest(
    open_to_all: Path, tmp_path: Path
) -> None:
    path = open_to_all / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101))
    child = os.fork()
    if child == 0:  # pragma: no cover  # killed in the middle of its write
        connection = sqlite3.connect(path, isolation_level=None)
        connection.execute("pragma cache_size = 1")
        connection.execute("begin immediate")
        connection.execute("create table big (text)")
        connection.executemany("insert into big values (?)", [("x" * 4000,)] * 200)
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    for item in open_to_all.iterdir():
        item.chmod(0o444)
    open_to_all.chmod(0o555)
    said = as_nobody(lambda: str(FleetFile(path).log()))
    assert said.startswith(f"4 {path} was left in the middle of a write"), said
    assert f"Copy it and the file {path}-journal to where they can be written" in said
    for item in (path, journal_of(path)):
        (tmp_path / item.name).write_bytes(item.read_bytes())
    with FleetFile(tmp_path / "fleet.db") as file:
        assert len(file.log()) == 1


def test_a_file_that_may_not_even_be_read_says_so(open_to_all: Path) -> None:
    path = open_to_all / "fleet.db"
    make(path).connection.close()
    path.chmod(0o000)
    said = as_nobody(lambda: str(open_file(path)))
    assert said == f"4 {path} may not be read by this user"


# -- a full disk -------------------------------------------------------------------------------


def test_a_full_disk_keeps_all_from_before_nothing_of_this_and_goes_on_later(
    tmp_path: Path,
) -> None:
    """SQLite reports a file at max_page_count as it does a full disk: SQLITE_FULL (its manual)."""
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101))
        pages = file.connection.execute("pragma page_count").fetchone()[0]
        file.connection.execute(f"pragma max_page_count = {pages + 1}")
        many = [reads(3, 102) for _ in range(5000)]
        with pytest.raises(UnusableFileError, match="the disk is full") as caught:
            add(file, *many)
        assert caught.value.exit_code == 4
        assert not file.connection.in_transaction
        assert [item.on for item in file.log()] == [may(2)]
        assert file.connection.execute("pragma integrity_check").fetchone()[0] == "ok"
        assert add(file, reads(3, 102)) == [2]
    assert entries_in(path) == 2


def test_the_mark_of_our_files_is_in_the_header_where_sqlite_keeps_it(tmp_path: Path) -> None:
    """Offsets 60 and 68: user version and application ID (SQLite manual, "Database File Format")"""
    path = tmp_path / "fleet.db"
    make(path).connection.close()
    head = path.read_bytes()[:100]
    assert int.from_bytes(head[60:64], "big") == VERSION
    assert int.from_bytes(head[68:72], "big") == APPLICATION_ID
    assert head[18:20] == b"\x01\x01"  # offsets 18, 19: rollback journal, not write-ahead log
