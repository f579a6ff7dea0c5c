"""Out as four tables and in again: the same due list to the last digit, the same events."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.due.rows import due_list
from fleetcare.errors import FaultsError, RefusedError
from fleetcare.exchange.bring_in import Import, Report, read_tables
from fleetcare.exchange.take_out import tables as out_of
from fleetcare.rules.shipped import all_texts, examples_folder, read_book
from fleetcare.show.events import events_of
from fleetcare.show.values import due_rows
from fleetcare.store.append import set_fleet_id
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile

TODAY = date(2026, 7, 18)
AT = "2026-07-18T06:00:00+00:00"
BOOK = read_book(None, set(all_texts(None)))
HEAD = (
    "on,event,engine,boat,task,part,reading,hours,fuel,water,condition,count,component,other,"
    "old_reading,until,item,cost,by,note"
)


def new(path: Path) -> FleetFile:
    file = FleetFile.make(path)
    with file.writing() as connection:
        set_fleet_id(connection, "11111111-1111-4111-8111-111111111111")
    return file


def take(file: FleetFile, *places: Path, keep_good: bool = False) -> Report:
    with file.writing():
        return Import(file, BOOK, TODAY, AT, keep_good).take(read_tables(places))


def write_out(file: FleetFile, folder: Path) -> Path:
    folder.mkdir()
    for name, text in out_of(file.fleet(), live_entries(file.log())).items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def looked_at(file: FleetFile) -> tuple[list[dict[str, Any]], list[tuple[str, date, str]]]:
    rows = due_list(file.fleet(), file.history(TODAY), BOOK, TODAY)
    events = events_of(rows, file.fleet().id, TODAY)
    return due_rows(rows, ()), [(event.uid, event.on, event.title) for event in events]


@pytest.mark.parametrize("which", ["ondrel", "tavvik", "pim"])
def test_out_and_in_again_is_the_same_to_the_last_digit(which: str, tmp_path: Path) -> None:
    with new(tmp_path / "one.db") as one, FleetFile.make(tmp_path / "two.db") as two:
        take(one, examples_folder() / which)
        folder = write_out(one, tmp_path / "tables")
        take(two, folder)
        assert looked_at(two) == looked_at(one)
        again = write_out(two, tmp_path / "again")
        for name in ("settings", "boats", "engines", "log"):
            assert (again / f"{name}.csv").read_bytes() == (folder / f"{name}.csv").read_bytes()


def test_a_folder_read_twice_adds_nothing(tmp_path: Path) -> None:
    with new(tmp_path / "fleet.db") as file:
        first = take(file, examples_folder() / "pim")
        entries = len(file.log())
        second = take(file, examples_folder() / "pim")
        assert first.taken["log"] > 0 and sum(second.taken.values()) == 0
        assert len(file.log()) == entries
        for report in (first, second):
            counted = sum(report.taken.values()) + report.there_already + len(report.left_out)
            assert report.rows == counted


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    (tmp_path / "boats.csv").write_text("boat,use,water,since\nOtter,hire,fresh,2026-01-01\n")
    (tmp_path / "engines.csv").write_text(
        "engine,boat,since,reading\nPlover,Otter,2026-01-01,100\n"
    )
    with new(tmp_path / "fleet.db") as file:
        take(file, tmp_path / "boats.csv", tmp_path / "engines.csv")
        yield file


def log(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "log.csv"
    path.write_text("\n".join((HEAD, *rows)) + "\n", encoding="utf-8")
    return path


def reading(on: str, figure: str) -> str:
    return f"{on},reading,Plover,,,,{figure}" + "," * 13


def test_the_nth_equal_row_is_the_nth_equal_entry(fleet: FleetFile, tmp_path: Path) -> None:
    run = "2026-02-01,run,Plover,,,,,2" + "," * 12
    assert take(fleet, log(tmp_path, run, run)).taken["log"] == 2
    assert take(fleet, log(tmp_path, run, run, run)).taken["log"] == 1


def test_a_bad_row_takes_the_whole_file_with_it_and_is_named(
    fleet: FleetFile, tmp_path: Path
) -> None:
    path = log(tmp_path, reading("2026-02-01", "110"), reading("2026-02-02", "12O"))
    with pytest.raises(FaultsError, match=r"(?i)log\.csv:3: reading: .*12O"):
        take(fleet, path)
    assert fleet.log() == []


def test_a_falling_meter_is_named_by_its_row_and_only_it_is_left_out(
    fleet: FleetFile, tmp_path: Path
) -> None:
    path = log(
        tmp_path, reading("2026-02-01", "110"), reading("2026-02-02", "90"),
        reading("2026-02-03", "120"),
    )  # fmt: skip
    with pytest.raises(FaultsError, match=r"log\.csv:3"):
        take(fleet, path)
    assert fleet.log() == []
    report = take(fleet, path, keep_good=True)
    assert report.taken["log"] == 2
    assert [fault.where.split(": ")[0] for fault in report.left_out] == ["log.csv:3"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"on,event\n2026-01-01,r\xe9ading\n", "is not UTF-8"),
        ("on,event\n".encode("utf-16"), "UTF-16"),
        (b'on,event\n"2026-01-01,reading\n', "is not CSV"),
        (b"on,event\n2026-01-01,\x00\n", "NUL"),
        (b"when,what\n1,2\n", "headings"),
        (b"on,event,on\n", "twice"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_words(
    content: bytes, said: str, fleet: FleetFile, tmp_path: Path
) -> None:
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(RefusedError, match=said):
        take(fleet, path)


def test_a_byte_order_mark_is_taken(fleet: FleetFile, tmp_path: Path) -> None:
    path = log(tmp_path, reading("2026-02-01", "110"))
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert take(fleet, path).taken["log"] == 1
