"""The sheets of an XLSX file as rows of cells. Nothing in it is run: no formula, no macro."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from fleetcare.errors import RefusedError
from fleetcare.exchange.asked import UndecidedError
from fleetcare.exchange.cell import ERRORS, UNWORKED, Broken, Cell, Line, is_blank
from fleetcare.exchange.day_cells import EPOCHS
from fleetcare.exchange.grid import MOST_CELLS, Grid
from fleetcare.exchange.packed import Opened, Sheet, looked_through
from fleetcare.exchange.packed_sheet import AGAIN, Facts
from fleetcare.fleet.names import did_you_mean, folded

ALL = "all"
NEVER_WORKED = (
    "a formula that was never worked out; open the file in a spreadsheet program and save it"
)
ERROR = "the sheet shows an error"
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")  # a character that XML cannot hold (ST_Xstring)


def grids_of(raw: bytes, name: str, wanted: Sequence[str], is_own: Any) -> list[Grid]:
    """The sheets to read: those wanted, the tables of ours, or the one that is shown.

    `is_own` tells a table of ours from its grid. Raises UndecidedError with several to choose from.
    """
    looked = looked_through(raw, name)
    sheets = looked.sheets
    chosen = _wanted(sheets, name, wanted) if wanted else [item for item in sheets if item.is_shown]
    chosen = [item for item in chosen if item.facts.last_row]
    epoch = EPOCHS["1904" if looked.from_1904 else "1900"]
    grids = _read(Opened(raw, looked.parts), name, chosen, epoch)
    grids = [grid for grid in grids if not grid.is_empty]
    if not grids:
        raise RefusedError(f"{name}: is empty; nothing was taken")
    if not wanted:
        own = [grid for grid in grids if is_own(grid)]
        if not own and len(grids) > 1:
            raise _which(name, grids)
        left = [f'"{grid.sheet}"' for grid in grids if own and grid not in own]
        grids = own or grids
        hidden = [f'"{item.name}"' for item in sheets if not item.is_shown and item.facts.last_row]
        grids[0] = _saying(grids[0], left, hidden)
    return grids


def _wanted(sheets: Sequence[Sheet], name: str, wanted: Sequence[str]) -> list[Sheet]:
    if [folded(item) for item in wanted] == [ALL]:
        return [sheet for sheet in sheets if sheet.is_shown]
    by_name = {folded(sheet.name): sheet for sheet in sheets}
    found = []
    for item in wanted:
        sheet = by_name.get(folded(item))
        if sheet is None:
            names = [sheet.name for sheet in sheets]
            near = did_you_mean(item, names) or f"Its sheets: {', '.join(names)}"
            raise RefusedError(f'{name}: has no sheet "{item}". {near}')
        found.append(sheet)
    return found


def _which(name: str, grids: Sequence[Grid]) -> UndecidedError:
    counts = [
        sum(any(not is_blank(c) for c in line.cells) for line in grid.lines) for grid in grids
    ]
    choices = [
        (grid.sheet, f"{count} {'row' if count == 1 else 'rows'}")
        for grid, count in zip(grids, counts, strict=True)
    ]
    return UndecidedError(
        name,
        f"has {len(grids)} filled sheets",
        "sheet",
        (*choices, (ALL, "one after the other; --sheet may be given several times")),
    )


def _saying(grid: Grid, left: Sequence[str], hidden: Sequence[str]) -> Grid:
    said = list(grid.said)
    if left:
        said.append(f"not read: {', '.join(left)} (--sheet reads them)")
    if hidden:
        said.append(f"hidden and not read: {', '.join(hidden)} (--sheet reads them)")
    return Grid(grid.file, grid.sheet, grid.lines, tuple(said), grid.epoch, grid.merged)


def _read(packed: Opened, name: str, sheets: Sequence[Sheet], epoch: date) -> list[Grid]:
    """The sheets through openpyxl, which knows which numbers are days and times.

    What it does not find among the opened parts it does without, but for what a sheet needs.
    """
    from openpyxl.reader.excel import ExcelReader

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what it does not keep, which is not read either
        try:
            with packed:
                reader = ExcelReader(packed.fp, read_only=True, data_only=True, keep_links=False)
                reader.archive, reader.valid_files = packed, packed.namelist()
                reader.read()
                return [_grid(reader.wb[sheet.name], name, sheet, epoch) for sheet in sheets]
        except RefusedError:
            raise
        # what a library of others raises upon a file of others is anybody's guess
        except Exception as error:
            raise RefusedError(
                f"{name}: cannot be read as a workbook ({type(error).__name__}: {error!s:.80}). "
                f"{AGAIN}"
            ) from error


def _grid(sheet: Any, name: str, listed: Sheet, epoch: date) -> Grid:
    facts = listed.facts
    lines = tuple(_lines(sheet, facts, f"{name}:{listed.name}"))
    return Grid(name, listed.name, lines, _said(facts), epoch, _anchors(facts))


def _lines(sheet: Any, facts: Facts, where: str) -> Iterator[Line]:
    rows = sheet.iter_rows(
        min_row=1, max_row=facts.last_row, max_col=facts.last_column + 1, values_only=True
    )
    total = 0
    for number, values in enumerate(rows, 1):
        cells = [_cell(value, (number, at) in facts.unworked) for at, value in enumerate(values)]
        while cells and is_blank(cells[-1]):
            cells.pop()
        total += len(cells)
        if total > MOST_CELLS:
            raise RefusedError(f"{where}: has more than {MOST_CELLS:,} cells; split it")
        yield Line(number, tuple(cells), number, _controls(cells))


def _cell(value: Any, is_unworked: bool) -> Cell:
    if is_unworked:
        return Broken(UNWORKED, NEVER_WORKED)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, str):
        value = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)
        return Broken(value, ERROR) if value.strip().upper() in ERRORS else value
    if isinstance(value, int | float | datetime | date | time | timedelta):
        return value
    return str(value)


def _controls(cells: Sequence[Cell]) -> str:
    for cell in cells:
        for char in cell if isinstance(cell, str) else "":
            if (char < " " and char not in "\t\n\r") or char == "\x7f":
                return f"holds a control character (U+{ord(char):04X})"
    return ""


def _anchors(facts: Facts) -> dict[tuple[int, int], int]:
    """For the cells under a merged one, the row that holds its value; in its first column alone."""
    anchors: dict[tuple[int, int], int] = {}
    for top, left, bottom, _ in facts.merged:
        for row in range(top + 1, min(bottom, facts.last_row) + 1):
            anchors[row, left] = top
            if len(anchors) > MOST_CELLS:
                return anchors
    return anchors


def _said(facts: Facts) -> tuple[str, ...]:
    said = []
    hidden = sum(1 for row in facts.hidden_rows if row <= facts.last_row)
    if hidden:
        said.append(f"{hidden} hidden {'row was' if hidden == 1 else 'rows were'} read")
    columns = sum(
        max(0, min(last, facts.last_column) - first + 1) for first, last in facts.hidden_columns
    )
    if columns:
        said.append(f"{columns} hidden {'column was' if columns == 1 else 'columns were'} read")
    if facts.formulas and len(facts.unworked) == facts.formulas:
        said.append("it was never saved by a spreadsheet program, so its formulas hold no values")
    return tuple(said)
