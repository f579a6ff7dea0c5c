"""A sheet as rows of cells, with where it came from and what is worth saying of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fleetcare.exchange.cell import Line, is_blank, letters
from fleetcare.exchange.day_cells import EPOCHS

MOST_BYTES = 20_000_000
MOST_LINES = 200_000
MOST_CELLS = 2_000_000
MOST_COLUMNS = 1_000


@dataclass(frozen=True, slots=True)
class Grid:
    """The rows of one sheet.

    `said` is how it was read (encoding, hidden rows, …), `merged` the line that holds the value
    of a merged cell by (line, column), `epoch` the day that the sheet's day numbers count from.
    """

    file: str
    sheet: str
    lines: tuple[Line, ...]
    said: tuple[str, ...] = ()
    epoch: date = EPOCHS["1900"]
    merged: Mapping[tuple[int, int], int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The file, and the sheet within it."""
        return f"{self.file}:{self.sheet}" if self.sheet else self.file

    def place(self, number: int) -> str:
        """Where a row stands: hours.csv:17, hours.xlsx:2026!17."""
        return f"{self.name}{'!' if self.sheet else ':'}{number}"

    def cell_place(self, number: int, column: int, heading: str) -> str:
        """Where a cell stands, beside its heading: hours.xlsx:2026!C17: Hours."""
        where = f"{self.name}!{letters(column)}{number}" if self.sheet else self.place(number)
        return f"{where}: {heading}" if heading else where

    @property
    def is_empty(self) -> bool:
        """Whether nothing is written in it."""
        return all(is_blank(cell) for line in self.lines for cell in line.cells)
