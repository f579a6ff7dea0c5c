"""Every write is one transaction: on any error in the middle nothing of it is kept."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.history import history
from fleetcare.store.append import (
    add_boat,
    add_engine,
    add_entries,
    also_called,
    exists_already,
    rename_engine,
    set_value,
)
from fleetcare.store.fetch import fetch_act, live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.store.small_file import AT, FIRST, add, digest, entries_in, make, may, reads

EVERY_KIND: tuple[Entry, ...] = (
    kinds.MeterChange(on=may(2), engine="Plover", old=10100, new=50),
    kinds.MeterChange(on=may(2), engine="Teal", old=10000),
    kinds.Move(on=may(3), boat="Otter", water=Water.FRESH),
    kinds.Store(on=may(3), engine="Plover"),
    kinds.Mount(on=may(4), engine="Plover", boat="Otter"),
    kinds.Swap(on=may(5), engine="Plover", other="Teal", component="gearcase"),
    kinds.LayUp(on=may(6), engine="Teal"),
    kinds.Launch(on=may(7), engine="Teal"),
    kinds.Run(on=may(8), engine="Plover", hours=250, water=Water.BRACKISH, hire_time=True),
    kinds.Run(on=may(8), engine="Plover", fuel=1225, reading=400, by="jetty", note="a note"),
    kinds.Reading(on=may(9), engine="Plover", reading=0 + 500),
    kinds.Finding(
        on=may(9), engine="Plover", part="impeller vanes", condition="cracked", count=2, reading=500
    ),
    kinds.Incident(on=may(9), engine="Plover", kind="overheated", reading=510),
    kinds.Job(
        on=may(10), engine="Plover", task="impeller", part="impeller vanes",
        condition="pieces missing", count=0, reading=520,
    ),
    kinds.PutOff(on=may(11), engine="Plover", task="plugs", until=date(9999, 12, 31), note="why"),
    kinds.Delivery(on=may(12), item="=impeller", count=3, cost=1250),
    kinds.Count(on=may(12), item="impeller", count=0),
    kinds.Retire(on=may(13), engine="Snipe"),
    kinds.Retire(on=may(13), boat="Heron"),
)  # fmt: skip


@pytest.fixture
def file(tmp_path: Path) -> Iterator[FleetFile]:
    with make(tmp_path / "fleet.db") as file:
        yield file


def test_every_kind_of_entry_is_read_back_as_it_was_written(file: FleetFile) -> None:
    with file.writing() as connection:
        add_boat(connection, Boat("Heron", "club", Water.FRESH, FIRST))
    numbers = add(file, *EVERY_KIND)
    assert numbers == list(range(1, len(EVERY_KIND) + 1))
    kept = file.log()
    assert live_entries(kept) == [
        replace(entry, number=number) for number, entry in zip(numbers, EVERY_KIND, strict=True)
    ]
    assert {type(entry) for entry in live_entries(kept)} == {*kinds.Entry.__args__}
    assert {(item.act, item.at, item.withdrawn) for item in kept} == {(1, AT, False)}


def test_every_kind_of_entry_is_told_as_the_logs_own_history_tells_it(file: FleetFile) -> None:
    with file.writing() as connection:
        add_boat(connection, Boat("Heron", "club", Water.FRESH, FIRST))
    add(file, *EVERY_KIND)
    pure = history(live_entries(file.log()), date.max)
    for engine in file.fleet().engines:
        pure.of(engine)  # those of which nothing was logged
    assert file.history() == pure


def test_boats_and_engines_are_read_back_as_they_were_written(file: FleetFile) -> None:
    boat = Boat("Dipper", "owner", Water.BRACKISH, FIRST, "the quay; east", ("D", "=D"))
    engine = Engine(
        name="Whimbrel", since=FIRST, boat="Dipper", family="single 4", hp=Fraction("2.5"),
        stroke=4, year=1998, meter=True, digits=5, steering="tiller",
        litres_hour=Fraction("1.125"), rules="hire", without=("thermostat", "battery"),
        reading=99999, new=True, also=("W", "Old W"), first="W",
    )  # fmt: skip
    bare = Engine("Bare", FIRST, meter=False, first="Bare")
    with file.writing() as connection:
        add_boat(connection, boat)
        add_engine(connection, engine)
        add_engine(connection, bare)
    fleet = file.fleet()
    assert fleet.boats["Dipper"] == boat
    assert (fleet.engines["Whimbrel"], fleet.engines["Bare"]) == (engine, bare)


# -- all or nothing ----------------------------------------------------------------------------


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, SystemExit, RefusedError])
def test_an_error_in_the_middle_leaves_nothing_of_the_write(
    file: FleetFile, error: type[BaseException]
) -> None:
    add(file, reads(2, 101))
    before = digest(file.path)
    with pytest.raises(error), file.writing() as connection:
        set_value(connection, "by", "jetty")
        add_boat(connection, Boat("Dipper", "owner", Water.FRESH, FIRST))
        add_entries(connection, [reads(3, 102)], AT)
        raise error
    assert digest(file.path) == before
    assert not file.connection.in_transaction
    assert add(file, reads(3, 102)) == [2]


def test_an_error_of_the_database_in_the_middle_leaves_nothing_either(file: FleetFile) -> None:
    before = digest(file.path)
    with pytest.raises(sqlite3.IntegrityError), file.writing() as connection:
        add_entries(connection, [reads(2, 101)], AT)
        connection.execute("insert into setting (name, value) values ('by', null)")
    assert digest(file.path) == before


def test_a_write_that_is_only_tried_leaves_no_byte(file: FleetFile) -> None:
    before = digest(file.path)
    with file.writing(keep=False) as connection:
        assert add_entries(connection, [reads(2, 101)], AT) == [1]
        assert connection.execute("select count(*) from log").fetchone()[0] == 1
    assert digest(file.path) == before
    assert not file.connection.in_transaction


def test_one_bad_entry_of_many_takes_all_of_the_command_with_it(file: FleetFile) -> None:
    with pytest.raises(FaultsError, match=r"reads 50\.0 on 2025-05-04 but read 103\.0"):
        add(file, reads(2, 102), reads(3, 103), reads(4, 50))
    assert entries_in(file.path) == 0


def test_numbers_have_no_gap_after_what_was_refused(file: FleetFile) -> None:
    assert add(file, reads(2, 101)) == [1]
    for _ in range(3):
        with pytest.raises(FaultsError):
            add(file, reads(3, 5))
    assert add(file, reads(3, 102), reads(4, 103)) == [2, 3]
    acts = [(item.number, item.act) for item in file.log()]
    assert acts == [(1, 1), (2, 2), (3, 2)]
    assert [item.number for item in fetch_act(file.connection)] == [2, 3]


@pytest.mark.parametrize(
    "entry",
    [
        reads(2, 101, engine="Gull"),
        kinds.Swap(on=may(2), engine="Plover", other="Gull", component="gearcase"),
        kinds.Mount(on=may(2), engine="Plover", boat="Heron"),
        kinds.Move(on=may(2), boat="Heron", water=Water.FRESH),
    ],
)
def test_an_entry_of_what_is_not_in_the_fleet_any_more_is_refused(
    file: FleetFile, entry: Entry
) -> None:
    with pytest.raises(RefusedError, match=r'"(Gull|Heron)" is not in the fleet'):
        add(file, entry)
    with pytest.raises(RefusedError, match="is not in the fleet"), file.writing() as connection:
        add_entries(connection, [entry], AT, checked=False)
    assert entries_in(file.path) == 0


# -- names -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Plover", "PLOVER", " plover ", "Ｐlover"])
def test_a_name_that_is_taken_is_refused_however_it_is_written(file: FleetFile, name: str) -> None:
    with pytest.raises(RefusedError, match="exists already"), file.writing() as connection:
        add_engine(connection, Engine(name, FIRST, reading=0))
    with pytest.raises(RefusedError, match="exists already"), file.writing() as connection:
        add_engine(connection, Engine("Gull", FIRST, reading=0, also=(name,)))
    with pytest.raises(RefusedError, match="exists already"), file.writing() as connection:
        also_called(connection, file.fleet().engines["Teal"], name)


@pytest.mark.parametrize("name", ["", "  ", "a;b", "x" * 81, "a\x07b", "a\u202eb", "a\u200bb"])
def test_what_cannot_be_a_name_is_refused(file: FleetFile, name: str) -> None:
    with pytest.raises(RefusedError, match="choose another"), file.writing() as connection:
        add_boat(connection, Boat(name, "hire", Water.SALT, FIRST))
    with pytest.raises(RefusedError, match="choose another"), file.writing() as connection:
        rename_engine(connection, file.fleet().engines["Plover"], name)
    assert list(file.fleet().boats) == ["Otter"]


def test_the_same_name_twice_on_one_engine_is_refused(file: FleetFile) -> None:
    with pytest.raises(RefusedError, match="twice"), file.writing() as connection:
        add_engine(connection, Engine("Gull", FIRST, reading=0, also=("Tern", "TERN")))


def test_a_renamed_engine_answers_to_all_its_names_and_keeps_its_first(file: FleetFile) -> None:
    add(file, reads(2, 101))
    for name in ("Gull", "Tern"):
        with file.writing() as connection:
            rename_engine(connection, file.fleet().engine("Plover"), name)
    fleet = file.fleet()
    assert [fleet.engine(name).name for name in ("plover", "gull", "tern")] == ["Tern"] * 3
    assert fleet.engines["Tern"].first_name == "Plover"
    assert fleet.engines["Tern"].also == ("Plover", "Gull")
    assert [entry.engine for entry in live_entries(file.log()) if hasattr(entry, "engine")] == [
        "Tern"
    ]
    with pytest.raises(RefusedError, match='"Gull" exists already'), file.writing() as connection:
        add_engine(connection, Engine("Gull", FIRST, reading=0))


def test_an_engine_may_go_back_to_a_name_it_had(file: FleetFile) -> None:
    for name in ("Gull", "Tern", "Gull", "Plover"):
        with file.writing() as connection:
            renamed = rename_engine(connection, file.fleet().engine("Plover"), name)
        assert file.fleet().engines[name] == renamed
        assert renamed.first_name == "Plover"
    assert set(file.fleet().engines["Plover"].also) == {"Gull", "Tern"}
    with pytest.raises(RefusedError, match="exists already"), file.writing() as connection:
        rename_engine(connection, file.fleet().engines["Plover"], "Plover")
    with pytest.raises(RefusedError, match="exists already"), file.writing() as connection:
        rename_engine(connection, file.fleet().engines["Plover"], "Teal")


def test_an_entry_that_says_the_same_is_found_whoever_wrote_it(file: FleetFile) -> None:
    job = kinds.Job(on=may(2), engine="Plover", task="impeller", reading=10100)
    add(file, replace(job, by="jetty", note="done"))
    found = exists_already(file.log(), job)
    assert found is not None and found.number == 1
    assert exists_already(file.log(), replace(job, on=may(3))) is None
    assert exists_already(file.log(), replace(job, reading=None)) is None
    assert exists_already(file.log(), reads(2, 101)) is None


def test_opening_the_file_again_keeps_the_locks_of_a_write_under_way(tmp_path: Path) -> None:
    """POSIX drops a program's locks on a file when it closes any descriptor of it
    (sqlite.org, How To Corrupt An SQLite Database File, 2.2)."""
    path = tmp_path / "fleet.db"
    FleetFile.make(path).connection.close()
    other = (
        "import sqlite3, sys\n"
        "held = sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None)\n"
        "try:\n"
        "    held.execute('begin immediate')\n"
        "except sqlite3.OperationalError as error:\n"
        "    print(error)\n"
    )
    with FleetFile(path) as file, file.writing():
        with FleetFile(path):
            pass
        done = subprocess.run(
            [sys.executable, "-c", other, str(path)], capture_output=True, text=True, check=True
        )
    assert done.stdout == "database is locked\n"
