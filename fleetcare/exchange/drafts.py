"""Rows of a sheet as drafts: every cell read, names still as they were written."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, time

from fleetcare.errors import Fault
from fleetcare.exchange import figure_cells
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.cell import Broken, Cell, is_blank, is_error, looks, plain, seen
from fleetcare.exchange.day_cells import day_of
from fleetcare.exchange.figure_cells import Figure
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.headings import fuel_unit
from fleetcare.exchange.layout import Layout
from fleetcare.exchange.lines import Sorted
from fleetcare.exchange.settling import day_rules
from fleetcare.fleet.hires import hired, is_hire
from fleetcare.fleet.names import tidy, wrong_with_text

_BARE_SPAN = re.compile(r"\d{1,2} ?- ?\d{1,2}")
NAMES = ("engine", "boat", "task", "part", "condition", "water")


@dataclass(slots=True)
class Draft:
    """One row, or one figure of a row with a column an engine: what it says, or why not.

    Figures are hundredths. `columns` tells where each value stands, for what is found wrong later.
    """

    place: str
    line: int
    skip: str = ""
    faults: list[Fault] = field(default_factory=list)
    on: date | None = None
    engine: str = ""
    boat: str = ""
    reading: int | None = None
    hours: int | None = None
    fuel: int | None = None
    hire_time: bool = False
    count: int | None = None
    task: str = ""
    part: str = ""
    condition: str = ""
    water: str = ""
    by: str = ""
    note: str = ""
    is_rounded: bool = False
    is_clock: bool = False
    like_clock: bool = False
    columns: dict[str, str] = field(default_factory=dict)


def drafts(
    grid: Grid, layout: Layout, rows: Sequence[Sorted], asked: Asked, unit: str
) -> Iterator[Draft]:
    """A draft for every row below the headings; of a wide row one for every figure in it."""
    reader = _Reader(grid, layout, asked, unit)
    for row in rows:
        place = grid.place(row.line.number)
        if row.skip:
            yield Draft(place, row.line.number, skip=row.skip)
        elif row.line.wrong:
            yield Draft(place, row.line.number, faults=[Fault("", row.line.wrong)])
        elif layout.wide:
            yield from reader.wide(row)
        else:
            yield reader.long(row)


class _Reader:
    """Reads the cells of one sheet's rows."""

    def __init__(self, grid: Grid, layout: Layout, asked: Asked, unit: str) -> None:
        self.grid, self.layout, self.asked = grid, layout, asked
        self.rules = day_rules(grid, layout, asked)
        fuel = layout.columns.get("fuel")
        self.unit = unit if fuel is None else fuel_unit(layout.head(fuel), unit)

    def long(self, row: Sorted) -> Draft:
        """A row of one engine."""
        draft = self._begun(row)
        columns = self.layout.columns
        for meaning in ("engine", "boat", "task", "part", "condition", "water", "by", "note"):
            if meaning in columns:
                self._text(draft, row, meaning)
        draft.engine = draft.engine or self.layout.engine
        for meaning, read in self._readers():
            if meaning in columns:
                self._figure(draft, row, meaning, read)
        if "out" in columns:
            self._times(draft, row)
        if not draft.engine and not draft.boat and not draft.faults:
            name = next(item for item in ("engine", "boat") if item in columns)
            draft.faults.append(Fault(draft.columns[name], "is empty, and every row needs it",
                                      f"--fill-down {name} repeats the one above."))  # fmt: skip
        return draft

    def wide(self, row: Sorted) -> Iterator[Draft]:
        """A draft for every column whose heading is an engine and that holds a figure."""
        meaning = self.layout.settled.partition(":")[0]
        for column, name in self.layout.wide:
            if figure_cells.has_no_figure(row.line.cells[column]):
                continue
            draft = self._begun(row)
            draft.place = f"{draft.place}: {name}"
            draft.engine = name
            if "note" in self.layout.columns:
                self._text(draft, row, "note")
            draft.columns[meaning] = draft.columns["engine"] = self._where(row, column)
            self._keep(draft, meaning, self._hours(row.line.cells[column], draft.columns[meaning]))
            yield draft

    def _begun(self, row: Sorted) -> Draft:
        draft = Draft(self.grid.place(row.line.number), row.line.number, by=self.asked.by)
        column = self.layout.columns["on"]
        draft.columns["on"] = self._where(row, column)
        on = day_of(row.line.cells[column], draft.columns["on"], self.rules)
        if isinstance(on, Fault):
            if is_blank(row.line.cells[column]):
                on = Fault(on.where, on.what, "--fill-down on repeats the one above.")
            draft.faults.append(on)
        else:
            draft.on = on
        extra = [cell for cell in row.line.cells[len(self.layout.heads) :] if not is_blank(cell)]
        if extra and not self.grid.sheet:
            what = f"has {len(row.line.cells)} cells for {len(self.layout.heads)} headings"
            draft.faults.append(Fault("", what, "A note that holds the mark between cells?"))
        return draft

    def _where(self, row: Sorted, column: int) -> str:
        """A cell's place behind the row's own."""
        return self.layout.head(column)

    def _text(self, draft: Draft, row: Sorted, meaning: str) -> None:
        column = self.layout.columns[meaning]
        cell, where = row.line.cells[column], self._where(row, column)
        draft.columns[meaning] = where
        if isinstance(cell, Broken):
            draft.faults.append(Fault(where, f'"{cell.looks}" is no text: {cell.why}'))
            return
        text = looks(cell).strip() if meaning == "note" else tidy(seen(looks(cell)))
        wrong = wrong_with_text(text, is_note=meaning == "note")
        if is_error(text):
            wrong = f'"{text}" is no text: the sheet shows an error'
        if wrong:
            draft.faults.append(Fault(where, wrong))
        elif set(text) - set("-–—") or meaning == "note":
            setattr(draft, meaning, text)

    def _readers(self) -> tuple[tuple[str, Callable[[Cell, str], Figure | Fault | None]], ...]:
        decimal = self.asked.decimal
        return (
            ("reading", self._hours),
            ("hours", self._hours),
            ("minutes", lambda cell, what: figure_cells.minutes(cell, what, decimal)),
            ("fuel", lambda cell, what: figure_cells.litres(cell, what, self.unit, decimal)),
            ("count", _count),
        )

    def _hours(self, cell: Cell, what: str) -> Figure | Fault | None:
        return figure_cells.hours(cell, what, self.asked.decimal)

    def _figure(
        self, draft: Draft, row: Sorted, meaning: str,
        read: Callable[[Cell, str], Figure | Fault | None],
    ) -> None:  # fmt: skip
        column = self.layout.columns[meaning]
        cell, where = row.line.cells[column], self._where(row, column)
        draft.columns[meaning] = where
        text = plain(cell) if meaning == "hours" and isinstance(cell, str) else ""
        if is_hire(text) and any(map(str.isdigit, text.lstrip("-+ ").partition("-")[2])):
            self._span(draft, text, where)
        else:
            self._keep(draft, meaning, read(cell, where))

    def _span(self, draft: Draft, text: str, where: str) -> None:
        """Hours out of times out and in; bare figures may be those, or a figure not sure."""
        span = hired(text, where)
        if isinstance(span, int) and _BARE_SPAN.fullmatch(text):
            out, _, back = text.replace(" ", "").partition("-")
            what = f'"{text}" could be from {out} to {back} o\'clock, or {out} to {back} hours'
            span = Fault(where, what, f"Write {out}:00-{back}:00, or the one figure known.")
        draft.hire_time = True
        self._keep(draft, "hours", span if isinstance(span, Fault) else Figure(span))

    def _keep(self, draft: Draft, meaning: str, found: Figure | Fault | None) -> None:
        if isinstance(found, Fault):
            draft.faults.append(found)
        elif found is not None:
            if meaning == "minutes":
                meaning = "hours"
            if meaning == "hours" and draft.hours is not None:
                draft.faults.append(Fault("", "has hours and minutes", "Keep one of them."))
                return
            setattr(draft, meaning, found.value)
            draft.is_rounded |= found.is_rounded
            draft.is_clock |= found.is_clock
            draft.like_clock |= found.like_clock

    def _times(self, draft: Draft, row: Sorted) -> None:
        """Hours out of the times it went out and came back."""
        columns = self.layout.columns
        out = row.line.cells[columns["out"]]
        back = row.line.cells[columns["in"]] if "in" in columns else ""
        draft.columns["out"] = self._where(row, columns["out"])
        if is_blank(out) and is_blank(back):
            return
        texts = [plain(looks(cell)) if isinstance(cell, str | time) else "" for cell in (out, back)]
        text = texts[0] if "in" not in columns else "-".join(texts)
        span = hired(text, draft.columns["out"])
        draft.hire_time = True
        self._keep(draft, "hours", span if isinstance(span, Fault) else Figure(span))


def _count(cell: Cell, what: str) -> Figure | Fault | None:
    found = figure_cells.count(cell, what)
    return Figure(found) if isinstance(found, int) else found
