"""Text as rows of cells: which character parts them, and strictly so."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterator
from typing import NamedTuple

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import UndecidedError
from fleetcare.exchange.cell import Line, seen
from fleetcare.exchange.grid import MOST_CELLS, MOST_COLUMNS, MOST_LINES

CANDIDATES = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
NAMES = {"tab": "\t", "semicolon": ";", "comma": ",", "bar": "|"}
PROBED = 50
LONGEST_CELL = 131_072
Known = Callable[[tuple[str, ...]], int]


class _Trial(NamedTuple):
    """How a character parts the first rows: known headings in one row, rows of one width, width."""

    known: int
    steady: float
    width: int
    delimiter: str


def lines_of(text: str, name: str, delimiter: str, known: Known) -> tuple[tuple[Line, ...], str]:
    """The rows of a text, and what parts them.

    `known` counts the headings of a row that are known. Raises UndecidedError when two characters
    part it equally well, RefusedError when it is no table or too large a one.
    """
    hint = text[:5].casefold().startswith("sep=")
    if not delimiter and hint and text[4:5] in CANDIDATES:
        delimiter = text[4]
    delimiter = delimiter or _best(text, name, known)
    if text.count(delimiter) > MOST_CELLS:
        raise RefusedError(f"{name}: more than {MOST_CELLS:,} cells; split it")
    lines: list[Line] = []
    cells = 0
    for line in _records(text, name, delimiter):
        cells += len(line.cells)
        if len(lines) >= MOST_LINES or cells > MOST_CELLS:
            raise RefusedError(
                f"{name}: more than {MOST_LINES:,} rows or {MOST_CELLS:,} cells; split it"
            )
        if len(line.cells) > MOST_COLUMNS:
            raise RefusedError(f"{name}:{line.number}: has more than {MOST_COLUMNS:,} cells")
        lines.append(line)
    return tuple(_with_swallowed(lines, delimiter)), delimiter


def _best(text: str, name: str, known: Known) -> str:
    """The character by which a row of known headings comes out; else the one of steady widths."""
    trials = sorted((_tried(text, known, mark) for mark in CANDIDATES), reverse=True)
    first, second = trials[0], trials[1]
    if first.known >= 2 and (first.known, first.steady) == (second.known, second.steady):
        raise UndecidedError(
            name,
            "can be parted in two ways",
            "delimiter",
            tuple((mark, f"by {CANDIDATES[mark]}") for mark in (first.delimiter, second.delimiter)),
        )
    return first.delimiter


def _tried(text: str, known: Known, delimiter: str) -> _Trial:
    widths: Counter[int] = Counter()
    most = 0
    try:
        for line in _records(_head(text), "", delimiter):
            cells = tuple(seen(str(cell)) for cell in line.cells)
            if any(cells):
                widths[len(cells)] += 1
                most = max(most, known(cells[:MOST_COLUMNS]))
    except RefusedError:
        pass  # what was read before it still counts
    if not widths:
        return _Trial(0, 0.0, 0, delimiter)
    width, times = max(widths.items(), key=lambda item: (item[0] > 1, item[1]))
    return _Trial(most, times / widths.total() if width > 1 else 0.0, width, delimiter)


def _head(text: str) -> str:
    """The first lines, enough to tell what parts them."""
    end = -1
    for _ in range(PROBED):
        found = text.find("\n", end + 1)
        if found < 0:
            return text[:1_000_000]
        end = found
    return text[: min(end + 1, 1_000_000)]


def _records(text: str, name: str, delimiter: str) -> Iterator[Line]:
    """Every row with its line numbers; blank ones too, so that each can be accounted for."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    first = 1
    try:
        for cells in reader:
            yield Line(first, tuple(cells), reader.line_num, _controls(cells))
            first = reader.line_num + 1
    except csv.Error as error:
        raise RefusedError(f"{name}:{first}: {_csv_words(error)}") from error


def _csv_words(error: csv.Error) -> str:
    text = str(error)
    if "larger than" in text:
        return (
            f"holds a cell of more than {LONGEST_CELL:,} letters. A quotation mark that is never "
            f"closed? Close it, or shorten the cell"
        )
    if "unexpected end" in text:
        return "a quotation mark opens here and is never closed. Close it, or take it out"
    return f"is not CSV from here on ({text})"


def _controls(cells: list[str]) -> str:
    for cell in cells:
        for char in cell:
            if (char < " " and char not in "\t\n\r") or char == "\x7f":
                return f"holds a control character (U+{ord(char):04X})"
    return ""


def _with_swallowed(lines: list[Line], delimiter: str) -> Iterator[Line]:
    """Rows in which a stray quotation mark took in whole rows below it are marked as wrong."""
    width = Counter(len(line.cells) for line in lines).most_common(1)[0][0] if lines else 0
    for line in lines:
        if line.last > line.number and width > 1 and not line.wrong:
            inner = (piece for cell in line.cells for piece in str(cell).splitlines()[1:])
            if any(piece.count(delimiter) >= width - 1 for piece in inner):
                line = line._replace(
                    wrong=f"a quotation mark takes in the rows down to line {line.last}; close it"
                )
        yield line
