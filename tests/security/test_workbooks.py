"""A workbook is refused in one line, in little memory, whichever of its parts is the trap.

Each trap is planted in each part that the library reads (`[Content_Types].xml`, properties, the
workbook, its links, styles, texts, sheets, the sheets' links, a chart's sheet), and read by a
process that may have 400 MB and a minute (tests/fuzz/test_bounds.py gives it 1 GB for more).
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference

from fleetcare.errors import RefusedError
from fleetcare.exchange.packed import looked_through
from tests.cli.typed import ROOT
from tests.fuzz.scenery import fleet_at

MOST, SECONDS = 400 << 20, 60
CORE, CUSTOM, THEME = "docProps/core.xml", "docProps/custom.xml", "xl/theme/theme1.xml"
READ = [
    "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml",
    "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml",
]  # fmt: skip
# What the library would read as well, and is not given: a trap there is never sprung.
KEPT_FROM_IT = [CORE, CUSTOM, THEME, "xl/worksheets/_rels/sheet1.xml.rels",
                "xl/chartsheets/sheet1.xml", "xl/drawings/drawing1.xml",
                "xl/charts/chart1.xml"]  # fmt: skip
LAUGHS = (
    '<!DOCTYPE a [<!ENTITY a0 "lol">'
    + "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(12))
    + "]><a>&a12;</a>"
)
OUTSIDE = '<!DOCTYPE a [<!ENTITY i SYSTEM "file:///etc/passwd">]><a>&i;</a>'
SCHEMA = '<!DOCTYPE a SYSTEM "http://127.0.0.1:9/x.dtd"><a/>'
PARAMETER = '<!DOCTYPE a [<!ENTITY % p SYSTEM "file:///etc/passwd"> %p;]><a/>'


def confined() -> None:
    """In the child, before the program: bounds of memory and of processor time."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def imported(name: str) -> tuple[int, str]:
    """The exit code of importing that file, and what was said of it."""
    done = subprocess.run(
        [sys.executable, "-m", "fleetcare", "import", name, "-n"], capture_output=True, text=True,
        check=False, preexec_fn=confined, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    assert "MemoryError" not in done.stderr, done.stderr
    assert done.returncode == 0 or not done.stdout
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def place(place: Path) -> Path:
    """The place, with a fleet."""
    fleet_at(place / "fleet.db")
    return place


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The parts of a workbook of everything: a table, its link, a chart's sheet, properties."""
    path = tmp_path_factory.mktemp("whole") / "whole.xlsx"
    book = openpyxl.Workbook()
    book.properties.title = "hours"
    book.custom_doc_props.append(openpyxl.packaging.custom.StringProperty("yard", "north"))
    sheet = book.active
    sheet.append(["Date", "Engine", "Hours run"])
    sheet.append(["2026-07-03", "Knot", 1.5])
    sheet["E1"].hyperlink = "http://127.0.0.1:9/"
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=3, min_row=1, max_row=2))
    book.create_chartsheet("Chart").add_chart(chart)
    book.save(path)
    with zipfile.ZipFile(path) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    with_texts(parts)
    assert set(parts) >= {*READ, *KEPT_FROM_IT}
    return parts


def with_texts(parts: dict[str, bytes]) -> None:
    """One text kept apart, as most spreadsheet programs write all of them."""
    sheet, kinds = "xl/worksheets/sheet1.xml", "[Content_Types].xml"
    inside = b't="inlineStr"><is><t>Knot</t></is>'
    assert inside in parts[sheet]
    parts[sheet] = parts[sheet].replace(inside, b't="s"><v>0</v>')
    kind = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    part = b'<Override PartName="/xl/sharedStrings.xml" ContentType="' + kind + b'"/>'
    parts[kinds] = parts[kinds].replace(b"</Types>", part + b"</Types>")
    space = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    parts["xl/sharedStrings.xml"] = b'<sst xmlns="' + space + b'"><si><t>Knot</t></si></sst>'


def book_of(path: str, parts: Mapping[str, bytes | Callable[[zipfile.ZipFile, str], None]]) -> Path:
    """A workbook of these parts; one that is a function writes itself."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        for name, content in parts.items():
            if callable(content):
                content(packed, name)
            else:
                packed.writestr(name, content)
    return Path(path)


def swollen(piece: bytes, times: int, head: bytes = b"", tail: bytes = b"") -> Callable[..., None]:
    """A part of that piece so many times."""

    def write(packed: zipfile.ZipFile, name: str) -> None:
        with packed.open(name, "w", force_zip64=True) as file:
            file.write(head)
            for _ in range(times):
                file.write(piece)
            file.write(tail)

    return write


def test_the_whole_one_is_read(whole: Mapping[str, bytes], place: Path) -> None:
    book_of("whole.xlsx", whole)
    code, said = imported("whole.xlsx")
    assert (code, "would take 1 run" in said) == (0, True), said


@pytest.mark.parametrize("trap", [LAUGHS, OUTSIDE, SCHEMA, PARAMETER], ids=range(4))
@pytest.mark.parametrize("part", READ)
def test_entities_of_its_own_are_refused_in_every_part_that_is_read(
    whole: Mapping[str, bytes], place: Path, part: str, trap: str
) -> None:
    path = book_of("trap.xlsx", {**whole, part: trap.encode()})
    with pytest.raises(RefusedError, match="document type"):
        looked_through(path.read_bytes(), "trap.xlsx")


@pytest.mark.parametrize("trap", [LAUGHS, OUTSIDE], ids=range(2))
@pytest.mark.parametrize("part", KEPT_FROM_IT)
def test_a_part_that_is_not_needed_is_not_given_to_the_library(
    whole: Mapping[str, bytes], place: Path, part: str, trap: str
) -> None:
    book_of("trap.xlsx", {**whole, part: trap.encode()})
    code, said = imported("trap.xlsx")
    assert (code, "would take 1 run" in said) == (0, True), said


def test_no_other_part_can_be_opened_by_whoever_reads_it(
    whole: Mapping[str, bytes], place: Path
) -> None:
    from fleetcare.exchange.packed import Opened

    raw = book_of("whole.xlsx", whole).read_bytes()
    seen = looked_through(raw, "whole.xlsx")
    assert seen.parts == set(READ)
    with Opened(raw, seen.parts) as opened:
        assert set(opened.namelist()) == set(READ)
        for part in KEPT_FROM_IT:
            with pytest.raises(KeyError):
                opened.read(part)
            with pytest.raises(KeyError):
                opened.open(zipfile.ZipInfo(part))


@pytest.mark.parametrize("part", [*READ, *KEPT_FROM_IT])
def test_a_part_that_lies_about_its_size_is_refused_or_never_unpacked(
    whole: Mapping[str, bytes], place: Path, part: str
) -> None:
    """It says 1,000 bytes and unpacks to 450 MB."""
    path = book_of("lie.xlsx", {**whole, part: swollen(b" " * 1_000_000, 450)})
    with zipfile.ZipFile(path) as packed:
        size = packed.getinfo(part).file_size
    raw = path.read_bytes()
    at = raw.rindex(b"PK\x01\x02", 0, raw.rindex(part.encode()))
    assert raw[at + 24 : at + 28] == size.to_bytes(4, "little")
    path.write_bytes(raw[: at + 24] + (1000).to_bytes(4, "little") + raw[at + 28 :])
    code, said = imported("lie.xlsx")
    assert code == (1 if part in READ else 0), said
    assert said.count("\n") == 1 or code == 0


@pytest.mark.parametrize("part", [*READ, *KEPT_FROM_IT])
def test_a_part_that_says_two_gigabytes_is_refused_or_left_alone(
    whole: Mapping[str, bytes], place: Path, part: str
) -> None:
    path = book_of("large.xlsx", whole)
    raw = path.read_bytes()
    at = raw.rindex(b"PK\x01\x02", 0, raw.rindex(part.encode()))
    path.write_bytes(raw[: at + 24] + (2 << 30).to_bytes(4, "little") + raw[at + 28 :])
    code, said = imported("large.xlsx")
    if part in READ:
        assert (code, "unpacks to more than" in said, said.count("\n")) == (1, True, 1), said
    else:
        assert code == 0, said


@pytest.mark.parametrize(("part", "piece", "times"), [
    ("xl/styles.xml", b"<xf/>" * 100_000, 38), ("xl/workbook.xml", b"<sheet/>" * 100_000, 24),
    ("[Content_Types].xml", b"<Override/>" * 100_000, 17),
    ("xl/_rels/workbook.xml.rels", b"<Relationship/>" * 100_000, 12),
    ("xl/sharedStrings.xml", b"<si/>" * 100_000, 110), ("xl/styles.xml", b"<a>" * 100_000, 60),
    ("xl/sharedStrings.xml", b"<si><r/></si>" * 100_000, 40),
    ("xl/worksheets/sheet1.xml", b"<a>" * 100_000, 450),
    ("xl/worksheets/sheet1.xml", b"<row r='1'>" + b"<x/>" * 30_000_000 + b"</row>", 1),
])  # fmt: skip
def test_parts_of_lawful_size_with_more_elements_than_any_sheet_are_refused(
    whole: Mapping[str, bytes], place: Path, part: str, piece: bytes, times: int
) -> None:
    book_of("many.xlsx", {**whole, part: swollen(piece, times, b"<a xmlns='x'>", b"</a>")})
    code, said = imported("many.xlsx")
    assert (code, said.count("\n")) == (1, 1), said


@pytest.mark.parametrize("wrapped", [(b"<a x='", b"'/>"), (b"<a><!--", b"--></a>"),
                                     (b"<", b"/>"), (b"<a><?p ", b"?></a>")])  # fmt: skip
@pytest.mark.parametrize("part", READ[-3:])
def test_a_single_piece_of_megabytes_is_refused(
    whole: Mapping[str, bytes], place: Path, part: str, wrapped: tuple[bytes, bytes]
) -> None:
    times = 140 if "worksheets" in part else 50 if "shared" in part else 19
    book_of("long.xlsx", {**whole, part: swollen(b"a" * 1_000_000, times, *wrapped)})
    code, said = imported("long.xlsx")
    assert (code, said.count("\n")) == (1, 1), said


def test_a_file_of_very_many_parts_is_refused(whole: Mapping[str, bytes], place: Path) -> None:
    path = book_of("parts.xlsx", {**whole, **{f"{n}": b"" for n in range(9)}})
    raw = path.read_bytes()
    start, end = raw.index(b"PK\x01\x02"), raw.index(b"PK\x05\x06")
    one = raw[raw.rindex(b"PK\x01\x02", 0, end) : end]  # all of them the same empty file
    times = 19_000_000 // len(one)
    size = (end - start + times * len(one)).to_bytes(4, "little")
    path.write_bytes(
        raw[:end] + one * times + raw[end : end + 8] + b"\xff\xff\xff\xff" + size + raw[end + 16 :]
    )
    code, said = imported("parts.xlsx")
    assert (code, said.count("\n")) == (1, 1), said


@pytest.mark.parametrize("name", ["xl/texts.xml", "xl/SharedStrings.xml", "texts.bin", "xl/a.png"])
def test_texts_that_lie_elsewhere_are_looked_through_there(
    whole: Mapping[str, bytes], place: Path, name: str
) -> None:
    parts = dict(whole)
    texts = parts.pop("xl/sharedStrings.xml")
    at = b"/xl/sharedStrings.xml"
    assert at in parts["[Content_Types].xml"]
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(at, f"/{name}".encode())
    book_of("else.xlsx", {**parts, name: texts})
    assert imported("else.xlsx")[0] == 0
    book_of("else.xlsx", {**parts, name: swollen(b"<si/>" * 1_000_000, 90)})
    code, said = imported("else.xlsx")
    assert (code, "unpacks to more than" in said, said.count("\n")) == (1, True, 1), said
    path = book_of("else.xlsx", {**parts, name: LAUGHS.encode()})
    with pytest.raises(RefusedError, match="document type"):
        looked_through(path.read_bytes(), "else.xlsx")


def test_a_sheet_that_lies_elsewhere_is_looked_through_there(
    whole: Mapping[str, bytes], place: Path
) -> None:
    parts = dict(whole)
    sheet = parts.pop("xl/worksheets/sheet1.xml")
    links = "xl/_rels/workbook.xml.rels"
    assert b"/xl/worksheets/sheet1.xml" in parts[links]
    parts[links] = parts[links].replace(b"/xl/worksheets/sheet1.xml", b"/media/a.png")
    book_of("else.xlsx", {**parts, "media/a.png": sheet})
    assert imported("else.xlsx")[0] == 0
    book_of("else.xlsx", {**parts, "media/a.png": swollen(b" " * 1_000_000, 300)})
    code, said = imported("else.xlsx")
    assert (code, "unpacks to more than" in said, said.count("\n")) == (1, True, 1), said
