"""What a whole column settles: day or month first, the meter's figure or a day's hours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from fleetcare.errors import RefusedError
from fleetcare.exchange import figure_cells
from fleetcare.exchange.asked import Asked, UndecidedError
from fleetcare.exchange.cell import Cell, is_blank, looks
from fleetcare.exchange.day_cells import DayRules, day_of, is_serial_text, vote, year_in_front
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.layout import Layout
from fleetcare.exchange.lines import Sorted
from fleetcare.exchange.synonyms import FIGURE, MEANINGS
from fleetcare.fleet.figures import shown
from fleetcare.fleet.names import folded

A_DAY = 2400
TOTAL, DAILY = "reading", "hours"
SAID = {"total": TOTAL, "daily": DAILY}


def settled(grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked) -> Layout:
    """The layout with the order of its days and the meaning of its figures.

    Raises UndecidedError where the column allows both, RefusedError where it allows neither.
    """
    good = [row for row in rows if not row.skip and not row.line.wrong]
    layout = _with_order(grid, layout, good, asked)
    if FIGURE in layout.columns or layout.wide:
        return _with_figures(grid, layout, good, asked)
    named = {TOTAL, DAILY} & layout.columns.keys()
    if asked.hours and named and SAID[asked.hours] not in named:
        meaning = named.pop()
        head = layout.head(layout.columns[meaning])
        raise RefusedError(
            f'{grid.place(layout.header)}: "{head}" is {MEANINGS[meaning]} by its name, which '
            f'--hours {asked.hours} does not change. --map {SAID[asked.hours]}="{head}" does'
        )
    return layout


def day_rules(grid: Grid, layout: Layout, asked: Asked) -> DayRules:
    """How the days of a sheet are read, once its order is settled."""
    return DayRules(layout.order, asked.year, asked.serials, grid.epoch)


def _with_order(grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked) -> Layout:
    column = layout.columns["on"]
    cells = [(row.line.number, row.line.cells[column]) for row in rows]
    _ask_serials(grid, layout, cells, asked)
    if asked.dates:
        return replace(layout, order=asked.dates)
    found = vote(cells)
    head = layout.head(column)
    _ask_years(grid, head, cells, asked)
    if found.dmy is not None and found.mdy is not None:
        both = [grid.cell_place(line, column, "") for line in (found.dmy, found.mdy)]
        raise RefusedError(
            f'{grid.name}: "{head}" has days both ways: {both[0]} has the day first, {both[1]} the '
            f"month. Mend one kind, or --dates dmy or mdy refuses the others row by row"
        )
    if found.open and found.dmy is None and found.mdy is None:
        first, second = (
            _iso(day_of(found.open_as, "", DayRules(order, asked.year or 2000)))
            for order in ("dmy", "mdy")
        )
        raise UndecidedError(
            grid.name,
            f'"{head}" holds days such as {found.open_as}, and no row shows which comes first',
            "dates",
            (("dmy", f"day first: {found.open_as} is {first}"),
             ("mdy", f"month first: {found.open_as} is {second}")),
        )  # fmt: skip
    proof = found.dmy if found.dmy is not None else found.mdy
    if not found.open or proof is None:
        return layout
    order = "dmy" if found.dmy is not None else "mdy"
    return replace(layout, order=order, order_shown_by=f"row {proof}")


def _ask_years(grid: Grid, head: str, cells: Sequence[tuple[int, Cell]], asked: Asked) -> None:
    """Ask when days such as 26-04-03 may begin with their year."""
    text = year_in_front(cells, asked.today)
    if not text:
        return
    ways = (("dmy", "day first"), ("mdy", "month first"), ("ymd", "year first"))
    readings: dict[date, tuple[str, str]] = {}
    for order, words in ways:
        found = day_of(text, "", DayRules(order))
        if isinstance(found, date):
            readings.setdefault(found, (order, f"{words}: {text} is {found.isoformat()}"))
    raise UndecidedError(
        grid.name,
        f'"{head}" holds days such as {text}, and no row shows whether the year comes first',
        "dates",
        tuple(readings.values()),
    )


def _iso(found: date | object) -> str:
    return found.isoformat() if isinstance(found, date) else str(found)


def _ask_serials(
    grid: Grid, layout: Layout, cells: Sequence[tuple[int, Cell]], asked: Asked
) -> None:
    """Ask once when most days are a spreadsheet's day numbers written as text."""
    given = [cell for _, cell in cells if not is_blank(cell)]
    numbers = [cell for cell in given if is_serial_text(cell)]
    if asked.serials or 2 * len(numbers) <= len(given):
        return
    head, text = layout.head(layout.columns["on"]), looks(numbers[0])
    days = {start: day_of(text, "", DayRules(serials=start)) for start in ("1900", "1904")}
    raise UndecidedError(
        grid.name,
        f'"{head}" holds numbers such as {text}, which may be a spreadsheet\'s day numbers',
        "serial-dates",
        (("1900", f"{text} is {_iso(days['1900'])}, as most spreadsheets count"),
         ("1904", f"{text} is {_iso(days['1904'])}")),
    )  # fmt: skip


def _with_figures(grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked) -> Layout:
    """Say of a column for either what it holds: as said, as another column shows, as it shows."""
    columns = dict(layout.columns)
    column = columns.pop(FIGURE, None)
    if asked.hours:
        meaning, why = SAID[asked.hours], "as said"
    else:
        meaning, why = _shown(grid, layout, rows, asked, columns)
    if column is not None:
        if meaning in columns:
            raise RefusedError(
                f'{grid.place(layout.header)}: "{layout.head(column)}" and '
                f'"{layout.head(columns[meaning])}" would both be the {meaning}. Leave one out: '
                f'--map ignore="{layout.head(column)}"'
            )
        columns[meaning] = column
    return replace(layout, columns=columns, settled=f"{meaning}: {why}")


def _shown(
    grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked, columns: dict[str, int]
) -> tuple[str, str]:
    figures = list(_figures(grid, layout, rows, asked))
    above = next((item for item in figures if item[3] > A_DAY), None)
    falls = _first_fall(figures)
    head = _figure_head(layout)
    if above is not None and falls is None:
        return TOTAL, f"it never falls, and row {above[2]} is above 24"
    if falls is not None and above is None:
        return DAILY, f"no figure is above 24, and row {falls} is below one before it"
    if above is None and TOTAL in columns:
        return DAILY, f'no figure is above 24, and "{layout.head(columns[TOTAL])}" is the meter\'s'
    if falls is None and DAILY in columns:
        return TOTAL, f'it never falls, and "{layout.head(columns[DAILY])}" is the day\'s'
    if above is None:
        what = "may be the meter's figures or hours of each day: none falls, none is above 24"
    else:
        what = (
            f"is neither the meter's figure throughout (row {falls} is below one before it) nor "
            f"hours of each day (row {above[2]} is {shown(above[3])})"
        )
    raise UndecidedError(
        grid.name,
        f'"{head}" {what}',
        "hours",
        (("total", "the meter's figure, which only rises"),
         ("daily", "hours run that day")),
    )  # fmt: skip


def _figure_head(layout: Layout) -> str:
    if FIGURE in layout.columns:
        return layout.head(layout.columns[FIGURE])
    return ", ".join(name for _, name in layout.wide)


def _figures(
    grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked
) -> Iterator[tuple[str, date, int, int]]:
    """Engine, day, row and hundredths of every figure that can be read."""
    rules = day_rules(grid, layout, asked)
    names = [layout.columns[item] for item in ("engine", "boat") if item in layout.columns]
    columns = [(layout.columns[FIGURE], "")] if FIGURE in layout.columns else list(layout.wide)
    for row in rows:
        on = day_of(row.line.cells[layout.columns["on"]], "", rules)
        for column, wide in columns:
            found = figure_cells.hours(row.line.cells[column], "", asked.decimal)
            if isinstance(on, date) and isinstance(found, figure_cells.Figure):
                name = wide or " ".join(looks(row.line.cells[at]) for at in names)
                yield folded(name), on, row.line.number, found.value


def _first_fall(figures: Sequence[tuple[str, date, int, int]]) -> int | None:
    """The first row whose figure is below one of an earlier day of the same engine."""
    high: dict[str, int] = {}
    day_high: dict[str, tuple[date, int]] = {}
    for name, on, row, value in sorted(figures, key=lambda item: (item[1], item[2])):
        last = day_high.get(name)
        if last is not None and last[0] != on:
            high[name] = max(high.get(name, 0), last[1])
        if value < high.get(name, 0):
            return row
        same = last is not None and last[0] == on
        day_high[name] = (on, max(value, last[1]) if same and last is not None else value)
    return None
