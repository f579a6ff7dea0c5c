"""An XLSX file looked through before it is read: what it is, how large, what its sheets hide.

Everything here works in one pass over each part with bounds of its own, so that a small file that
unpacks to a huge one is refused before anything of it is kept.
"""

from __future__ import annotations

import posixpath
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any
from xml.parsers import expat

from fleetcare.errors import RefusedError
from fleetcare.exchange.grid import MOST_CELLS, MOST_COLUMNS, MOST_LINES

MOST_SHEET_BYTES = 150_000_000
MOST_TEXT_BYTES = 60_000_000
MOST_OTHER_BYTES = 20_000_000
MOST_TOTAL_BYTES = 250_000_000
LONGEST_TEXT = 100_000  # letters; a cell of a workbook holds 32,767 at most (ECMA-376)
MOST_ELEMENTS = 3_000_000  # cells with or without a value
CHUNK = 1 << 16
AGAIN = "Open it in a spreadsheet program and save it as .xlsx"
Start = Callable[[str, Mapping[str, str]], None]


@dataclass(slots=True)
class Facts:
    """What a sheet's own text says of it: its size, merged cells, hidden rows and columns.

    Rows and columns count from 1 and 0; `unworked` are formulas that hold no value.
    """

    last_row: int = 0
    last_column: int = -1
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    unworked: set[tuple[int, int]] = field(default_factory=set)
    formulas: int = 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's name, whether it is shown, and its facts."""

    name: str
    is_shown: bool
    facts: Facts


def is_packed(raw: bytes) -> bool:
    """Whether the bytes begin as a zip file does, which an XLSX file is."""
    return raw.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def what_it_is(raw: bytes) -> str:
    """Why bytes that are no table are none; nothing when they may be text."""
    for start, words in (
        (b"\xd0\xcf\x11\xe0", f"is an old .xls or locked by a password. {AGAIN}, without one"),
        (b"%PDF", "is a PDF. Save the table behind it as .xlsx or CSV"),
        (b"{\\rtf", "is a text document (RTF). Save the table as .xlsx or CSV"),
        (b"SQLite format 3\x00", "is a database; fleetcare restore takes a copy of a fleet"),
        (b"\x1f\x8b", "is compressed (gzip). Unpack it first"),
        (b"7z\xbc\xaf", "is compressed (7z). Unpack it first"),
        (b"\x89PNG", "is a picture"),
        (b"\xff\xd8\xff", "is a picture"),
    ):
        if raw.startswith(start):
            return words
    head = raw[:500].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<html", b"<!doctype html", b"<table", b"<?xml")):
        return f"is a web page or XML, whatever its name. {AGAIN} or CSV"
    return ""


def sheets_of(raw: bytes, name: str) -> tuple[list[Sheet], bool]:
    """The sheets of an XLSX file, and whether its days count from 1904.

    Raises RefusedError for any other file, a damaged one, and one beyond the bounds.
    """
    try:
        with zipfile.ZipFile(BytesIO(raw)) as packed:
            return _looked_through(packed, name)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, RuntimeError, KeyError) as error:
        raise RefusedError(f"{name}: cannot be unpacked ({error}). {AGAIN}") from error
    except (expat.ExpatError, zlib.error, ValueError, OSError, NotImplementedError) as error:
        raise RefusedError(f"{name}: is damaged inside ({error}). {AGAIN}") from error


def _looked_through(packed: zipfile.ZipFile, name: str) -> tuple[list[Sheet], bool]:
    names = set(packed.namelist())
    _refuse_others(packed, names, name)
    book = _Book(name)
    _parse(packed, "xl/workbook.xml", name, book.start)
    links = _Links()
    _parse(packed, "xl/_rels/workbook.xml.rels", name, links.start)
    for part in ("xl/styles.xml", "[Content_Types].xml", "_rels/.rels"):
        if part in names:
            _parse(packed, part, name, lambda tag, attributes: None)
    if "xl/sharedStrings.xml" in names:
        texts = _Texts(name)
        _parse(packed, "xl/sharedStrings.xml", name, texts.start, texts.end, texts.text)
    sheets = []
    for title, link, shown in book.sheets:
        target, kind = links.targets.get(link, ("", ""))
        part = posixpath.normpath(posixpath.join("xl", target)).lstrip("/")
        if part not in names or not kind.endswith("/worksheet"):
            continue  # a chart alone on a sheet
        sheets.append(Sheet(title, shown, _facts(packed, part, f"{name}:{title}", name)))
    if not sheets:
        raise RefusedError(f"{name}: holds no sheet that can be read. {AGAIN}")
    return sheets, book.from_1904


def _refuse_others(packed: zipfile.ZipFile, names: set[str], name: str) -> None:
    """Refuse what is packed but no XLSX, and what is too large, by what the file says of itself."""
    if "xl/workbook.bin" in names:
        raise RefusedError(f"{name}: is a binary workbook (.xlsb). {AGAIN}")
    if "xl/workbook.xml" not in names:
        opendocument = "content.xml" in names and "mimetype" in names
        what = "an OpenDocument file (.ods)" if opendocument else "packed, but no workbook"
        raise RefusedError(f"{name}: is {what}, whatever its name. {AGAIN}")
    total = 0
    for info in packed.infolist():
        if not info.filename.endswith((".xml", ".rels")):
            continue  # pictures and macros are never unpacked
        total += info.file_size
        most = _bound(info.filename)
        if info.file_size > most or total > MOST_TOTAL_BYTES:
            raise RefusedError(
                f"{name}: unpacks to more than {most // 1_000_000} MB ({info.filename}). Split it, "
                f"or copy the filled rows alone into a new file"
            )


def _bound(part: str) -> int:
    if part.startswith("xl/worksheets/"):
        return MOST_SHEET_BYTES
    return MOST_TEXT_BYTES if part == "xl/sharedStrings.xml" else MOST_OTHER_BYTES


def _parse(
    packed: zipfile.ZipFile, part: str, name: str, start: Start, end: Any = None, text: Any = None
) -> None:
    """Parse one part in pieces; a document type, which no workbook has, is refused.

    Tags come without the prefix of their namespace, which most workbooks leave out.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        raise RefusedError(f"{name}: holds a document type declaration, as no workbook does")

    def started(tag: str, attributes: Mapping[str, str]) -> None:
        start(tag.rpartition(":")[2] if ":" in tag else tag, attributes)

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = started
    if end is not None:
        parser.EndElementHandler = lambda tag: end(tag.rpartition(":")[2] if ":" in tag else tag)
        parser.CharacterDataHandler = text
    left = _bound(part)
    with packed.open(part) as file:
        while piece := file.read(CHUNK):
            left -= len(piece)
            if left < 0:
                raise RefusedError(f"{name}: unpacks to more than it says. It is not read")
            parser.Parse(piece)
    parser.Parse(b"", True)


class _Book:
    """The sheets that a workbook lists."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.sheets: list[tuple[str, str, bool]] = []
        self.from_1904 = False

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "sheet":
            link = next((v for k, v in attributes.items() if k.rpartition(":")[2] == "id"), "")
            shown = attributes.get("state", "visible") == "visible"
            self.sheets.append((attributes.get("name", ""), link, shown))
        elif tag == "workbookPr":
            self.from_1904 = attributes.get("date1904", "0") in ("1", "true", "on")
        elif tag == "workbook" and attributes.get("conformance") == "strict":
            raise RefusedError(f"{self.name}: is a Strict Open XML workbook. {AGAIN}, not Strict")


class _Links:
    """Where each part that a workbook names lies, and what it is."""

    def __init__(self) -> None:
        self.targets: dict[str, tuple[str, str]] = {}

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "Relationship":
            target, kind = attributes.get("Target", ""), attributes.get("Type", "")
            self.targets[attributes.get("Id", "")] = (target, kind)


class _Texts:
    """Looks through the texts that a workbook keeps apart, and bounds them."""

    def __init__(self, name: str) -> None:
        self.name, self.count, self.length = name, 0, 0

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "si":
            self.count, self.length = self.count + 1, 0
            if self.count > MOST_CELLS:
                raise RefusedError(f"{self.name}: has more than {MOST_CELLS:,} texts; split it")

    def end(self, tag: str) -> None:
        """Nothing: a text ends where the next begins."""

    def text(self, text: str) -> None:
        self.length += len(text)
        if self.length > LONGEST_TEXT:
            raise RefusedError(_too_long(self.name))


def _too_long(where: str) -> str:
    return f"{where}: a cell holds more than {LONGEST_TEXT:,} letters, which no sheet can show"


def _facts(packed: zipfile.ZipFile, part: str, where: str, name: str) -> Facts:
    walker = _Walker(where)
    _parse(packed, part, name, walker.start, walker.end, walker.text)
    return walker.facts


class _Walker:
    """Goes through a sheet's elements, counts them and keeps what is worth knowing."""

    def __init__(self, where: str) -> None:
        self.where, self.facts = where, Facts()
        self.row, self.column, self.elements = 0, -1, 0
        self.length, self.outside, self.in_cell = 0, 0, False
        self.hidden = self.has_formula = self.has_value = self.in_value = False

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "c":
            self._cell(attributes)
        elif tag == "row":
            self._row(attributes)
        elif tag == "f":
            self.has_formula = True
        elif tag in ("v", "t"):
            self.in_value = True
        elif tag == "mergeCell":
            self._merge(attributes.get("ref", ""))
        elif tag == "col" and attributes.get("hidden") in ("1", "true"):
            first, last = int(attributes.get("min", "1")), int(attributes.get("max", "1"))
            self.facts.hidden_columns.append((first - 1, last - 1))

    def _row(self, attributes: Mapping[str, str]) -> None:
        number = int(attributes.get("r", self.row + 1))
        if number <= self.row:
            raise RefusedError(f"{self.where}: its rows are out of order at row {number}. {AGAIN}")
        self.row, self.column = number, -1
        self.hidden = attributes.get("hidden") in ("1", "true")

    def _cell(self, attributes: Mapping[str, str]) -> None:
        self.elements += 1
        if self.elements > MOST_ELEMENTS:
            raise RefusedError(
                f"{self.where}: has more than {MOST_ELEMENTS:,} cells. Copy the filled rows alone "
                f"into a new file"
            )
        ref = attributes.get("r", "")
        self.column = _column(ref) if ref else self.column + 1
        self.has_formula = self.has_value = False
        self.length, self.in_cell = 0, True

    def text(self, text: str) -> None:
        if self.in_cell:
            self.length += len(text)
        else:
            self.outside += len(text)
        if self.length > LONGEST_TEXT or self.outside > MOST_ELEMENTS:
            raise RefusedError(_too_long(f"{self.where}!{self.row}"))
        if self.in_value and text:
            self.has_value = True

    def end(self, tag: str) -> None:
        if tag in ("v", "t"):
            self.in_value = False
        elif tag == "c":
            self._end_of_cell()

    def _end_of_cell(self) -> None:
        facts, self.in_cell = self.facts, False
        if self.has_formula:
            facts.formulas += 1
            if not self.has_value:
                facts.unworked.add((self.row, self.column))
        if not self.has_value and not self.has_formula:
            return
        facts.last_row = self.row
        facts.last_column = max(facts.last_column, self.column)
        if self.hidden:
            facts.hidden_rows.add(self.row)
        if self.row > MOST_LINES or self.column >= MOST_COLUMNS:
            raise RefusedError(
                f"{self.where}: is filled beyond {MOST_LINES:,} rows or {MOST_COLUMNS:,} columns; "
                f"split it"
            )
        if len(facts.unworked) > MOST_CELLS:
            raise RefusedError(f"{self.where}: has more than {MOST_CELLS:,} cells; split it")

    def _merge(self, ref: str) -> None:
        first, _, last = ref.partition(":")
        top, left = _numbers(first)
        bottom, right = _numbers(last or first)
        if len(self.facts.merged) >= MOST_LINES:
            raise RefusedError(f"{self.where}: has more than {MOST_LINES:,} merged cells")
        self.facts.merged.append((top, left, bottom, right))


def _column(ref: str) -> int:
    number = 0
    for char in ref:
        if not "A" <= char <= "Z":
            break
        number = number * 26 + ord(char) - 64
    return number - 1


def _numbers(ref: str) -> tuple[int, int]:
    plain = ref.replace("$", "")
    return int("".join(char for char in plain if char.isdigit()) or "0"), _column(plain)
