"""Files as tables: what each is by its first bytes, its sheets, which of them are our own."""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from fleetcare.errors import RefusedError
from fleetcare.exchange import cells
from fleetcare.exchange.accounts import REPORT_HEADS
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.bring_in import Tables
from fleetcare.exchange.cell import seen
from fleetcare.exchange.csvfile import MOST_BYTES as MOST_OWN_BYTES
from fleetcare.exchange.csvfile import by_column, read_cells
from fleetcare.exchange.found import found_sheet
from fleetcare.exchange.grid import MOST_BYTES, Grid
from fleetcare.exchange.headings import meaning_of, said_meanings
from fleetcare.exchange.own_tables import OwnSheet, nearly_own, own_heads, own_rows, own_sheet
from fleetcare.exchange.packed import is_packed, what_it_is
from fleetcare.exchange.parting import CANDIDATES, lines_of
from fleetcare.exchange.text_file import decode
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import folded

STDIN = "-"
WORKBOOKS = (".xlsx", ".xlsm")
HEAD_BYTES = 10_000


def read_found(
    paths: Sequence[Path], asked: Asked, kept: Mapping[str, str], fleet: Fleet
) -> Tables:
    """Every row of the files, whoever keeps them; a folder stands for its tables.

    `kept` are headings by key as a person once explained them. Raises RefusedError for what is no
    table, UndecidedError for what can be read in two ways.
    """
    tables = Tables()
    said = {**kept, **said_meanings(asked.maps)}
    files = _files(paths)
    names = Counter(path.name for path in files)
    grids: list[Grid] = []
    for path in files:
        shown = str(path) if names[path.name] > 1 else path.name
        if _is_large_own(path):
            head, rows = read_cells(path)
            placed, faults = by_column(shown, head, rows)
            getattr(tables, cells.table_of(head) or "log").extend(placed)
            tables.faults += faults
        else:
            grids += _grids(path, "stdin" if shown == STDIN else shown, asked, said, fleet)
    own = [sheet for sheet in map(own_sheet, grids) if sheet is not None]
    for sheet in own:
        placed, faults = own_rows(sheet, asked)
        getattr(tables, sheet.table).extend(placed)
        tables.faults += faults
    tables.own = own
    _found(tables, [grid for grid in grids if not _is_of(grid, own)], asked, kept, fleet)
    return tables


def _is_of(grid: Grid, own: Sequence[OwnSheet]) -> bool:
    return any(sheet.grid is grid for sheet in own)


def _found(
    tables: Tables, grids: Sequence[Grid], asked: Asked, kept: Mapping[str, str], fleet: Fleet
) -> None:
    """Understand the sheets that are not ours, with the names that came beside them."""
    new = {
        folded(row.get(column, ""))
        for column, rows in (("engine", tables.engines), ("boat", tables.boats))
        for _, row in rows
    }
    is_name = _namer(fleet, asked, new)
    for grid in grids:
        first = next((line for line in grid.lines if any(map(bool, line.cells))), None)
        near = nearly_own([str(cell) for cell in first.cells]) if first is not None else ""
        if near:
            raise RefusedError(f"{grid.name}: {near}; fleetcare import --help shows its headings")
        tables.sheets.append(found_sheet(grid, asked, kept, is_name, fleet.settings.fuel_unit))


def _namer(fleet: Fleet, asked: Asked, new: set[str]) -> Callable[[str], bool]:
    said = {folded(theirs) for theirs, _ in asked.names}

    def is_name(text: str) -> bool:
        name = folded(seen(text))
        return bool(name) and (
            name in said or name in new or fleet.has_engine(name) or fleet.has_boat(name)
        )

    return is_name


def _files(paths: Sequence[Path]) -> list[Path]:
    files: list[Path] = []
    for path in paths:
        if not path.is_dir():
            files.append(path)
            continue
        inside = sorted(path.glob("*.csv"))
        inside = inside or sorted(item for item in path.iterdir() if _is_workbook(item))
        if not inside:
            raise RefusedError(f"{path}: holds no CSV file and no workbook; nothing was taken")
        files += inside
    return files


def _is_workbook(path: Path) -> bool:
    # a spreadsheet program's own lock file beside an open workbook begins with ~$
    return path.suffix.lower() in WORKBOOKS and not path.name.startswith("~$")


def _is_large_own(path: Path) -> bool:
    """Whether a file beyond the bound of sheets is a table of ours, which may be larger."""
    try:
        if str(path) == STDIN or path.stat().st_size <= MOST_BYTES:
            return False
        if path.stat().st_size > MOST_OWN_BYTES:
            return True  # to be refused by its own bound
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES).decode("utf-8-sig", "replace")
    except OSError:
        return False
    first = next(csv.reader(head.splitlines()), [])
    return cells.table_of(list(own_heads(first))) is not None


def _grids(
    path: Path, name: str, asked: Asked, said: Mapping[str, str], fleet: Fleet
) -> list[Grid]:
    raw = _bytes(path)
    if len(raw) > MOST_BYTES:
        raise RefusedError(f"{path}: larger than {MOST_BYTES // 1_000_000} MB; split it by year")
    if is_packed(raw):
        from fleetcare.exchange.workbook import grids_of

        return grids_of(raw, name, asked.sheets, lambda grid: own_sheet(grid) is not None)
    other = what_it_is(raw)
    if other:
        raise RefusedError(f"{path}: {other}")
    text, how = decode(raw, name, asked.encoding)
    is_name = _namer(fleet, asked, set())
    lines, delimiter = lines_of(
        text, name, asked.delimiter, lambda heads: _known(heads, said, is_name)
    )
    parted = () if delimiter == "," else (f"parted by {CANDIDATES.get(delimiter, delimiter)}",)
    grid = Grid(name, "", lines, (*how, *parted))
    if grid.is_empty:
        raise RefusedError(f"{path}: is empty; nothing was taken")
    return [grid]


def _known(heads: tuple[str, ...], said: Mapping[str, str], is_name: Callable[[str], bool]) -> int:
    """How many of a row's cells are headings that are known."""
    own = own_heads(heads)
    if cells.table_of([head for head in own if head not in REPORT_HEADS]):
        return len(own)
    return sum(
        bool(meaning_of(head, said)) or head in REPORT_HEADS or is_name(head)
        for head in heads if head
    )  # fmt: skip


def _bytes(path: Path) -> bytes:
    try:
        if str(path) == STDIN:
            return sys.stdin.buffer.read(MOST_BYTES + 1)
        with path.open("rb") as file:  # no more than is taken, of whatever never ends
            return file.read(MOST_BYTES + 1)
    except OSError as error:
        raise RefusedError(f"{path}: {error.strerror or 'cannot be read'}") from error
