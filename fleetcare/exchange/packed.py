"""An XLSX file looked through before it is read: what it is, how large, what its sheets hide.

Everything here works in one pass over each part with bounds of its own, so that a small file that
unpacks to a huge one is refused before anything of it is kept. Only the parts that were looked
through are there for whoever reads it afterwards: the library would unpack properties, themes,
charts and links of sheets too, at once and whatever size they have.
"""

from __future__ import annotations

import posixpath
import zipfile
import zlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import IO, Any
from xml.parsers import expat

from fleetcare.errors import RefusedError
from fleetcare.exchange.grid import MOST_CELLS
from fleetcare.exchange.packed_sheet import AGAIN, LONGEST_TEXT, Facts, Walker, too_long

CHUNK = 1 << 16
MOST_PARTS = 10_000  # a sheet brings a few, with its drawings and comments
MOST_TOTAL_BYTES = 250_000_000
LONGEST_PIECE = 1_000_000  # bytes of a tag or a comment; a tag holds no text of any cell
DEEPEST = 100  # elements within each other
Start = Callable[[str, Mapping[str, str]], None]


@dataclass(frozen=True, slots=True)
class Bound:
    """The most that a part may unpack to, in bytes and in elements."""

    size: int
    elements: int


SHEET = Bound(150_000_000, 8_000_000)
TEXTS = Bound(60_000_000, 6_000_000)
OTHER = Bound(20_000_000, 300_000)  # a workbook has 64,000 formats at most


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


@dataclass(frozen=True, slots=True)
class Workbook:
    """The sheets of an XLSX file, whether its days count from 1904, the parts looked through."""

    sheets: list[Sheet]
    from_1904: bool
    parts: set[str]


class Opened(zipfile.ZipFile):
    """A packed file of which only some parts are there; any other is one that it does not have."""

    def __init__(self, raw: bytes, parts: Collection[str]) -> None:
        self._parts = parts
        super().__init__(BytesIO(raw))

    def namelist(self) -> list[str]:
        """The names of those that are there."""
        return [name for name in super().namelist() if name in self._parts]

    def open(self, name: str | zipfile.ZipInfo, *more: Any, **others: Any) -> IO[bytes]:
        """Unpack one; raises KeyError for what is not there."""
        wanted = name.filename if isinstance(name, zipfile.ZipInfo) else name
        if wanted not in self._parts:
            raise KeyError(f"no {wanted} to be read")
        return super().open(name, *more, **others)


def looked_through(raw: bytes, name: str) -> Workbook:
    """What is worth knowing of an XLSX file before it is read.

    Raises RefusedError for any other file, a damaged one, and one beyond the bounds.
    """
    if raw.count(b"PK\x01\x02") > MOST_PARTS:
        raise RefusedError(f"{name}: is packed of more than {MOST_PARTS:,} parts. {AGAIN}")
    try:
        with zipfile.ZipFile(BytesIO(raw)) as packed:
            return _Look(packed, name).workbook()
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, RuntimeError, KeyError) as error:
        raise RefusedError(f"{name}: cannot be unpacked ({error}). {AGAIN}") from error
    except (expat.ExpatError, zlib.error, ValueError, OSError, NotImplementedError) as error:
        raise RefusedError(f"{name}: is damaged inside ({error}). {AGAIN}") from error


class _Look:
    """One look through a packed file; keeps which parts it saw, and how large they were."""

    def __init__(self, packed: zipfile.ZipFile, name: str) -> None:
        self.packed, self.name = packed, name
        self.names = set(packed.namelist())
        self.seen: set[str] = set()
        self.total = 0

    def workbook(self) -> Workbook:
        """All of it."""
        self._refuse_others()
        kinds, book, links = _Kinds(), _Book(self.name), _Links()
        self._parse("[Content_Types].xml", OTHER, kinds.start)
        self._parse("xl/workbook.xml", OTHER, book.start)
        self._parse("xl/_rels/workbook.xml.rels", OTHER, links.start)
        if "xl/styles.xml" in self.names:
            self._parse("xl/styles.xml", OTHER, lambda tag, attributes: None)
        if kinds.texts in self.names:
            texts = _Texts(self.name)
            self._parse(kinds.texts, TEXTS, texts.start, None, texts.text)
        sheets = []
        for title, link, shown in book.sheets:
            target, kind = links.targets.get(link, ("", ""))
            part = posixpath.normpath(posixpath.join("xl", target)).lstrip("/")
            if part not in self.names or not kind.endswith("/worksheet"):
                continue  # a chart alone on a sheet
            sheets.append(Sheet(title, shown, self._facts(part, f"{self.name}:{title}")))
        if not sheets:
            raise RefusedError(f"{self.name}: holds no sheet that can be read. {AGAIN}")
        return Workbook(sheets, book.from_1904, self.seen)

    def _facts(self, part: str, where: str) -> Facts:
        walker = Walker(where)
        self._parse(part, SHEET, walker.start, walker.end, walker.text)
        return walker.facts

    def _refuse_others(self) -> None:
        if "xl/workbook.bin" in self.names:
            raise RefusedError(f"{self.name}: is a binary workbook (.xlsb). {AGAIN}")
        if "xl/workbook.xml" not in self.names:
            opendocument = "content.xml" in self.names and "mimetype" in self.names
            what = "an OpenDocument file (.ods)" if opendocument else "packed, but no workbook"
            raise RefusedError(f"{self.name}: is {what}, whatever its name. {AGAIN}")

    def _parse(
        self, part: str, bound: Bound, start: Start, end: Any = None, text: Any = None
    ) -> None:
        """Parse one part in pieces; a document type, which no workbook has, is refused.

        Tags come without the prefix of their namespace, which most workbooks leave out.
        """
        size = self.packed.getinfo(part).file_size
        self.total += size
        if size > bound.size or self.total > MOST_TOTAL_BYTES:
            raise RefusedError(
                f"{self.name}: unpacks to more than {bound.size // 1_000_000} MB ({part}). Split "
                f"it, or copy the filled rows alone into a new file"
            )
        self.seen.add(part)
        parser = self._parser(part, bound, start, end, text)
        fed = 0
        with self.packed.open(part) as file:
            while piece := file.read(CHUNK):
                fed += len(piece)
                if fed > bound.size:
                    raise RefusedError(f"{self.name}: unpacks to more than it says. It is not read")
                parser.Parse(piece)
                if fed - parser.CurrentByteIndex > LONGEST_PIECE:
                    raise RefusedError(f"{self.name}: {part} holds a tag longer than any. {AGAIN}")
        parser.Parse(b"", True)

    def _parser(self, part: str, bound: Bound, start: Start, end: Any, text: Any) -> Any:
        parser = expat.ParserCreate()
        parser.buffer_text = True
        count = depth = 0

        def refuse(*_: object) -> None:
            raise RefusedError(
                f"{self.name}: holds a document type declaration, as no workbook does"
            )

        def started(tag: str, attributes: Mapping[str, str]) -> None:
            nonlocal count, depth
            count, depth = count + 1, depth + 1
            if count > bound.elements or depth > DEEPEST:
                what = f"{DEEPEST} in each other" if depth > DEEPEST else f"{bound.elements:,}"
                raise RefusedError(f"{self.name}: {part} holds more elements than {what}. {AGAIN}")
            start(tag.rpartition(":")[2] if ":" in tag else tag, attributes)

        def ended(tag: str) -> None:
            nonlocal depth
            depth -= 1
            if end is not None:
                end(tag.rpartition(":")[2] if ":" in tag else tag)

        parser.StartDoctypeDeclHandler = refuse
        parser.StartElementHandler = started
        parser.EndElementHandler = ended
        if text is not None:
            parser.CharacterDataHandler = text
        return parser


class _Kinds:
    """What the parts are, as the file's own list says: where its texts lie."""

    def __init__(self) -> None:
        self.texts = "xl/sharedStrings.xml"

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        if tag == "Override" and attributes.get("ContentType", "").endswith("sharedStrings+xml"):
            self.texts = attributes.get("PartName", "")[1:]


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

    def text(self, text: str) -> None:
        self.length += len(text)
        if self.length > LONGEST_TEXT:
            raise RefusedError(too_long(self.name))
