"""A sheet of an XLSX file gone through element by element: its size, and what it hides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fleetcare.errors import RefusedError
from fleetcare.exchange.grid import MOST_CELLS, MOST_COLUMNS, MOST_LINES

LONGEST_TEXT = 100_000  # letters; a cell of a workbook holds 32,767 at most (ECMA-376)
MOST_ELEMENTS = 3_000_000  # cells with or without a value
AGAIN = "Open it in a spreadsheet program and save it as .xlsx"


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


def too_long(where: str) -> str:
    """What is said of a text that is longer than a cell can hold."""
    return f"{where}: a cell holds more than {LONGEST_TEXT:,} letters, which no sheet can show"


class Walker:
    """Goes through a sheet's elements, counts them and keeps what is worth knowing."""

    def __init__(self, where: str) -> None:
        self.where, self.facts = where, Facts()
        self.row, self.column, self.elements = 0, -1, 0
        self.length, self.outside, self.in_cell = 0, 0, False
        self.hidden = self.has_formula = self.has_value = self.in_value = False

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """An element begins."""
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
        """A piece of text, in a cell or between them."""
        if self.in_cell:
            self.length += len(text)
        else:
            self.outside += len(text)
        if self.length > LONGEST_TEXT or self.outside > MOST_ELEMENTS:
            raise RefusedError(too_long(f"{self.where}!{self.row}"))
        if self.in_value and text:
            self.has_value = True

    def end(self, tag: str) -> None:
        """An element ends."""
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
