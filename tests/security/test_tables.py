"""No table that leaves the program holds a cell that a spreadsheet would run as a formula."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pytest

from tests.fuzz.door import heard
from tests.security.conftest import FORMULAS

RUN = ("=", "+", "-", "@", "\t", "\r")
LISTS = [
    "due --all", "history Plover", "check", "feed list", "parts", "parts shelf --all", "year",
    "wear",
    "sheet Plover", "plan --effort 0", "bookings in.ics", "year --by-engine",
]  # fmt: skip


def running(text: str) -> list[str]:
    """Cells that would be run: not those that are just a number or a dash."""
    cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
    return [cell for cell in cells if cell.startswith(RUN) and not _is_figure(cell)]


def _is_figure(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return cell[:1] == "-"


def test_the_reader_of_this_test_sees_them() -> None:
    assert running('a,"=1+1",\'=1,-3.5\r\n+1,@x,-1+1') == ["=1+1", "+1", "@x", "-1+1"]


@pytest.mark.parametrize("line", LISTS)
def test_no_list_as_csv_runs(formulas: Path, line: str) -> None:
    Path("in.ics").write_text("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VCALENDAR\r\n")
    said = heard([*line.split(), "--format", "csv"])
    assert said.code in (0, 1, 3), said.err
    assert running(said.out) == []


def test_the_texts_are_there_and_come_back_whole(formulas: Path) -> None:
    out = heard(["history", "Plover", "--format", "csv"]).out
    assert sum(f"'{text}" in out for text in FORMULAS) >= 5
    assert heard(["export", "out"]).code == 0
    for path in Path("out").glob("*.csv"):
        assert running(path.read_bytes().decode()) == []
    assert heard(["new", "--fleet", "again.db"]).code == 0
    assert heard(["import", "out", "--fleet", "again.db"]).code == 0
    first = heard(["history", "Plover", "--format", "json"]).out
    again = heard(["history", "Plover", "--format", "json", "--fleet", "again.db"]).out
    for text in FORMULAS:
        assert first.count(text.strip().replace('"', '\\"')) == again.count(
            text.strip().replace('"', '\\"')
        )


def test_no_workbook_that_leaves_holds_a_formula(formulas: Path) -> None:
    assert heard(["export", "out.xlsx"]).code == 0
    for sheet in openpyxl.load_workbook("out.xlsx").worksheets:
        kinds = {cell.data_type for row in sheet.iter_rows() for cell in row}
        assert "f" not in kinds


def test_no_table_of_refused_rows_runs(formulas: Path) -> None:
    rows = "".join(f'2026-07-01,"{text}",x,"{text}"\r\n' for text in ("=1+1", "@x", "+1"))
    Path("t.csv").write_text(f"Date,Engine,Meter reading,Notes\r\n{rows}", newline="")
    assert heard(["import", "t.csv", "--report", "left.csv"]).code == 1
    assert running(Path("left.csv").read_bytes().decode("utf-8-sig")) == []
    assert heard(["import", "t.csv", "--keep-good", "--format", "csv"]).code in (1, 6)
    assert running(heard(["import", "t.csv", "-n", "--format", "csv"]).out) == []
