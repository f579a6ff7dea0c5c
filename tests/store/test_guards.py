"""The log is only added to, whoever opens the file, and a file without its guards is refused.

Whether "insert or replace" runs the delete triggers depends on recursive_triggers, off unless a
program asks for it (SQLite manual, "PRAGMA recursive_triggers" and "ON CONFLICT"): so each attack
is tried with it on and off.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from fleetcare.errors import UnusableFileError
from fleetcare.store.file import open_file
from fleetcare.store.schema import GUARDS
from tests.store.small_file import add, digest, make, may, reads

ATTACKS = {
    "update": "update log set reading = 1 where id = 1",
    "update of every row": "update log set note = 'x'",
    "update of the number": "update log set id = 9 where id = 2",
    "delete": "delete from log where id = 2",
    "delete of every row": "delete from log",
    "insert or replace": "insert or replace into log (id, act, at, day, event) "
    "values (1, 1, '', 1, 'reading')",
    "replace": "replace into log (id, act, at, day, event) values (2, 1, '', 1, 'reading')",
    "upsert": "insert into log (id, act, at, day, event) values (1, 1, '', 1, 'reading') "
    "on conflict (id) do update set reading = 1",
    "update or replace": "update or replace log set id = 1 where id = 2",
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101))
        add(file, reads(3, 102))
    return path


def rows(path: Path) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    found = connection.execute("select * from log order by id").fetchall()
    connection.close()
    return found


@pytest.mark.parametrize("recursive", ["off", "on"])
@pytest.mark.parametrize("attack", ATTACKS)
def test_no_program_changes_what_the_log_holds(path: Path, attack: str, recursive: str) -> None:
    before = rows(path)
    connection = sqlite3.connect(path)
    connection.execute(f"pragma recursive_triggers = {recursive}")
    with pytest.raises(sqlite3.IntegrityError, match="the log is only added to"):
        connection.execute(ATTACKS[attack])
    connection.commit()
    connection.close()
    assert rows(path) == before


@pytest.mark.parametrize("attack", ATTACKS)
def test_nor_does_a_connection_of_ours(path: Path, attack: str) -> None:
    before = rows(path)
    connection = open_file(path)
    with pytest.raises(sqlite3.IntegrityError, match="the log is only added to"):
        connection.execute(ATTACKS[attack])
    connection.close()
    assert rows(path) == before


def test_insert_or_ignore_over_a_number_leaves_the_row_as_it_was(path: Path) -> None:
    before = rows(path)
    connection = sqlite3.connect(path)
    sql = "insert or ignore into log (id, act, at, day, event) values (1, 1, '', 1, 'reading')"
    with pytest.raises(sqlite3.IntegrityError, match="the log is only added to"):
        connection.execute(sql)
    connection.close()
    assert rows(path) == before


def test_a_dropped_boat_or_engine_with_entries_is_refused_by_the_file(path: Path) -> None:
    connection = open_file(path)
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        connection.execute("delete from engine where name = 'Plover'")
    connection.close()


@pytest.mark.parametrize("guard", GUARDS)
def test_a_file_that_lost_a_guard_is_refused_and_left_byte_for_byte(path: Path, guard: str) -> None:
    connection = sqlite3.connect(path)
    connection.execute(f"drop trigger {guard}")
    connection.commit()
    connection.close()
    before = digest(path)
    with pytest.raises(UnusableFileError, match="has lost the guards of its log") as caught:
        open_file(path)
    assert caught.value.exit_code == 4
    assert digest(path) == before


@pytest.mark.parametrize("guard", GUARDS)
def test_a_guard_made_toothless_is_seen(path: Path, guard: str) -> None:
    connection = sqlite3.connect(path)
    connection.execute(f"drop trigger {guard}")
    connection.execute(GUARDS[guard].replace("raise(abort, 'the log is only added to')", "1"))
    connection.commit()
    connection.close()
    with pytest.raises(UnusableFileError, match="has lost the guards of its log"):
        open_file(path)


def test_a_trigger_slipped_in_is_seen(path: Path) -> None:
    connection = sqlite3.connect(path)
    connection.execute("create trigger extra after insert on log begin select 1; end")
    connection.commit()
    connection.close()
    with pytest.raises(UnusableFileError, match="another program changed it"):
        open_file(path)


@pytest.mark.parametrize("table", ["setting", "boat", "sent"])
def test_a_file_that_lost_a_table_is_refused_and_says_which(path: Path, table: str) -> None:
    connection = sqlite3.connect(path)
    connection.execute(f"drop table {table}")
    connection.commit()
    connection.close()
    before = digest(path)
    with pytest.raises(UnusableFileError, match=f"has lost its table {table}"):
        open_file(path)
    assert digest(path) == before


def test_the_guards_do_not_stand_in_the_way_of_new_entries(path: Path) -> None:
    with make(path.with_name("other.db")) as file:
        assert add(file, reads(4, 103)) == [1]
        assert add(file, reads(5, 104), reads(5, 105)) == [2, 3]
        assert [item.on for item in file.log()] == [may(4), may(5), may(5)]
