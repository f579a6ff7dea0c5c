"""Our own four tables in a sheet, with what a spreadsheet program made of their cells undone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetcare.errors import Fault, RefusedError
from fleetcare.exchange import cells, figure_cells
from fleetcare.exchange.accounts import REPORT_HEADS
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.cell import Cell, Line, is_blank, looks
from fleetcare.exchange.csvfile import by_column, unguarded
from fleetcare.exchange.day_cells import DayRules, day_of
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.layout import Layout, header_texts
from fleetcare.exchange.lines import Sorted
from fleetcare.exchange.settling import settled
from fleetcare.fleet.figures import shown

DAYS = ("on", "since", "until")
FIGURES = ("reading", "hours", "fuel", "old_reading", "cost")
FLAGS = ("meter", "new")
SWITCHES: Mapping[str, str] = {"true": "yes", "false": "no"}


@dataclass(frozen=True, slots=True)
class OwnSheet:
    """A sheet that holds one of our tables: which one, and its row of headings."""

    grid: Grid
    table: str
    header: int
    heads: tuple[str, ...]


def own_sheet(grid: Grid) -> OwnSheet | None:
    """The sheet as one of our tables, when its first filled row holds that table's headings."""
    line = next((item for item in grid.lines if not all(map(is_blank, item.cells))), None)
    if line is None:
        return None
    heads = own_heads(header_texts(line))
    table = cells.table_of([head for head in heads if head not in REPORT_HEADS])
    if table is None:
        return None
    twice = [name for name, times in Counter(heads).items() if times > 1]
    if twice:
        raise RefusedError(f'{grid.name}: has the heading "{twice[0]}" twice')
    return OwnSheet(grid, table, line.number, heads)


def own_heads(texts: Sequence[str]) -> tuple[str, ...]:
    """Headings in our spelling; blank ones at the end are none."""
    heads = [
        text if text.lower().startswith(cells.LAST) else text.strip().lower() for text in texts
    ]
    while heads and not heads[-1]:
        heads.pop()
    return tuple(heads)


def nearly_own(texts: Sequence[str]) -> str:
    """Why headings that begin as one of our tables' are not taken as that; or nothing."""
    heads = set(own_heads(texts))
    for table, columns in cells.TABLES.items():
        keys = {"settings": 2, "boats": 3, "engines": 2, "log": 2}[table]
        wanted = {"engines": ("engine", "since"), "log": ("on", "event")}.get(table, columns[:keys])
        strange = [name for name in own_heads(texts) if name not in (*columns, *REPORT_HEADS)]
        strange = [
            name for name in strange if table != "engines" or not name.startswith(cells.LAST)
        ]
        if set(wanted) <= heads and strange:
            return f'looks like the table {table}, which has no heading "{strange[0]}"'
    return ""


def own_rows(sheet: OwnSheet, asked: Asked) -> tuple[list[tuple[str, dict[str, str]]], list[Fault]]:
    """Every row below the headings, its cells as our tables write them, with its place."""
    grid, heads = sheet.grid, sheet.heads
    lines = [line for line in grid.lines if line.number > sheet.header]
    rules = {
        heads.index(name): DayRules(_order(grid, sheet, lines, name, asked), asked.year,
                                    asked.serials, grid.epoch)
        for name in DAYS if name in heads
    }  # fmt: skip
    rows = []
    for line in lines:
        texts = [
            _text(cell, heads[at] if at < len(heads) else "", rules.get(at), asked)
            for at, cell in enumerate(line.cells)
        ]
        if any(texts):
            rows.append((line.number, texts))
    placed, faults = by_column(grid.name, heads, rows)
    for _, row in placed:
        for head in REPORT_HEADS:
            row.pop(head, None)
    if not grid.sheet:
        return placed, faults
    bang = len(grid.name)
    return (
        [(f"{place[:bang]}!{place[bang + 1 :]}", row) for place, row in placed],
        [Fault(f"{item.where[:bang]}!{item.where[bang + 1 :]}", item.what) for item in faults],
    )


def _order(grid: Grid, sheet: OwnSheet, lines: Sequence[Line], column: str, asked: Asked) -> str:
    """Whether day or month comes first in a column, as its rows show or a person says."""
    at = sheet.heads.index(column)
    rows = [
        Sorted(line, "") for line in lines if at < len(line.cells) and not is_blank(line.cells[at])
    ]
    layout = Layout(sheet.header, sheet.heads, {"on": at})
    return settled(grid, layout, rows, replace(asked, hours="")).order


def _text(cell: Cell, head: str, rules: DayRules | None, asked: Asked) -> str:
    """A cell as our tables write it; one that has no reading stays as it looks, to be refused."""
    if rules is not None and not is_blank(cell):
        found = day_of(cell, head, rules)
        return found.isoformat() if isinstance(found, date) else looks(cell).strip()
    if head in FIGURES and (asked.decimal or not isinstance(cell, str)):
        figure = figure_cells.hours(cell, head, asked.decimal)
        return shown(figure.value) if isinstance(figure, figure_cells.Figure) else looks(cell)
    text = unguarded(looks(cell).strip())
    return SWITCHES.get(text.lower(), text) if head in FLAGS else text
