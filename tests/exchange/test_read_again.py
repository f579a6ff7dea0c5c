"""A table read again adds only what is not there yet."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import FaultsError
from fleetcare.log import entries as kinds
from fleetcare.rules.shipped import examples_folder
from fleetcare.store.append import add_entries, also_called, rename_engine, withdraw
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import (
    AT,
    FLEET_ID,
    TODAY,
    digest,
    in_folder,
    looked_at,
    new,
    own_book,
    take,
)
from tests.oracle.sample import sample

Row = dict[str, str]
OTHER_ID = "22222222-2222-4222-8222-222222222222"
BOATS = [{"boat": "Otter", "use": "hire", "water": "salt", "since": "2026-01-01"}]
ENGINES = [{"engine": "Plover", "boat": "Otter", "since": "2026-01-01", "reading": "100"}]


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    """Plover on Otter."""
    with new(tmp_path / "fleet.db") as file:
        take(file, in_folder(tmp_path / "base", {"boats": BOATS, "engines": ENGINES}))
        yield file


def run(day: int, hours: str = "2", **more: str) -> Row:
    return {"on": f"2026-02-{day:02}", "event": "run", "engine": "Plover", "hours": hours, **more}


def log(tmp_path: Path, *rows: Row) -> Path:
    return in_folder(tmp_path / "log", {"log": rows})


@pytest.mark.parametrize("which", ["ondrel", "tavvik", "pim"])
def test_the_same_folder_twice_adds_nothing(which: str, tmp_path: Path) -> None:
    with new(tmp_path / "fleet.db") as file:
        first = take(file, examples_folder() / which)
        before = digest(file.path)
        second = take(file, examples_folder() / which)
        assert digest(file.path) == before
        assert sum(second.taken.values()) == 0
        assert second.rows == second.there_already == first.rows


def test_the_nth_equal_row_is_the_nth_equal_entry(fleet: FleetFile, tmp_path: Path) -> None:
    for times, taken in ((2, 2), (2, 0), (1, 0), (5, 3), (4, 0)):
        report = take(fleet, log(tmp_path, *[run(1)] * times))
        assert (report.taken["log"], report.there_already) == (taken, times - taken)
    assert len(fleet.log()) == 5


def test_rows_that_differ_in_anything_are_different_rows(fleet: FleetFile, tmp_path: Path) -> None:
    rows = [
        run(1), run(2), run(1, "2.01"), run(1, water="fresh"), run(1, note="a"), run(1, by="b"),
        run(1, condition="hire time"), run(1, reading="102"),
    ]  # fmt: skip
    assert take(fleet, log(tmp_path, *rows)).taken["log"] == len(rows)
    assert take(fleet, log(tmp_path, *reversed(rows))).taken["log"] == 0


def test_the_same_said_in_another_way_is_there_already(fleet: FleetFile, tmp_path: Path) -> None:
    take(fleet, log(tmp_path, run(1, "2.5", note="a note", by="jetty")))
    for row in (
        run(1, "2,5", note="a note", by="jetty"),
        run(1, "2:30", note=" a note ", by="jetty "),
        run(1, "02.50", note="a note", by="jetty", engine="PLOVER"),
        run(1, "2.5 h", note="a note", by="jetty", on="20260201"),
    ):
        report = take(fleet, log(tmp_path, row))
        assert (report.taken["log"], report.there_already) == (0, 1), row


def test_an_entry_typed_with_odd_spaces_is_not_doubled_by_its_own_table(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """Spaces around a cell do not survive a table, so they cannot tell entries apart."""
    entry = kinds.Run(on=date(2026, 2, 1), engine="Plover", hours=200, note="  so  ", by=" jetty ")
    with fleet.writing() as connection:
        add_entries(connection, [entry], AT)
    assert take(fleet, log(tmp_path, run(1, note="  so  ", by=" jetty "))).taken["log"] == 0


@pytest.mark.parametrize("part", range(3))
def test_next_weeks_copy_with_the_old_rows_on_top_adds_just_the_new(
    part: int, tmp_path: Path
) -> None:
    for at, (tables, texts, as_of) in enumerate(sample(40)[part::6]):
        place = tmp_path / str(at)
        book = own_book(place.with_suffix(".rules"), texts)
        whole = tables["log"]
        with new(place.with_suffix(".a.db")) as slowly, new(place.with_suffix(".b.db")) as at_once:
            taken = 0
            for share in (3, 2, 1):  # a third of the rows, half, all
                rows = whole[: len(whole) // share]
                folder = in_folder(place.with_suffix(".in"), {**tables, "log": rows})
                report = take(slowly, folder, book=book)
                assert report.taken["log"] == len(rows) - taken
                taken = len(rows)
            take(at_once, folder, book=book)
            assert looked_at(slowly, as_of, book) == looked_at(at_once, as_of, book)
            assert live_entries(slowly.log()) == live_entries(at_once.log())


def test_rows_taken_by_hand_in_between_count_as_there(fleet: FleetFile, tmp_path: Path) -> None:
    with fleet.writing() as connection:
        entry = kinds.Run(on=date(2026, 2, 1), engine="Plover", hours=200)
        add_entries(connection, [entry], AT)
    report = take(fleet, log(tmp_path, run(1), run(1), run(2)))
    assert (report.taken["log"], report.there_already) == (2, 1)


def test_a_row_that_was_withdrawn_does_not_come_back_by_itself(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """Someone took it back; the sheet it came from does not know, and is read every week."""
    take(fleet, log(tmp_path, run(1), run(2)))
    with fleet.writing() as connection:
        withdraw(connection, [1], TODAY, "jetty", AT)
    report = take(fleet, log(tmp_path, run(1), run(2), run(3)))
    assert (report.taken["log"], report.there_already) == (1, 2)
    assert [entry.on.day for entry in live_entries(fleet.log())] == [2, 3]


# -- boats, engines, settings ------------------------------------------------------------------


def test_an_engine_called_otherwise_since_is_there_already(
    fleet: FleetFile, tmp_path: Path
) -> None:
    last = [{**ENGINES[0], "last:impeller": "2025-05-01"}]
    folder = in_folder(tmp_path / "in", {"boats": BOATS, "engines": last, "log": [run(1)]})
    assert dict(take(fleet, folder).taken) == {"log": 2}
    with fleet.writing() as connection:
        rename_engine(connection, fleet.fleet().engine("Plover"), "Gull")
        also_called(connection, fleet.fleet().engine("Gull"), "Ladle")
    report = take(fleet, folder)
    assert (sum(report.taken.values()), report.there_already) == (0, 4)
    assert list(fleet.fleet().engines) == ["Gull"]


@pytest.mark.parametrize(
    "change",
    [{"hp": "6"}, {"reading": "101"}, {"since": "2026-01-02"}, {"boat": ""}, {"also": "Ladle"},
     {"new": "yes"}, {"without": "impeller"}, {"rules": "hire"}],
)  # fmt: skip
def test_an_engine_said_to_be_otherwise_is_a_fault_and_changes_nothing(
    fleet: FleetFile, tmp_path: Path, change: Row
) -> None:
    before = fleet.fleet()
    folder = in_folder(tmp_path / "in", {"engines": [{**ENGINES[0], **change}]})
    with pytest.raises(FaultsError, match=r'engines\.csv:2: engine: engine "Plover" exists'):
        take(fleet, folder)
    assert fleet.fleet() == before


def test_a_name_of_one_engine_is_not_another_ones(fleet: FleetFile, tmp_path: Path) -> None:
    two = {**ENGINES[0], "engine": "Teal"}
    take(fleet, in_folder(tmp_path / "in", {"engines": [two]}))
    mixed = {**ENGINES[0], "also": "Teal"}
    with pytest.raises(FaultsError, match=r"engines\.csv:2: engine: .*exists already"):
        take(fleet, in_folder(tmp_path / "in", {"engines": [mixed]}))


def test_a_boat_said_to_be_otherwise_is_a_fault(fleet: FleetFile, tmp_path: Path) -> None:
    with pytest.raises(FaultsError, match=r'boats\.csv:2: boat: boat "Otter" exists already'):
        take(fleet, in_folder(tmp_path / "in", {"boats": [{**BOATS[0], "water": "fresh"}]}))


def settings(tmp_path: Path, *pairs: tuple[str, str]) -> Path:
    rows = [{"name": name, "value": value} for name, value in pairs]
    return in_folder(tmp_path / "in", {"settings": rows})


def test_only_an_empty_fleet_takes_the_id_of_another(fleet: FleetFile, tmp_path: Path) -> None:
    folder = settings(tmp_path, ("fleet_id", OTHER_ID), ("by", "jetty"))
    with new(tmp_path / "empty.db") as empty:
        assert empty.fleet().id == FLEET_ID
        assert take(empty, folder).taken["settings"] == 2
        assert empty.fleet().id == OTHER_ID
        assert take(empty, folder).there_already == 2
    with pytest.raises(FaultsError, match=r"settings\.csv:2: value: is another fleet's id"):
        take(fleet, folder)
    assert fleet.fleet().settings.by == ""
    assert take(fleet, folder, keep_good=True).taken["settings"] == 1
    assert (fleet.fleet().id, fleet.fleet().settings.by) == (FLEET_ID, "jetty")
    assert take(fleet, settings(tmp_path, ("fleet_id", FLEET_ID))).there_already == 1


def test_a_setting_twice_with_two_values_is_a_fault_with_one_it_is_one(
    fleet: FleetFile, tmp_path: Path
) -> None:
    for pairs in ((("by", "a"), ("by", "b")), (("fleet_id", FLEET_ID), ("fleet_id", OTHER_ID))):
        with pytest.raises(FaultsError, match=r"settings\.csv:3: value: "):
            take(fleet, settings(tmp_path, *pairs))
    report = take(fleet, settings(tmp_path, ("by", "a"), ("by", "a")))
    assert (report.taken["settings"], report.there_already) == (1, 1)


def test_engines_may_name_the_rule_set_and_boats_that_come_with_them(tmp_path: Path) -> None:
    tables: dict[str, list[Row]] = {
        "settings": [{"name": "rules", "value": "hire"}],
        "boats": BOATS,
        "engines": [{**ENGINES[0], "last:Impeller": "2025-05-01@90"}],
        "log": [run(1)],
    }
    with new(tmp_path / "fleet.db") as file:
        report = take(file, in_folder(tmp_path / "in", tables))
        assert dict(report.taken) == {"settings": 1, "boats": 1, "engines": 1, "log": 2}
        assert report.rows == 5  # a last: cell is a job, and counts like a row


# -- columns that say what was last done -------------------------------------------------------


def test_last_columns_are_jobs_known_from_the_past(fleet: FleetFile, tmp_path: Path) -> None:
    teal = {
        **ENGINES[0], "engine": "Teal", "last:impeller": "2025-05-01@90.5",
        "last: Gear Oil ": "2025-06-01", "last:thermostat": "",
    }  # fmt: skip
    folder = in_folder(tmp_path / "in", {"engines": [teal]})
    report = take(fleet, folder)
    assert dict(report.taken) == {"engines": 1, "log": 2}
    assert {(entry.task, entry.on, entry.reading) for entry in jobs(fleet)} == {
        ("impeller", date(2025, 5, 1), 9050),
        ("gear oil", date(2025, 6, 1), None),
    }
    assert take(fleet, folder).there_already == 3
    later = in_folder(tmp_path / "in", {"engines": [{**teal, "last:thermostat": "2025-07-01"}]})
    assert dict(take(fleet, later).taken) == {"log": 1}


def jobs(file: FleetFile) -> list[kinds.Job]:
    return [entry for entry in live_entries(file.log()) if isinstance(entry, kinds.Job)]


def test_a_last_job_that_its_engines_readings_do_not_allow_is_named_by_its_row(
    fleet: FleetFile, tmp_path: Path
) -> None:
    teal = {**ENGINES[0], "engine": "Teal", "last:impeller": "2025-05-01@101"}
    folder = in_folder(tmp_path / "in", {"engines": [teal]})
    with pytest.raises(FaultsError, match=r'engines\.csv:2: engine "Teal": .*101\.0 h'):
        take(fleet, folder)
    report = take(fleet, folder, keep_good=True)
    assert dict(+report.taken) == {"engines": 1}
    assert len(report.left_out) == 1
    assert jobs(fleet) == []


def test_a_row_with_one_bad_last_cell_is_left_out_whole(fleet: FleetFile, tmp_path: Path) -> None:
    teal = {**ENGINES[0], "engine": "Teal", "last:impeller": "2025-05-01", "last:plugs": "soon"}
    report = take(fleet, in_folder(tmp_path / "in", {"engines": [teal]}), keep_good=True)
    assert sum(report.taken.values()) == 0
    assert [fault.where for fault in report.left_out] == ["engines.csv:2: last:plugs"]
    assert "Teal" not in fleet.fleet().engines
