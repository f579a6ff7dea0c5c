"""Any sheet at all is accounted for row by row; planted faults are each named, good rows taken."""

from __future__ import annotations

import tempfile
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import RefusedError
from fleetcare.exchange.accounts import WHERE, WHY, Report, row_of
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.exchange.telling import (
    doubt_lines,
    refused_lines,
    row_values,
    skipped_lines,
    summary,
    understood,
)
from fleetcare.log.entries import Entry, Job, Reading, Run
from fleetcare.log.faults import faults
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import digest
from tests.exchange.fuzz import BAD, SKIP, Dirty, dirty
from tests.exchange.sheets import accounted, bring, fleet_at, log_of, tried

SEEDS = 40


def values(entry: Entry) -> tuple[str, str, str, str]:
    assert isinstance(entry, Reading | Run | Job)
    said = entry.task if isinstance(entry, Job) else entry.reading
    if isinstance(entry, Run):
        said = entry.hours
    return type(entry).__name__, entry.on.isoformat(), entry.engine, str(said)


def by_line(report: Report) -> dict[int, str]:
    lines = [row_of(account.place) for account in report.accounts]
    assert len(lines) == len(set(lines))
    return {row_of(account.place): account.verdict for account in report.accounts}


def expected(sheet: Dirty) -> list[str]:
    return [row.verdict for row in sheet.rows]


@pytest.mark.parametrize("part", range(4))
def test_every_planted_fault_is_named_and_every_good_row_taken_once(
    part: int, tmp_path: Path
) -> None:
    tried_faults = 0
    for seed in range(part, SEEDS, 4):
        sheet = dirty(f"fuzz {seed}", rows=40)
        path = sheet.write(tmp_path / f"s{seed}")
        with fleet_at(tmp_path / f"{seed}.db") as file:
            report = bring(file, path, keep_good=True, **sheet.asked)
            verdicts = [by_line(report)[line] for line in sorted(by_line(report))]
            assert verdicts == expected(sheet)[: len(verdicts)], seed
            # blank rows at the end are no rows of a workbook
            assert set(expected(sheet)[len(verdicts) :]) <= {SKIP}
            assert sorted(map(values, log_of(file))) == sheet.good
            assert faults(file.fleet(), file.history()) == []
            before = digest(file.path)
            again = bring(file, path, keep_good=True, **sheet.asked)
            assert sum(again.taken.values()) == 0
            assert digest(file.path) == before
            tried_faults += sheet.faults
    assert tried_faults > 25


@pytest.mark.parametrize("part", range(2))
def test_the_refused_rows_once_mended_import_just_the_rest(part: int, tmp_path: Path) -> None:
    fed = 0
    for seed in range(part, SEEDS, 2):
        sheet = dirty(f"fed {seed}", rows=24)
        path = sheet.write(tmp_path / f"s{seed}")
        with fleet_at(tmp_path / f"{seed}.db") as file:
            asked = Asked(**sheet.asked)
            report = bring(file, path, keep_good=True, **sheet.asked)
            tables = read_found([path], asked, {}, file.fleet())
            texts = refused_tables(report.accounts, tables.own, tables.sheets)
            assert len(texts) == bool(sheet.faults)
            if not texts:
                continue
            (text,) = texts.values()
            refused = tmp_path / f"refused{seed}.csv"
            refused.write_bytes(text.encode("utf-8-sig"))
            asked_again = {**sheet.asked, "encoding": ""}
            unmended = bring(file, refused, keep_good=True, **asked_again)
            assert len(unmended.left_out) == sheet.faults
            assert [account.verdict for account in unmended.accounts] == [BAD] * sheet.faults
            sheet.mend(refused)
            rest = bring(file, refused, **asked_again)
            assert sum(rest.taken.values()) + rest.there_already == sheet.faults
            assert sorted(set(map(values, log_of(file)))) == sorted(set(sheet.all))
            fed += sheet.faults
    assert fed > 25


def test_a_table_of_refused_rows_says_why_beside_each(tmp_path: Path) -> None:
    sheet = dirty("why", rows=40, faults=0.5)
    path = sheet.write(tmp_path / "s")
    with fleet_at(tmp_path / "fleet.db") as file:
        report = tried(file, path, **sheet.asked)
        tables = read_found([path], Asked(**sheet.asked), {}, file.fleet())
        (text,) = refused_tables(report.accounts, tables.own, tables.sheets).values()
    head, *rows = text.splitlines()
    assert head.endswith(f"{WHERE},{WHY}")
    assert len(rows) >= sheet.faults > 10
    assert all(path.name in row for row in rows if row.count(",") >= 5)


# -- any sheet at all --------------------------------------------------------------------------

EXTRA = (
    "Found", "Part", "Notes", "Water", "Fuel", "Out", "In", "Count", "By", "Minutes", "Weather", "",
    "Job", "Reading", "hrs run", "Boat", "event", "since",
)  # fmt: skip
BEGIN = (
    ("Date", "Engine", "Reading"), ("Datum", "Motor", "Std"), ("Date", "Boat", "hrs run"),
    ("Date", "Engine", "Job"), ("Date", "Otter", "Twin", "Heron"), ("Engine", "Hours", "Date"),
    ("Date", "Engine", "Part", "Found"), ("on", "event", "engine", "reading", "hours"), (),
)  # fmt: skip
WORDS = (
    "", " ", "-", "Otter", "otter", "Ottre", "Lapwing", "Twin", "Knot", "Otter/Heron", "2026-05-01",
    "1.5.26", "03/04/2026", "13/04/2026", "04/13/2026", "46143", "3 Apr", "31.2.26", "120", "12,5",
    "1,234", "12:30", "9:30-12:15", "ca. 12", "impeller", "impelller", "supple", "missing", "salt",
    "total", "Total", "#REF!", "=1+1", "x" * 200, "\x00", "\x1b[31m", "a\nb", "\u202e", "🚤",
    "reading", "run", "job", "2099-01-01", "1950-01-01", "0", "-1", "999999", "1e308", "Date",
)  # fmt: skip
FITTING = {
    **dict.fromkeys(("Date", "Datum", "on"), ("2026-05-01", "2.5.26", "13/04/2026", "2025-12-01")),
    **dict.fromkeys(("Engine", "Motor", "engine", "Boat"), ("Otter", "HERON", "Lapwing", "Knot")),
    **dict.fromkeys(("Reading", "Otter", "Heron", "reading"), ("120", "121,5", "130:30", "99")),
    **dict.fromkeys(("Std", "hrs run", "Hours", "Twin", "hours"), ("2", "3,5", "0:45", "9-10:30")),
    "Job": ("impeller", "gear oil, plugs"), "Found": ("supple",), "Part": ("impeller vanes",),
    "Water": ("salt", "Süß"), "event": ("reading", "run"), "Fuel": ("3 l",),
}  # fmt: skip
TEXT = st.sampled_from(WORDS) | st.text(max_size=6)
TYPED = (
    TEXT | st.integers(-5, 50_000) | st.floats() | st.datetimes() | st.times() | st.timedeltas()
    | st.dates()
)  # fmt: skip


@st.composite
def tables(draw: Any, cells: Any) -> list[list[Any]]:
    """A row of headings and rows below it: most cells fit their heading, some are anything."""
    heads = [*draw(st.sampled_from(BEGIN)), *draw(st.lists(st.sampled_from(EXTRA), max_size=2))]
    rows = []
    for _ in range(draw(st.integers(0, 7))):
        fitting = [st.sampled_from(FITTING.get(head, ("", "a note"))) for head in heads]
        row = [draw(fits if draw(st.integers(0, 9)) else cells) for fits in fitting]
        rows.append(row[: draw(st.sampled_from((99, 99, 99, 2)))])
        if draw(st.integers(0, 9)) == 0:
            rows.append(draw(st.lists(cells, max_size=8)))
    return [heads, *rows]


ASKED = st.fixed_dictionaries(
    {},
    optional={
        "dates": st.sampled_from(("dmy", "mdy")), "hours": st.sampled_from(("total", "daily")),
        "decimal": st.sampled_from((".", ",")), "serials": st.sampled_from(("1900", "1904")),
        "year": st.integers(2000, 2026), "engine": st.sampled_from(("Otter", "Ottre")),
        "fill_down": st.sampled_from(((), ("on",), ("on", "engine"))),
        "once": st.booleans(), "again": st.booleans(),
        "names": st.sampled_from(((), (("Ottre", "Otter"),), (("x", "Nobody"),))),
    },
)  # fmt: skip
QUICK = settings(deadline=None, derandomize=True, database=None, max_examples=200)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with fleet_at(tmp_path_factory.mktemp("any") / "fleet.db") as opened:
        yield opened


def looked_through(file: FleetFile, path: Path, asked: dict[str, Any]) -> None:
    """Try a file: a refusal in words, or a report in which every row stands once."""
    before = digest(file.path)
    try:
        tables = read_found([path], Asked(**asked), {}, file.fleet())
        report = tried(file, path, **asked)
    except RefusedError as error:
        assert str(error)
    else:
        accounted(report)
        for sheet in tables.sheets:
            once_each(sheet.grid, sheet.layout.header, bool(sheet.layout.wide), report)
            assert understood(sheet, 80)
        told = [*refused_lines(report, tables.sheets), *skipped_lines(report), *doubt_lines(report)]
        assert all(isinstance(line, str) for line in told)
        assert len(row_values(report)) == report.rows
        assert summary(report, "took").endswith(f"{report.rows} rows read")
        refused_tables(report.accounts, tables.own, tables.sheets)
    assert digest(file.path) == before


def once_each(grid: Grid, header: int, is_wide: bool, report: Report) -> None:
    """Every line below the headings has its account, and only one unless it holds several."""
    below = [line.number for line in grid.lines if line.number > header]
    told = [
        row_of(account.place) for account in report.accounts if account.place.startswith(grid.name)
    ]
    assert sorted(set(told)) == below
    assert is_wide or len(told) == len(below)


@QUICK
@given(tables(TEXT), st.sampled_from(",;\t|"), ASKED)
def test_any_table_of_texts_is_accounted_for_row_by_row_or_refused_in_words(
    file: FleetFile, lines: list[list[str]], mark: str, asked: dict[str, Any]
) -> None:
    text = "\n".join(
        mark.join('"' + cell.replace('"', '""') + '"' for cell in cells) for cells in lines
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "any.csv")
        path.write_bytes(text.encode("utf-8", "replace"))
        looked_through(file, path, asked)


@settings(QUICK, max_examples=80)
@given(tables(TYPED), ASKED)
def test_any_table_of_typed_cells_is_accounted_for_row_by_row_or_refused_in_words(
    file: FleetFile, lines: list[list[Any]], asked: dict[str, Any]
) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    for cells in lines:
        book.active.append([storable(cell) for cell in cells])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "any.xlsx")
        book.save(path)
        looked_through(file, path, asked)


def storable(cell: Any) -> Any:
    """What a workbook can hold: no control characters, no days before its own first."""
    if isinstance(cell, str):
        return "".join(char for char in cell if char >= " ") if cell != "a\nb" else cell
    if isinstance(cell, datetime | date) and cell.year < 1904:
        return cell.isoformat()
    if isinstance(cell, float) and (cell != cell or abs(cell) > 1e300):
        return str(cell)
    assert isinstance(cell, int | float | date | time | timedelta)
    return cell


@settings(QUICK, max_examples=120)
@given(st.binary(max_size=300) | st.binary(max_size=80).map(b"Date;Engine;Reading\n".__add__))
def test_any_bytes_at_all_are_a_table_or_refused_in_words(file: FleetFile, raw: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "any.csv")
        path.write_bytes(raw)
        for encoding in ("", "cp1252"):
            looked_through(file, path, {"encoding": encoding})
