"""Making and opening fleet files, also by several programs at once."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcare.errors import BusyError, RefusedError, UnusableFileError
from fleetcare.store import file as store_file
from fleetcare.store.append import set_value
from fleetcare.store.file import journal_of, make_file, open_file, writing
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.schema import APPLICATION_ID, GUARDS, TABLES, VERSION
from tests.store.small_file import add, digest, make, reads

ROOT = Path(__file__).parent.parent.parent
AT_ONCE = 8

CHANGES = ["first_tables", "forecasts_and_subscribers", "plans_and_headings"]


def test_a_new_file_holds_our_tables_and_guards_and_is_the_users_own(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "down" / "fleet.db"
    make_file(path)
    connection = sqlite3.connect(path)
    names = {name for (name,) in connection.execute("select name from sqlite_master")}
    assert {*TABLES, *GUARDS} <= names
    strict = connection.execute("select name from pragma_table_list where strict").fetchall()
    assert {name for (name,) in strict} == set(TABLES)
    connection.close()
    assert path.stat().st_mode & 0o777 == 0o600
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize("umask", [0, 0o022, 0o077, 0o777])
def test_a_new_file_is_its_owners_alone_whatever_the_umask(tmp_path: Path, umask: int) -> None:
    before = os.umask(umask)
    try:
        make_file(tmp_path / "fleet.db")
    finally:
        os.umask(before)
    assert (tmp_path / "fleet.db").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_a_file_that_is_there_keeps_its_mode_and_its_journal_has_it_too(
    tmp_path: Path, mode: int
) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        path.chmod(mode)
        before = os.umask(0)
        try:
            with file.writing() as connection:
                set_value(connection, "by", "jetty")
                assert journal_of(path).stat().st_mode & 0o777 == mode
        finally:
            os.umask(before)
    assert path.stat().st_mode & 0o777 == mode


def test_a_new_file_appears_with_what_fills_it_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"

    def fails(connection: sqlite3.Connection) -> None:
        set_value(connection, "by", "jetty")
        raise RefusedError("no")

    with pytest.raises(RefusedError):
        make_file(path, fails)
    assert list(tmp_path.iterdir()) == []
    make_file(path, lambda connection: set_value(connection, "by", "jetty"))
    with FleetFile(path) as file:
        assert file.fleet().settings.by == "jetty"


@pytest.mark.parametrize("in_use", [True, False])
def test_a_file_that_another_program_set_to_write_ahead_is_set_back(
    tmp_path: Path, in_use: bool
) -> None:
    """A copy of such a file alone would lack what was written last."""
    path = tmp_path / "fleet.db"
    make(path).connection.close()
    other = sqlite3.connect(path, isolation_level=None)
    assert other.execute("pragma journal_mode = wal").fetchone() == ("wal",)
    other.execute("insert into setting values ('by', 'jetty')")
    if not in_use:
        other.close()
    with FleetFile(path) as file:
        assert file.fleet().settings.by == "jetty"
        mode = file.connection.execute("pragma journal_mode").fetchone()[0]
        assert mode == ("wal" if in_use else "delete")
    other.close()
    with FleetFile(path) as file:
        assert file.connection.execute("pragma journal_mode").fetchone()[0] == "delete"
    assert [item.name for item in tmp_path.iterdir()] == ["fleet.db"]


@pytest.mark.parametrize("name", ["fleet #1, 100%?.db", "Flåte Ørret.db", "a b&mode=ro.db", "-v"])
def test_any_file_name_the_disk_takes_is_taken(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    with FleetFile.make(path) as file, file.writing() as connection:
        set_value(connection, "by", name)
    with FleetFile(path) as file:
        assert file.fleet().settings.by == name
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("there", [b"", b"somebody's notes"])
def test_a_name_that_is_taken_is_refused_and_what_is_there_stays(
    there: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "fleet.db"
    path.write_bytes(there)
    with pytest.raises(RefusedError, match="exists already"):
        make_file(path)
    assert path.read_bytes() == there
    assert list(tmp_path.iterdir()) == [path]


def test_a_name_taken_while_the_file_was_being_made_is_refused_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "fleet.db"
    migrate = store_file._migrate

    def meanwhile(half: Path, connection: sqlite3.Connection) -> None:
        migrate(half, connection)
        path.write_bytes(b"theirs")

    monkeypatch.setattr(store_file, "_migrate", meanwhile)
    with pytest.raises(RefusedError, match="exists already"):
        make_file(path)
    assert path.read_bytes() == b"theirs"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("error", [KeyboardInterrupt, sqlite3.DatabaseError])
def test_a_making_that_is_cut_short_leaves_no_half_file(
    error: type[BaseException], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(half: Path, connection: sqlite3.Connection) -> None:
        connection.execute("create table half (made text)")
        raise error

    monkeypatch.setattr(store_file, "_migrate", fail)
    with pytest.raises(error):
        make_file(tmp_path / "fleet.db")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "notes").write_bytes(b"a file")
    with pytest.raises(UnusableFileError, match="cannot be made"):
        make_file(tmp_path / "notes" / "fleet.db")


def test_no_file_is_made_beside_the_journal_of_a_lost_one(tmp_path: Path) -> None:
    """A journal is played into whatever has its file's name ("How To Corrupt An SQLite Database
    File", on journals that outlive their database)."""
    journal_of(tmp_path / "fleet.db").write_bytes(b"what is left")
    with pytest.raises(RefusedError, match=r"fleet\.db-journal is left of a file that is gone"):
        make_file(tmp_path / "fleet.db")
    assert [path.name for path in tmp_path.iterdir()] == ["fleet.db-journal"]


def test_opening_twice_changes_no_byte(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    make(path).connection.close()
    before = digest(path)
    with FleetFile(path) as one, FleetFile(path) as two:
        assert one.fleet() == two.fleet()
    assert digest(path) == before


# -- files of an older version -----------------------------------------------------------------


def without_tables(path: Path) -> None:
    """A file of ours before its first migration, made by hand."""
    connection = sqlite3.connect(path)
    connection.execute(f"pragma application_id = {APPLICATION_ID}")
    connection.commit()
    connection.close()


def migrations_in(path: Path) -> list[str]:
    connection = sqlite3.connect(path)
    found = connection.execute("select name from _sqlite_migrations order by rowid").fetchall()
    connection.close()
    return [name for (name,) in found]


def version_of(path: Path) -> int:
    return int.from_bytes(path.read_bytes()[60:64], "big")


def test_an_older_file_is_brought_up_to_date_when_it_is_opened(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    without_tables(path)
    assert version_of(path) == 0
    with FleetFile(path) as file:
        assert file.log() == []
    assert version_of(path) == VERSION
    assert migrations_in(path) == CHANGES


def test_an_update_that_fails_leaves_the_older_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "fleet.db"
    without_tables(path)
    before = digest(path)
    guards = {"log_no_update": "create trigger of nonsense"}
    monkeypatch.setattr("fleetcare.store.schema.GUARDS", guards)
    with pytest.raises(sqlite3.OperationalError):
        open_file(path)
    assert digest(path) == before


OPENING = """
import sys
from pathlib import Path
from fleetcare.store.fleet_file import FleetFile
print("here", flush=True)
sys.stdin.readline()
with FleetFile(Path(sys.argv[1])) as file:
    print(len(file.log()))
"""


def test_eight_programs_that_open_an_older_file_at_once_change_it_once(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    without_tables(path)
    programs = [
        subprocess.Popen(
            [sys.executable, "-c", OPENING, str(path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True, cwd=ROOT,
        )
        for _ in range(AT_ONCE)
    ]  # fmt: skip
    for program in programs:
        assert program.stdout is not None and program.stdin is not None
        assert program.stdout.readline() == "here\n"
    for program in programs:
        assert program.stdin is not None
        program.stdin.write("go\n")
        program.stdin.flush()
    said = [program.communicate() for program in programs]
    assert said == [("0\n", "")] * AT_ONCE
    assert [program.returncode for program in programs] == [0] * AT_ONCE
    assert migrations_in(path) == CHANGES
    assert version_of(path) == VERSION


# -- held by another program -------------------------------------------------------------------


def test_a_file_held_by_another_program_is_busy_and_taken_once_it_is_free(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    make(path).connection.close()
    other = sqlite3.connect(path, isolation_level=None)
    ours = open_file(path, wait=0)
    other.execute("begin immediate")
    with pytest.raises(BusyError, match="nothing was written") as caught, writing(path, ours):
        pytest.fail("it is held")
    assert caught.value.exit_code == 5
    assert not ours.in_transaction
    assert ours.execute("select count(*) from engine").fetchone()[0] == 3  # reading goes on
    other.execute("commit")
    with writing(path, ours):
        ours.execute("insert into setting values ('by', 'jetty')")
    other.execute("begin exclusive")
    with pytest.raises(BusyError):
        open_file(path, wait=0)
    other.execute("commit")
    assert other.execute("select value from setting where name = 'by'").fetchone() == ("jetty",)
    ours.close()
    other.close()


def test_a_reader_that_holds_on_makes_a_writer_wait_and_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101))
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("begin")
    reader.execute("select * from log").fetchone()
    ours = open_file(path, wait=0)
    with pytest.raises(BusyError), writing(path, ours):
        ours.execute("insert into setting values ('by', 'jetty')")
    assert not ours.in_transaction
    reader.execute("rollback")
    assert ours.execute("select count(*) from setting where name = 'by'").fetchone() == (0,)
    ours.close()
    reader.close()


def test_what_is_read_together_is_of_one_moment_whatever_others_write(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        other = open_file(path, wait=0)
        with file.reading():
            before = len(file.log())
            with pytest.raises(BusyError), writing(path, other):
                other.execute("update engine set name = 'Gull' where name = 'Plover'")
            assert "Plover" in file.fleet().engines
            assert len(file.log()) == before
        assert not file.connection.in_transaction
        with writing(path, other):
            other.execute("update engine set name = 'Gull' where name = 'Plover'")
        assert "Gull" in file.fleet().engines
        other.close()


def test_the_settings_of_a_connection_are_those_that_keep_what_was_said(tmp_path: Path) -> None:
    """EXTRA is 3, DELETE the rollback journal (SQLite manual, "PRAGMA Statements")."""
    with make(tmp_path / "fleet.db") as file:
        asked = {
            "synchronous": 3, "journal_mode": "delete", "foreign_keys": 1,
            "recursive_triggers": 1, "trusted_schema": 0, "cell_size_check": 1, "fullfsync": 1,
        }  # fmt: skip
        found = {name: file.connection.execute(f"pragma {name}").fetchone()[0] for name in asked}
        assert found == asked
    assert os.listdir(tmp_path) == ["fleet.db"]  # noqa: PTH208  # names only
