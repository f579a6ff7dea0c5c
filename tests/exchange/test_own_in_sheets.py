"""Our own four tables through workbooks, and through what spreadsheet programs make of CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.exchange.accounts import Report
from fleetcare.exchange.asked import Asked, UndecidedError
from fleetcare.exchange.book_out import workbook
from fleetcare.exchange.bring_in import Import
from fleetcare.exchange.csvfile import guarded, unguarded
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.exchange.take_out import rows as rows_out
from fleetcare.exchange.take_out import tables as tables_out
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.shipped import examples_folder
from fleetcare.store.append import add_boat, add_engine, add_entries
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import (
    AT,
    NAMES,
    SHIPPED,
    TODAY,
    digest,
    in_folder,
    looked_at,
    new,
    own_book,
    take,
)
from tests.exchange.sheets import accounted
from tests.exchange.test_round_trip import HOSTILE, live_on
from tests.oracle.sample import sample

FLEETS, PARTS = 12, 2


def bring(
    file: FleetFile, *paths: Path, book: RuleBook = SHIPPED, keep_good: bool = False, **asked: Any
) -> Report:
    tables = read_found(paths, Asked(**asked), {}, file.fleet())
    with file.writing():
        report = Import(file, book, TODAY, AT, keep_good, Asked(**asked)).take(tables)
    accounted(report)
    return report


def book_of(file: FleetFile, path: Path) -> Path:
    path.write_bytes(workbook(rows_out(file.fleet(), live_entries(file.log()))))
    return path


@pytest.mark.parametrize("which", ["tavvik", "pim"])
def test_an_example_fleet_comes_back_from_a_workbook_to_the_last_digit(
    which: str, tmp_path: Path
) -> None:
    with new(tmp_path / "one.db") as one, FleetFile.make(tmp_path / "two.db") as two:
        take(one, examples_folder() / which)
        path = book_of(one, tmp_path / "fleet.xlsx")
        bring(two, path)
        assert looked_at(one) == looked_at(two)
        assert book_of(two, tmp_path / "again.xlsx").read_bytes() == path.read_bytes()
        before = digest(two.path)
        assert sum(bring(two, path).taken.values()) == 0
        assert digest(two.path) == before


@pytest.mark.parametrize("part", range(PARTS))
def test_any_fleet_comes_back_from_a_workbook_and_from_a_foreign_looking_csv(
    part: int, tmp_path: Path
) -> None:
    for at, (tables, texts, as_of) in enumerate(sample(FLEETS)[part::PARTS]):
        place = tmp_path / str(at)
        book = own_book(place.with_suffix(".rules"), texts)
        with (
            new(place.with_suffix(".one.db")) as one,
            FleetFile.make(place.with_suffix(".two.db")) as two,
            FleetFile.make(place.with_suffix(".three.db")) as three,
        ):
            take(one, in_folder(place.with_suffix(".in"), tables), book=book)
            live_on(one)
            path = book_of(one, place.with_suffix(".xlsx"))
            bring(two, path, book=book)
            wanted = looked_at(one, as_of, book)
            assert looked_at(two, as_of, book) == wanted
            assert book_of(two, path).read_bytes() == book_of(one, path).read_bytes()
            bring(three, *resaved(one, place.with_suffix(".out")), book=book)
            assert looked_at(three, as_of, book) == wanted
            assert three.fleet() == one.fleet()
            assert live_entries(three.log()) == live_entries(two.log())


def resaved(file: FleetFile, folder: Path) -> list[Path]:
    """The tables as a continental spreadsheet program saves them: semicolons, commas for decimals,
    days with dots, a byte order mark."""
    folder.mkdir()
    paths = []
    for name, text in tables_out(file.fleet(), live_entries(file.log())).items():
        head, *body = csv.reader(io.StringIO(text, newline=""))
        out = io.StringIO(newline="")
        writer = csv.writer(out, delimiter=";")
        writer.writerow([*head, ""])
        for row in body:
            writer.writerow([*map(local, head, row), ""])
        paths.append(folder / name)
        paths[-1].write_bytes(out.getvalue().encode("utf-8-sig"))
    return paths


def local(head: str, text: str) -> str:
    if head in ("on", "since", "until") and text:
        return date.fromisoformat(text).strftime("%d.%m.%Y")
    if head in ("reading", "hours", "fuel", "hp", "litres_hour", "cost", "old_reading"):
        return text.replace(".", ",")
    return text


@pytest.fixture
def one(tmp_path: Path) -> Any:
    with new(tmp_path / "one.db") as file:
        with file.writing() as connection:
            add_boat(connection, Boat("Otter", "hire", Water.SALT, date(2026, 1, 1)))
            add_engine(connection, Engine("Plover", date(2026, 1, 1), "Otter", reading=10000))
        yield file


@pytest.mark.parametrize("text", [*HOSTILE, "'=1+1", "''@x", "a\rb", "_x0041_", "\t", "7", "007",
                                  "\x0b", "2026-05-01", "TRUE", "1.50"])  # fmt: skip
def test_a_text_comes_back_from_a_workbook_as_it_was(
    one: FleetFile, tmp_path: Path, text: str
) -> None:
    runs = [
        kinds.Run(on=date(2026, 2, 1), engine="Plover", hours=100, note=text.strip()),
        kinds.Run(on=date(2026, 2, 2), engine="Plover", hours=100, note=f"{text} {text}".strip()),
    ]
    with one.writing() as connection:
        add_entries(connection, runs, AT)
    with FleetFile.make(tmp_path / "two.db") as two:
        bring(two, book_of(one, tmp_path / "fleet.xlsx"))
        assert live_entries(two.log()) == live_entries(one.log())


def test_no_cell_of_what_is_written_out_is_a_formula(one: FleetFile, tmp_path: Path) -> None:
    with one.writing() as connection:
        for at, text in enumerate(("=1+1", "+1", "-1", "@x", "\t=1", "'=1", "plain")):
            run = kinds.Run(on=date(2026, 2, 1 + at), engine="Plover", hours=100, note=text)
            add_entries(connection, [run], AT)
    for text in tables_out(one.fleet(), live_entries(one.log())).values():
        for row in csv.reader(io.StringIO(text, newline="")):
            assert all(cell[:1] not in ("=", "+", "-", "@", "\t", "\r") for cell in row)
    found = openpyxl.load_workbook(book_of(one, tmp_path / "fleet.xlsx"))
    cells = [cell for sheet in found for row in sheet for cell in row]
    assert {cell.data_type for cell in cells} == {"s", "n", "d"}
    assert "=1+1" in [cell.value for cell in cells]


@pytest.mark.parametrize("text", ["", "a", "'", "''", "=", "'=", "''=", "-1", "'a", "\tx", "'\t"])
def test_the_guard_before_a_formula_comes_off_again(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text)[:1] not in ("=", "+", "-", "@", "\t", "\r")


def test_the_same_fleet_is_the_same_workbook(one: FleetFile, tmp_path: Path) -> None:
    first = book_of(one, tmp_path / "a.xlsx").read_bytes()
    assert book_of(one, tmp_path / "b.xlsx").read_bytes() == first
    assert b"2000-01-01T00:00:00Z" in zip_part(first, "docProps/core.xml")


def zip_part(raw: bytes, name: str) -> bytes:
    import zipfile

    with zipfile.ZipFile(io.BytesIO(raw)) as packed:
        assert {info.date_time for info in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        return packed.read(name)


def test_a_text_too_long_for_a_cell_is_refused_not_cut(one: FleetFile, tmp_path: Path) -> None:
    run = kinds.Run(on=date(2026, 2, 1), engine="Plover", hours=100, note="x" * 32_768)
    with one.writing() as connection:
        add_entries(connection, [run], AT)
    with pytest.raises(RefusedError, match="longer than a sheet's cell can hold"):
        book_of(one, tmp_path / "fleet.xlsx")


# -- edited by people ---------------------------------------------------------------------------


def edited(one: FleetFile, path: Path, edit: Callable[[Any], None]) -> Path:
    book_of(one, path)
    book = openpyxl.load_workbook(path)
    edit(book)
    book.save(path)
    return path


def test_rows_that_people_add_to_the_workbook_are_taken_with_their_types(
    one: FleetFile, tmp_path: Path
) -> None:
    def edit(book: Any) -> None:
        log, boats, engines = book["log"], book["boats"], book["engines"]
        heads = [cell.value for cell in log[1]]

        def row(**cells: Any) -> list[Any]:
            return [cells.get(head) for head in heads]

        log.append(row(on=datetime(2026, 5, 1), event="reading", engine="plover", reading=120.5))
        log.append(row(on="2.5.2026", event="run", engine="Plover", hours="2,5"))
        log.append(row(on=46145, event="job", engine="Plover", task="Impeller", reading=125))
        boats.append(["Heron", "hire", "salt", datetime(2026, 1, 1)])
        names = [cell.value for cell in engines[1]]
        teal = {"engine": 7, "boat": "Heron", "since": datetime(2026, 1, 1), "hp": 9.9,
                "reading": 3.3, "meter": True, "new": False, "year": 2019.0}  # fmt: skip
        engines.append([teal.get(name) for name in names])

    report = bring(one, edited(one, tmp_path / "fleet.xlsx", edit))
    assert dict(+report.taken) == {"boats": 1, "engines": 1, "log": 3}
    fleet = one.fleet()
    assert (fleet.engines["7"].reading, str(fleet.engines["7"].hp)) == (330, "99/10")
    assert [entry.on.day for entry in live_entries(one.log())] == [1, 2, 3]


def test_a_refused_row_of_a_workbook_is_named_by_sheet_and_row(
    one: FleetFile, tmp_path: Path
) -> None:
    def edit(book: Any) -> None:
        book["log"].append([datetime(2026, 5, 1), "run", "Plovr", *[None] * 4, 1])
        book["boats"]["C2"].value = "sea"

    path = edited(one, tmp_path / "fleet.xlsx", edit)
    with pytest.raises(FaultsError) as caught:
        bring(one, path)
    assert [fault.where for fault in caught.value.faults] == [
        "fleet.xlsx:boats!2: water", "fleet.xlsx:log!2: engine"
    ]  # fmt: skip


def test_the_refused_rows_of_our_own_tables_once_mended_import_just_the_rest(
    one: FleetFile, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(
        "on,event,engine,hours,note\n2026-05-01,run,Plover,1,=a\n2026-05-02,run,Plovr,2,=b\n"
        "2026-05-03,run,Plover,x,\n",
        encoding="utf-8",
    )
    report = bring(one, path, keep_good=True)
    tables = read_found([path], Asked(), {}, one.fleet())
    (text,) = refused_tables(report.accounts, tables.own, tables.sheets).values()
    assert text.splitlines()[1].startswith("2026-05-02,run,Plovr,2,'=b,log.csv:3,")
    mended = tmp_path / "mended.csv"
    mended.write_text(text.replace("Plovr,", "Plover,").replace(",x,", ",3,"), encoding="utf-8")
    assert bring(one, mended).taken["log"] == 2
    assert [entry.note for entry in live_entries(one.log())] == ["=a", "=b", ""]


def test_days_in_our_own_tables_that_could_be_two_are_asked_about(
    one: FleetFile, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    path.write_text("on,event,engine,hours\n03/04/2026,run,Plover,1\n04/04/2026,run,Plover,1\n")
    with pytest.raises(UndecidedError, match="--dates dmy"):
        bring(one, path)
    bring(one, path, dates="mdy")
    assert [entry.on for entry in live_entries(one.log())] == [date(2026, 3, 4), date(2026, 4, 4)]


def test_other_sheets_beside_our_tables_are_left_and_said(one: FleetFile, tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book.create_sheet("Prices").append(["oil", 3])
        book.create_sheet("empty")

    path = edited(one, tmp_path / "fleet.xlsx", edit)
    tables = read_found([path], Asked(), {}, one.fleet())
    assert tables.own[0].grid.said == ('not read: "Prices" (--sheet reads them)',)
    assert {sheet.table for sheet in tables.own} == {*NAMES} - {"log"} | {"log"}


def test_our_tables_and_a_sheet_of_somebody_else_come_in_one_go(tmp_path: Path) -> None:
    """A takeover: boats and engines as our tables, three years of hours as they were kept."""
    boats = [{"boat": "Lapwing", "use": "hire", "water": "fresh", "since": "2024-01-01"}]
    engines = [{"engine": "Otter", "boat": "Lapwing", "since": "2024-01-01", "reading": "10"}]
    folder = in_folder(tmp_path / "in", {"boats": boats, "engines": engines})
    (folder / "hours.csv").write_text("Datum;Otter\n1.5.24;40\n1.5.25;90\n1.5.26;140,5\n")
    with new(tmp_path / "fleet.db") as file:
        report = bring(file, folder)
        assert dict(+report.taken) == {"boats": 1, "engines": 1, "readings": 3}


def test_a_table_of_ours_beyond_the_bound_of_sheets_is_still_read(
    one: FleetFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fleetcare.exchange import sources

    monkeypatch.setattr(sources, "MOST_BYTES", 60)
    path = tmp_path / "log.csv"
    path.write_text("on,event,engine,hours\n" + "2026-05-01,run,Plover,1\n" * 9)
    assert bring(one, path).taken["log"] == 9
    path.write_text("Date,Engine,hrs run\n" + "2026-05-01,Plover,1\n" * 9)
    with pytest.raises(RefusedError, match="larger than"):
        bring(one, path)
