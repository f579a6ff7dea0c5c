"""Workbooks as they are found: types of cells, formulas, merged cells, what is hidden, bombs."""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from fleetcare.errors import RefusedError
from fleetcare.exchange import packed, packed_sheet, workbook
from fleetcare.exchange.asked import Asked, UndecidedError
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.sheets import (
    bring,
    log_of,
    refusals,
    rows_of,
    said,
    tried,
    verdicts,
    xlsx_at,
)

ROOT = Path(__file__).parent.parent.parent
HEAD = ["Date", "Engine", "Reading", "Note"]
MAY = [datetime(2026, 5, day) for day in range(1, 29)]
Book = Callable[[Any], None]


@pytest.fixture
def book(tmp_path: Path) -> Any:
    """A workbook of one sheet with rows below HEAD, changed by whoever asks for it."""

    def make(*rows: list[Any], change: Book | None = None, name: str = "Hours") -> Path:
        path = xlsx_at(tmp_path / "hours.xlsx", {name: [HEAD, *rows]})
        if change is not None:
            whole = openpyxl.load_workbook(path)
            change(whole)
            whole.save(path)
        return path

    return make


def parts_changed(path: Path, change: Callable[[str, bytes], bytes | None]) -> Path:
    """The workbook with its parts changed; a part that becomes None is left out."""
    out = BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            body = change(info.filename, old.read(info))
            if body is not None:
                new.writestr(info.filename, body)
    path.write_bytes(out.getvalue())
    return path


# -- cells with types ---------------------------------------------------------------------------


def test_days_figures_times_and_durations_are_what_they_are(fleet: FleetFile, book: Any) -> None:
    path = book(
        [MAY[0], "Otter", 120, "a day and a number"],
        [MAY[1], "Otter", 121.5, None],
        ["2026-05-03", "Otter", "122,5", "texts"],
        [46146, "Otter", 123.30000000000001, "a day's number"],
        [datetime(2026, 5, 5, 14, 30), "Otter", timedelta(hours=130, minutes=30), "[h]:mm"],
    )
    report = bring(fleet, path)
    assert [entry[3] for entry in said(log_of(fleet))] == [12000, 12150, 12250, 12330, 13050]
    assert [entry.on.day for entry in log_of(fleet)] == [1, 2, 3, 4, 5]
    assert report.accounts[0].place == "hours.xlsx:Hours!2"


def test_a_time_of_day_in_a_column_of_hours_is_hours(fleet: FleetFile, tmp_path: Path) -> None:
    rows = [["Date", "Engine", "Hours run"], [MAY[0], "Knot", time(2, 30)]]
    bring(fleet, xlsx_at(tmp_path / "a.xlsx", {"s": rows}))
    assert said(log_of(fleet)) == [("Run", "2026-05-01", "Knot", 250)]


def test_a_time_with_whole_days_before_it_is_refused(fleet: FleetFile, book: Any) -> None:
    def as_time(whole: Any) -> None:
        whole["Hours"]["C2"].value = 5.4375
        whole["Hours"]["C2"].number_format = "h:mm"

    told = refusals(tried(fleet, book([MAY[0], "Otter", 0], change=as_time)))
    assert "time of day with whole days before it" in told[2]


def test_a_figure_that_the_sheet_turned_into_a_date_is_refused(fleet: FleetFile, book: Any) -> None:
    told = refusals(tried(fleet, book([MAY[0], "Otter", datetime(2026, 5, 12)])))
    assert 'turned this into a date ("12 May 2026"). Was it 12.5 or 5.12?' in told[2]


def test_a_workbook_that_counts_from_1904_keeps_its_days(fleet: FleetFile, tmp_path: Path) -> None:
    whole = openpyxl.Workbook()
    whole.epoch = CALENDAR_MAC_1904
    for row in [HEAD, [MAY[0], "Otter", 120], [46144 - 1462, "Otter", 121]]:
        whole.active.append(row)
    whole.save(tmp_path / "mac.xlsx")
    bring(fleet, tmp_path / "mac.xlsx")
    assert [entry.on for entry in log_of(fleet)] == [date(2026, 5, 1), date(2026, 5, 2)]


def test_an_engine_whose_name_is_a_number_is_found(fleet: FleetFile, book: Any) -> None:
    told = refusals(tried(fleet, book([MAY[0], 7, 120], [MAY[1], 7.0, 120], [MAY[2], True, 120])))
    assert all('no engine "7"' in told[row] for row in (2, 3))
    assert 'no engine "TRUE"' in told[4]


@pytest.mark.parametrize("error", ["#REF!", "#DIV/0!", "#VALUE!", "#N/A", "#NAME?"])
def test_error_cells_are_refused(fleet: FleetFile, book: Any, error: str) -> None:
    report = tried(fleet, book([MAY[0], "Otter", error], [MAY[1], "Otter", 120, error]))
    assert f'"{error}" is no figure: the sheet shows an error' in refusals(report)[2]
    assert f'"{error}" is no text' in refusals(report)[3]


def test_formulas_that_were_never_worked_out_are_refused(fleet: FleetFile, book: Any) -> None:
    path = book([MAY[0], "Otter", "=100+20"], [MAY[1], "Otter", 121], [MAY[2], "Otter", 122, "=A1"])
    report = tried(fleet, path)
    assert (
        "a formula that was never worked out; open the file in a spreadsheet" in refusals(report)[2]
    )
    assert list(refusals(report)) == [2, 4]
    (sheet,) = read_found([path], Asked(), {}, fleet.fleet()).sheets
    assert any("never saved by a spreadsheet program" in said for said in sheet.grid.said)


def test_a_formula_that_was_worked_out_is_its_value(fleet: FleetFile, book: Any) -> None:
    def worked_out(name: str, body: bytes) -> bytes:
        return re.sub(rb"<f>100\+20</f><v ?/?>(</v>)?", b"<f>100+20</f><v>120</v>", body)

    path = parts_changed(book([MAY[0], "Otter", "=100+20"]), worked_out)
    assert bring(fleet, path).taken["readings"] == 1
    assert said(log_of(fleet))[0][3] == 12000


def test_refused_rows_of_a_workbook_are_written_as_texts_that_read_the_same(
    fleet: FleetFile, book: Any, tmp_path: Path
) -> None:
    path = book(
        [46146, "Otter", "ca. 5", "a day number"], [MAY[4], "Ottre", 120.5, "-1 vane"],
        [MAY[5], "Ottre", timedelta(hours=130, minutes=30), None],
        [datetime(2026, 5, 7, 8, 30), "Ottre", 131, None],
    )  # fmt: skip
    report = tried(fleet, path)
    tables = read_found([path], Asked(), {}, fleet.fleet())
    (text,) = refused_tables(report.accounts, tables.own, tables.sheets).values()
    rows = [line.split(",")[:4] for line in text.splitlines()[1:]]
    assert rows == [
        ["2026-05-04", "Otter", "ca. 5", "a day number"],
        ["2026-05-05", "Ottre", "120.5", "'-1 vane"],
        ["2026-05-06", "Ottre", "130:30", ""], ["2026-05-07", "Ottre", "131", ""],
    ]  # fmt: skip
    refused = tmp_path / "refused.csv"
    refused.write_text(text.replace("ca. 5", "119"), encoding="utf-8")
    bring(fleet, refused, names=(("Ottre", "Otter"),))
    assert [entry[3] for entry in said(log_of(fleet))] == [11900, 12050, 13050, 13100]
    assert log_of(fleet)[1].note == "-1 vane"


# -- merged, hidden, several --------------------------------------------------------------------


def test_a_merged_name_or_day_holds_for_its_rows_and_a_merged_figure_for_none(
    fleet: FleetFile, book: Any
) -> None:
    def merge(whole: Any) -> None:
        for cells in ("A2:A3", "B2:B4", "C5:C6"):
            whole["Hours"].merge_cells(cells)

    path = book(
        [MAY[0], "Otter", 120], [None, None, 121], [MAY[1], None, 122], [MAY[2], "Otter", 123],
        [MAY[3], "Otter", None], [None, "Otter", 125], change=merge,
    )  # fmt: skip
    report = tried(fleet, path)
    assert verdicts(report) == ["taken"] * 4 + ["skipped", "refused"]
    entries = [entry for account in rows_of(report) for entry in account.entries]
    assert [entry.on.day for entry in entries] == [1, 1, 2, 3]


def test_hidden_rows_are_read_and_said_and_hidden_sheets_are_said(
    fleet: FleetFile, book: Any
) -> None:
    def hide(whole: Any) -> None:
        sheet = whole["Hours"]
        sheet.row_dimensions[3].hidden = sheet.row_dimensions[900].hidden = True
        sheet.column_dimensions["D"].hidden = True
        old = whole.create_sheet("old")
        old.append(["something"])
        old.sheet_state = "hidden"

    path = book([MAY[0], "Otter", 120, "a"], [MAY[1], "Otter", 121, "b"], change=hide)
    (sheet,) = read_found([path], Asked(), {}, fleet.fleet()).sheets
    assert sheet.grid.said == (
        "1 hidden row was read", "1 hidden column was read",
        'hidden and not read: "old" (--sheet reads them)',
    )  # fmt: skip
    assert bring(fleet, path).taken["readings"] == 2


def test_of_several_sheets_one_is_asked_for(fleet: FleetFile, tmp_path: Path) -> None:
    path = xlsx_at(
        tmp_path / "years.xlsx",
        {"2025": [HEAD, [MAY[0], "Otter", 120]], "2026": [HEAD, [MAY[1], "Otter", 121]],
         "empty": [], "Prices": [["oil", 3]]},
    )  # fmt: skip
    with pytest.raises(UndecidedError) as caught:
        bring(fleet, path)
    assert [value for value, _ in caught.value.choices] == ["2025", "2026", "Prices", "all"]
    with pytest.raises(RefusedError, match='no sheet "2027"'):
        bring(fleet, path, sheets=("2027",))
    assert bring(fleet, path, sheets=("2026",)).taken["readings"] == 1
    assert verdicts(bring(fleet, path, sheets=("2025", "2026"))) == ["taken", "there already"]


def test_a_sheet_called_as_an_engine_is_that_engines(fleet: FleetFile, tmp_path: Path) -> None:
    rows = [["Date", "Reading"], [MAY[0], 120]]
    path = xlsx_at(tmp_path / "a.xlsx", {"Otter": rows, "Lapwing ": rows, "Heron": rows})
    bring(fleet, path, sheets=("Otter", "Heron"))
    assert [entry[2] for entry in said(log_of(fleet))] == ["Otter", "Heron"]
    assert verdicts(bring(fleet, path, sheets=("lapwing ",))) == ["there already"]


def test_stray_cells_beside_and_below_the_table_do_no_harm(fleet: FleetFile, book: Any) -> None:
    def stray(whole: Any) -> None:
        whole["Hours"]["B200"].value = " "
        whole["Hours"]["J2"].value = "see the other sheet"

    report = bring(fleet, book([MAY[0], "Otter", 120], change=stray))
    assert report.taken["readings"] == 1
    assert report.skipped == 198


def test_escaped_characters_of_the_format_are_themselves(fleet: FleetFile, book: Any) -> None:
    bring(fleet, book([MAY[0], "Otter", 120, "one_x000D_two _x005F_x0041_"]))
    assert log_of(fleet)[0].note == "one\rtwo _x0041_"


def test_macros_stay_where_they_are(fleet: FleetFile, book: Any, tmp_path: Path) -> None:
    path = book([MAY[0], "Otter", 120])
    with zipfile.ZipFile(path, "a") as whole:
        whole.writestr("xl/vbaProject.bin", b"Sub Auto_Open()")
    assert bring(fleet, path.rename(tmp_path / "hours.xlsm")).taken["readings"] == 1


# -- what is no workbook ------------------------------------------------------------------------


def zipped(*names: str) -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(out, "w") as whole:
        for name in names:
            whole.writestr(name, "x")
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), "old .xls or locked by a password"),
        (zipped("mimetype", "content.xml"), r"OpenDocument file \(.ods\), whatever its name"),
        (zipped("xl/workbook.bin"), "binary workbook"),
        (zipped("word/document.xml"), "packed, but no workbook"),
        (zipped("xl/workbook.xml", "[Content_Types].xml"), "is damaged inside"),
        (zipped("xl/workbook.xml"), "cannot be unpacked|damaged"),
        (b"PK\x03\x04" + bytes(99), "cannot be unpacked"),
        (b"PK\x05\x06" + bytes(18), "packed, but no workbook"),
        (b"<?xml version='1.0'?><Workbook/>", "is a web page or XML"),
    ],
)
def test_what_is_called_a_workbook_and_is_none_is_refused_with_what_it_is(
    fleet: FleetFile, tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "hours.xlsx"
    path.write_bytes(content)
    with pytest.raises(RefusedError, match=words):
        bring(fleet, path)


def test_every_cut_of_a_workbook_is_refused_in_words(fleet: FleetFile, book: Any) -> None:
    path = book([MAY[0], "Otter", 120])
    whole = path.read_bytes()
    for at in range(1, len(whole), len(whole) // 60):
        path.write_bytes(whole[:at])
        with pytest.raises(RefusedError):
            bring(fleet, path)


def test_every_broken_byte_of_a_workbook_is_refused_in_words_or_harmless(
    fleet: FleetFile, book: Any
) -> None:
    path = book([MAY[0], "Otter", 120])
    whole = path.read_bytes()
    refused = 0
    for at in range(0, len(whole), 73):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :])
        try:
            tried(fleet, path)
        except RefusedError:
            refused += 1
    assert refused > 25


@pytest.mark.parametrize(
    ("part", "old", "new", "words"),
    [
        ("xl/workbook.xml", b"<workbook", b'<workbook conformance="strict"', "Strict Open XML"),
        ("xl/worksheets/sheet1.xml", b'<row r="3"', b'<row r="2"', "out of order at row 2"),
        ("xl/worksheets/sheet1.xml", b'<c r="C2"', b'<c r="ZZZ2"', "beyond 200,000 rows or 1,000"),
        ("xl/worksheets/sheet1.xml", b'<row r="3"', b'<row r="300000"', "beyond 200,000 rows"),
        ("xl/worksheets/sheet1.xml", b"</worksheet>", b"", "damaged inside"),
        ("xl/styles.xml", b"</styleSheet>", b"", "damaged inside"),
    ],
)
def test_a_workbook_that_contradicts_itself_is_refused(
    fleet: FleetFile, book: Any, part: str, old: bytes, new: bytes, words: str
) -> None:
    def change(name: str, body: bytes) -> bytes:
        assert name != part or old in body
        return body.replace(old, new, 1) if name == part else body

    path = parts_changed(book([MAY[0], "Otter", 120], [MAY[1], "Otter", 121]), change)
    with pytest.raises(RefusedError, match=words):
        bring(fleet, path)


@pytest.mark.parametrize(
    "part", ["xl/workbook.xml", "xl/styles.xml", "xl/worksheets/sheet1.xml", "[Content_Types].xml"]
)
def test_a_document_type_declaration_is_refused_in_every_part(
    fleet: FleetFile, book: Any, part: str
) -> None:
    """Where entities of entities are declared, a few bytes become gigabytes."""
    doctype = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbbbb"><!ENTITY c "&b;&b;">]>'

    def change(name: str, body: bytes) -> bytes:
        return doctype + re.sub(rb"^<\?xml[^>]*>\s*", b"", body) if name == part else body

    path = parts_changed(book([MAY[0], "Otter", 120]), change)
    with pytest.raises(RefusedError, match="document type declaration"):
        bring(fleet, path)


# -- bounds -------------------------------------------------------------------------------------

BOMB = """
import resource, sys
from pathlib import Path
from fleetcare.errors import RefusedError
from fleetcare.exchange import grid, workbook
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.store.fleet_file import FleetFile
import openpyxl
fleet = FleetFile(Path(sys.argv[1])).fleet()
start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    read_found([Path(sys.argv[2])], Asked(), {}, fleet)
except RefusedError as error:
    print(error)
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - start) // 1024, file=sys.stderr)
"""


def bombed(fleet: FleetFile, path: Path) -> tuple[str, int]:
    """What is said of a file, and the megabytes that saying it took, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", BOMB, str(fleet.path), str(path)], capture_output=True, text=True,
        check=True, cwd=ROOT,
    )  # fmt: skip
    return done.stdout, int(done.stderr)


def bomb(path: Path, part: str, begin: bytes, piece: bytes, times: int, end: bytes) -> Path:
    """A workbook of which one part unpacks to far more than it is."""
    out = BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            if info.filename != part:
                new.writestr(info.filename, old.read(info))
        with new.open(part, "w") as file:
            file.write(begin)
            for _ in range(times // 1000):
                file.write(piece * 1000)
            file.write(end)
    path.write_bytes(out.getvalue())
    return path


SHEET = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'


@pytest.mark.parametrize(
    ("part", "begin", "piece", "times", "end", "words"),
    [
        ("xl/worksheets/sheet1.xml", SHEET, b"<row>" + b"<c/>" * 200 + b"</row>", 200_000,
         b"</sheetData></worksheet>", "unpacks to more than 150 MB"),
        ("xl/worksheets/sheet1.xml", SHEET, b"<row><c><v>1</v></c></row>", 400_000,
         b"</sheetData></worksheet>", "filled beyond 200,000 rows"),
        ("xl/worksheets/sheet1.xml", SHEET + b'<row><c t="inlineStr"><is><t>', b"A" * 1000,
         140_000, b"</t></is></c></row></sheetData></worksheet>", "more than 100,000 letters"),
        ("xl/sharedStrings.xml", b"<sst><si><t>", b"A" * 1000, 50_000, b"</t></si></sst>",
         "more than 100,000 letters"),
        ("xl/sharedStrings.xml", b"<sst>", b"<si><t>" + b"A" * 1000 + b"</t></si>", 70_000,
         b"</sst>", "unpacks to more than 60 MB"),
        ("xl/styles.xml", b"<a>", b"A" * 1000, 30_000, b"</a>", "unpacks to more than 20 MB"),
    ],
)  # fmt: skip
def test_a_small_file_that_unpacks_to_a_huge_one_is_refused_in_bounded_memory(
    fleet: FleetFile, book: Any, part: str, begin: bytes, piece: bytes, times: int, end: bytes,
    words: str,
) -> None:  # fmt: skip
    path = bomb(book([MAY[0], "Otter", 120]), part, begin, piece, times, end)
    assert path.stat().st_size < 1_000_000
    said, megabytes = bombed(fleet, path)
    assert words in said
    assert megabytes < 100


@pytest.mark.parametrize(
    ("bound", "least", "words"),
    [
        ("MOST_ELEMENTS", 30, "more than 30 cells"), ("MOST_CELLS", 30, "more than 30"),
        ("MOST_LINES", 9, "filled beyond 9 rows"), ("MOST_COLUMNS", 2, "or 2 columns"),
        ("SHEET", packed.Bound(500, 10**6), "unpacks to more than 0 MB"), ("DEEPEST", 3, "than 3"),
        ("SHEET", packed.Bound(10**6, 20), "than 20"), ("MOST_PARTS", 3, "more than 3 parts"),
        ("OTHER", packed.Bound(10**6, 3), "than 3"), ("LONGEST_PIECE", -1, "longer than any"),
        ("MOST_TOTAL_BYTES", 999, "unpacks to more than"), ("LONGEST_TEXT", 30, "30 letters"),
    ],
)  # fmt: skip
def test_every_bound_of_a_workbook_holds(
    fleet: FleetFile, book: Any, monkeypatch: pytest.MonkeyPatch, bound: str, least: Any, words: str
) -> None:
    path = book(*([day, "Otter", 120 + at, "=A1"] for at, day in enumerate(MAY)),
                [MAY[0], "Heron", 120, "x" * 40])  # fmt: skip
    for where in (packed, packed_sheet, workbook):
        if hasattr(where, bound):
            monkeypatch.setattr(where, bound, least)
    with pytest.raises(RefusedError, match=words):
        bring(fleet, path)


def test_texts_that_a_workbook_keeps_apart_are_read(fleet: FleetFile, book: Any) -> None:
    """As most spreadsheet programs write them: every text once, cells name it by its number."""

    def apart(name: str, body: bytes) -> bytes:
        if name == "[Content_Types].xml":
            kind = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
            part = b'<Override PartName="/xl/sharedStrings.xml" ContentType="' + kind + b'"/>'
            return body.replace(b"</Types>", part + b"</Types>")
        body = body.replace(b't="inlineStr"><is><t>Otter</t></is>', b't="s"><v>1</v>')
        return body.replace(b't="inlineStr"><is><t>rich</t></is>', b't="s"><v>0</v>')

    path = parts_changed(book([MAY[0], "Otter", 120, "rich"]), apart)
    with zipfile.ZipFile(path, "a") as whole:
        space = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
        texts = "<si><r><t>so </t></r><r><t>rich</t></r></si><si><t>Otter</t></si>"
        whole.writestr("xl/sharedStrings.xml", f"<sst {space}>{texts}</sst>")
    assert b"<v>1</v>" in zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml")
    bring(fleet, path)
    assert said(log_of(fleet)) == [("Reading", "2026-05-01", "Otter", 12000)]
    assert log_of(fleet)[0].note == "so rich"


def test_a_hundred_thousand_empty_rows_below_the_table_are_passed_over(
    fleet: FleetFile, book: Any
) -> None:
    """What is left of formatting a whole column: rows without a value."""

    def change(name: str, body: bytes) -> bytes:
        rows = b"".join(b'<row r="%d"><c s="0"/></row>' % number for number in range(3, 100_003))
        is_sheet = name == "xl/worksheets/sheet1.xml"
        return body.replace(b"</sheetData>", rows + b"</sheetData>") if is_sheet else body

    report = bring(fleet, parts_changed(book([MAY[0], "Otter", 120]), change))
    assert (report.rows, report.taken["readings"]) == (1, 1)


def test_a_part_that_says_it_is_smaller_than_it_is_is_not_read(fleet: FleetFile, book: Any) -> None:
    path = book([MAY[0], "Otter", 120])
    raw = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as whole:
        size = whole.getinfo("xl/worksheets/sheet1.xml").file_size
    told = size.to_bytes(4, "little")
    at = raw.rfind(told)
    while at >= 0:
        raw[at : at + 4] = (10).to_bytes(4, "little")
        at = raw.rfind(told)
    path.write_bytes(bytes(raw))
    with pytest.raises(RefusedError, match=r"cannot be unpacked|damaged inside"):
        bring(fleet, path)
