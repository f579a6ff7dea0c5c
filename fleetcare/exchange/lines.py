"""The rows below the headings: which hold something to take, and why the others do not."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

from fleetcare.errors import Fault
from fleetcare.exchange import figure_cells
from fleetcare.exchange.cell import Cell, Line, is_blank, looks, plain
from fleetcare.exchange.csvfile import unguarded
from fleetcare.exchange.day_cells import DayRules, day_of
from fleetcare.exchange.figure_cells import has_no_figure
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.layout import FIGURES, NEEDED, PAYLOAD, IsName, Layout
from fleetcare.exchange.synonyms import TOTALS

# Columns in which one merged cell, or with --fill-down a blank, repeats what stands above.
REPEATED = ("on", "engine", "boat", "water", "by")
BLANK, AGAIN, TOTAL, HEADING, NOTHING = (
    "blank", "the headings again", "a total", "a heading between rows", "no figure and no job",
)  # fmt: skip


Sums = dict[int, tuple[int, int]]  # by column: what its figures add up to, how many they are


class Sorted(NamedTuple):
    """A row as wide as the headings, its blanks filled where they may be; why it is skipped."""

    line: Line
    skip: str


def sorted_lines(
    grid: Grid, layout: Layout, fill_down: Collection[str], is_name: IsName
) -> list[Sorted]:
    """Every row below the headings, in order."""
    out: list[Sorted] = []
    above: dict[str, Cell] = {}
    sums: Sums = {}
    values = {line.number: line for line in grid.lines}
    for line in grid.lines:
        if line.number <= layout.header:
            continue
        blanks = [""] * (len(layout.heads) - len(line.cells))
        cells = [unguarded(cell) if isinstance(cell, str) else cell for cell in line.cells] + blanks
        for meaning in REPEATED:
            column = layout.columns.get(meaning)
            if column is not None and is_blank(cells[column]):
                anchor = grid.merged.get((line.number, column))
                if anchor in values and column < len(values[anchor].cells):
                    cells[column] = values[anchor].cells[column]
        skip = "" if line.wrong else _skip(layout, cells, {} if fill_down else sums, is_name)
        if skip not in (BLANK, TOTAL, AGAIN):
            _fill(layout, cells, above, fill_down)
        if skip == HEADING and not _is_sub_heading(layout, cells):
            skip = NOTHING
        if not skip:
            _add(layout, cells, sums)
        elif skip == TOTAL:
            sums.clear()
        out.append(Sorted(line._replace(cells=tuple(cells)), skip))
    return out


def _fill(
    layout: Layout, cells: list[Cell], above: dict[str, Cell], fill_down: Collection[str]
) -> None:
    for meaning in fill_down:
        column = layout.columns.get(meaning)
        if column is None:
            continue
        if not is_blank(cells[column]):
            above[meaning] = cells[column]
        elif meaning in above:
            cells[column] = above[meaning]


def _skip(layout: Layout, cells: list[Cell], sums: Sums, is_name: IsName) -> str:
    """Why a row holds nothing to take; nothing when it does."""
    if all(map(is_blank, cells)):
        return BLANK
    pairs = zip(cells, layout.heads, strict=False)
    if sum(bool(head) and looks(cell).strip() == head for cell, head in pairs) >= NEEDED:
        return AGAIN
    if _is_total(layout, cells, is_name) or _is_sum(layout, cells, sums):
        return TOTAL
    columns = [at for meaning, at in layout.columns.items() if meaning in PAYLOAD]
    columns += [at for at, _ in layout.wide]
    if any(not has_no_figure(cells[at]) for at in columns):
        return ""
    return HEADING if _is_sub_heading(layout, cells) else NOTHING


def _is_total(layout: Layout, cells: list[Cell], is_name: IsName) -> bool:
    """Whether the row says of itself that it adds up: where its name stands, or its first word.

    A spreadsheet program's own subtotals say it last, "Otter Total", and have no day of their own.
    """
    first = next((cell for cell in cells if not is_blank(cell)), "")
    names = [cells[layout.columns[item]] for item in ("engine", "boat") if item in layout.columns]
    day = cells[layout.columns["on"]] if "on" in layout.columns else ""
    for cell in (first, *names):
        words = [word.strip(".") for word in plain(looks(cell)).replace(":", " ").split()]
        if not words or is_name(looks(cell)):
            continue
        if words[0] in TOTALS or (words[-1] in TOTALS and (is_blank(day) or cell is day)):
            return True
    return False


def _is_sum(layout: Layout, cells: list[Cell], sums: Sums) -> bool:
    """Whether a row without a day and a name holds just what those above it add up to."""
    keys = [layout.columns[item] for item in ("on", "engine", "boat") if item in layout.columns]
    if any(not is_blank(cells[at]) for at in keys):
        return False
    given = [(at, value) for at in sums if (value := _value(cells[at])) is not None]
    return bool(given) and all(sums[at][0] == value and sums[at][1] > 1 for at, value in given)


def _add(layout: Layout, cells: list[Cell], sums: Sums) -> None:
    columns = [at for meaning, at in layout.columns.items() if meaning in FIGURES]
    for at in (*columns, *(at for at, _ in layout.wide)):
        value = _value(cells[at])
        if value is not None:
            before, count = sums.get(at, (0, 0))
            sums[at] = before + value, count + 1


def _value(cell: Cell) -> int | None:
    found = figure_cells.hours(cell, "")
    return found.value if isinstance(found, figure_cells.Figure) else None


def _is_sub_heading(layout: Layout, cells: list[Cell]) -> bool:
    """One cell alone, and no day in it."""
    written = [cell for cell in cells if not is_blank(cell)]
    return len(written) == 1 and isinstance(day_of(written[0], "", DayRules("dmy", 2000)), Fault)
