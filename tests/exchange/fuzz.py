"""Sheets with planted faults, and what must become of every row: for tests and trials.

`dirty(seed)` makes one: a sheet in some language, writing and format, kept over months, with
totals, blanks, headings between rows, cells that have no reading or two, strange names, slips of
the meter. What it plants it also tells, written down here without asking the product: which rows
are good, what each says, which are to be skipped, which refused, and how those are mended.
"""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl

GOOD, SKIP, BAD = "taken", "skipped", "refused"
FIRST, LAST = date(2026, 1, 2), date(2026, 7, 10)
ENGINES = ("Otter", "Heron", "Port", "Star")
TASKS = ("impeller", "gear oil", "plugs", "swivel grease", "thermostat", "fuel filter")
Entry = tuple[str, str, str, str]  # kind, day, engine, figure in hundredths or task

HEADS = {
    "readings": (
        ("Date", "Engine", "Meter reading", "Remarks"), ("Datum", "Motor", "Zählerstand", "Notiz"),
        ("Jour", "Moteur", "Compteur", "Remarque"), ("Dato", "Påhengsmotor", "Timeteller", "Notat"),
    ),
    "runs": (
        ("Date", "Engine", "hrs run", "Notes"), ("Datum", "Motor", "Laufzeit (h)", "Bemerkung"),
        ("Fecha", "Motor", "Horas del día", "Observaciones"),
        ("Date", "Outboard", "Hours run", "Memo"),
    ),
    "jobs": (
        ("Date", "Engine", "Job done", "Comment"), ("Datum", "Motor", "Arbeit", "Bemerkung"),
        ("Data", "Motore", "Lavoro", "Nota"), ("Datum", "Buitenboordmotor", "Onderhoud", "Notitie"),
    ),
}  # fmt: skip
NO_DAY = (
    "31.02.2026",
    "soon",
    "2026-13-01",
    "0000-00-00",
    "3 May",
    "12/2026",
    "#REF!",
    "yesterday",
)
NO_NAME = ("Ottre", "Otter/Heron", "Boat 7 eng", "Heron & Port", "?", "#N/A", "Oter")
NO_FIGURE = (
    "ca. 12", "12?", "12 or 13", "nan", "1e3", "-5", "12:75", "#DIV/0!", "#####", "1.2.3", "lots",
    "1,234", "12_5", "12²",
)  # fmt: skip
NO_TASK = ("impelller", "new engine", "impeller?", "#VALUE!", "checked")
NOTES = (
    "",
    "",
    "",
    "calm",
    "wind, rain",
    'said "fine"',
    "prop; new",
    "Öl geprüft",
    "=1+1",
    "two\nlines",
)


@dataclass(slots=True)
class Row:
    """One row below the headings: its cells, what must become of it, what it says once mended."""

    cells: list[Any]
    verdict: str
    entry: Entry | None = None
    mended: list[Any] | None = None


@dataclass(slots=True)
class Dirty:
    """A sheet: what stands above its rows, the rows, and how it is written."""

    kind: str
    above: list[list[Any]]
    rows: list[Row]
    asked: dict[str, Any] = field(default_factory=dict)
    form: str = "csv"
    delimiter: str = ","
    encoding: str = "utf-8"

    @property
    def good(self) -> list[Entry]:
        """What the log must hold afterwards, each once."""
        return sorted(row.entry for row in self.rows if row.verdict == GOOD and row.entry)

    @property
    def all(self) -> list[Entry]:
        """What the log must hold once the refused rows were mended too."""
        return sorted(row.entry for row in self.rows if row.entry)

    @property
    def faults(self) -> int:
        """How many faults were planted."""
        return sum(row.verdict == BAD for row in self.rows)

    def write(self, path: Path) -> Path:
        """The sheet as a file."""
        path = path.with_suffix(f".{self.form}")
        lines = [*self.above, *(row.cells for row in self.rows)]
        if self.form == "xlsx":
            book = openpyxl.Workbook()
            for line in lines:
                book.active.append([None if cell == "" else cell for cell in line])
            for line in book.active.iter_rows():
                for cell in line:
                    if cell.data_type == "f":
                        cell.data_type = "s"  # a note that begins with = is no formula
            book.save(path)
        else:
            out = io.StringIO(newline="")
            csv.writer(out, delimiter=self.delimiter).writerows(lines)
            path.write_bytes(out.getvalue().encode(self.encoding))
        return path

    def mend(self, report: Path) -> None:
        """Mend a table of refused rows, by the rows that its own column names."""
        with report.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
        where = rows[0].index("fleetcare: row")
        first = len(self.above) + 1
        lines = self._line_numbers()
        for row in rows[1:]:
            number = int(row[where].replace("!", ":").rsplit(":", 1)[1])
            mended = self.rows[lines.index(number)].mended if self.form == "csv" else (
                self.rows[number - first].mended
            )  # fmt: skip
            row[: len(mended or [])] = [_text(cell) for cell in mended or []]
        with report.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)

    def _line_numbers(self) -> list[int]:
        """The line of a text file on which each row begins."""
        number = 1 + sum(1 + _breaks(line) for line in self.above)
        numbers = []
        for row in self.rows:
            numbers.append(number)
            number += 1 + _breaks(row.cells)
        return numbers


def _breaks(cells: Sequence[Any]) -> int:
    return sum(cell.count("\n") for cell in cells if isinstance(cell, str))


def _text(cell: Any) -> str:
    return cell.date().isoformat() if isinstance(cell, datetime) else str(cell)


def dirty(seed: str, rows: int = 60, faults: float = 0.12) -> Dirty:
    """A sheet with planted faults; the same one for the same seed."""
    chance = random.Random(seed)
    kind = chance.choice(sorted(HEADS))
    form = "xlsx" if chance.random() < 0.25 else "csv"
    writes = _Writer(chance, kind, form)
    sheet = Dirty(kind, writes.above(), [], writes.asked, form)
    if form == "csv":
        sheet.delimiter = writes.delimiter
        sheet.encoding = chance.choice(("utf-8", "utf-8-sig", "utf-16", "cp1252"))
        if sheet.encoding == "cp1252":
            sheet.asked["encoding"] = "cp1252"
    for row in writes.rows(rows):
        spoiled = _spoiled(chance, writes, row) if chance.random() < faults else row
        sheet.rows.append(spoiled)
        if chance.random() < 0.15:
            sheet.rows.append(_nothing(chance, len(row.cells), writes, sheet.rows))
    if kind == "readings":
        _slips(chance, writes, sheet.rows)
    return sheet


class _Writer:
    """How whoever keeps the sheet writes: days, figures, headings."""

    def __init__(self, chance: random.Random, kind: str, form: str) -> None:
        self.chance, self.kind, self.form = chance, kind, form
        self.asked: dict[str, Any] = {}
        self.delimiter = chance.choice((",", ";", "\t"))
        self.heads = chance.choice(HEADS[kind])
        self.day = self._days()
        self.comma = chance.random() < 0.5

    def _days(self) -> Callable[[date], Any]:
        if self.form == "xlsx" and self.chance.random() < 0.7:
            return lambda on: datetime(on.year, on.month, on.day)
        order = self.chance.choice(("iso", "dot", "short", "dmy", "mdy", "name"))
        if order in ("dmy", "mdy"):
            self.asked["dates"] = order
        formats = {"iso": "%Y-%m-%d", "dot": "%d.%m.%Y", "short": "%d.%m.%y", "dmy": "%d/%m/%Y",
                   "mdy": "%m/%d/%Y", "name": "%d %b %Y"}  # fmt: skip
        return lambda on: on.strftime(formats[order])

    def figure(self, hundredths: int) -> Any:
        """A figure as it is written: a number, a decimal point or comma, hours and minutes."""
        if self.form == "xlsx" and self.chance.random() < 0.8:
            return hundredths / 100
        whole, rest = divmod(hundredths, 100)
        if rest % 25 == 0 and self.chance.random() < 0.2:
            return f"{whole}:{rest * 60 // 100:02}"
        text = f"{whole}.{rest:02}" if rest else str(whole)
        return text.replace(".", ",") if self.comma else text

    def above(self) -> list[list[Any]]:
        """Titles, perhaps, and the headings."""
        titles: list[list[Any]] = [["Our boats, 2026"], []] if self.chance.random() < 0.4 else []
        return [*titles, list(self.heads)]

    def rows(self, count: int) -> list[Row]:
        """Good rows, engine by engine as the days go on."""
        meters = dict.fromkeys(ENGINES, 10000)
        last: dict[str, date] = {}
        out: list[Row] = []
        days = (LAST - FIRST).days
        for at in range(count):
            on = FIRST + timedelta(days=at * days // count)
            engine = ENGINES[at % len(ENGINES)]
            if self.kind == "readings":
                meters[engine] += self.chance.choice((0, 25, 100, 150, 275, 350))
                out.append(self._row(on, engine, meters[engine]))
            elif self.kind == "runs":
                out.append(self._row(on, engine, self.chance.choice((25, 100, 150, 333, 725))))
            else:
                task = TASKS[(at // len(ENGINES)) % len(TASKS)]
                if on - last.get(engine, FIRST - timedelta(days=9)) > timedelta(days=1):
                    last[engine] = on
                    out.append(self._row(on, engine, task))
        return out

    def _row(self, on: date, engine: str, value: int | str) -> Row:
        written = self.figure(value) if isinstance(value, int) else value
        name = self.chance.choice((engine, engine, engine.upper(), f" {engine} "))
        cells = [self.day(on), name, written, self.chance.choice(NOTES)]
        kind = {"readings": "Reading", "runs": "Run", "jobs": "Job"}[self.kind]
        return Row(cells, GOOD, (kind, on.isoformat(), engine, str(value)), cells)


def _spoiled(chance: random.Random, writes: _Writer, row: Row) -> Row:
    """The row with one cell that has no reading, or that cannot be."""
    cells = list(row.cells)
    column = chance.randrange(4)
    if column == 0:
        cells[0] = chance.choice(NO_DAY)
    elif column == 1:
        cells[1] = chance.choice(NO_NAME)
    elif column == 2:
        cells[2] = chance.choice(NO_TASK if writes.kind == "jobs" else NO_FIGURE)
        if writes.form == "xlsx" and writes.kind != "jobs" and chance.random() < 0.3:
            cells[2] = datetime(2026, 5, 12)
    else:
        cells[0] = writes.day(date(2026, 8, 30))
    return Row(cells, BAD, row.entry, row.mended)


def _nothing(chance: random.Random, width: int, writes: _Writer, before: list[Row]) -> Row:
    """A row that holds nothing to take."""
    kinds = [
        ["", "", "", ""], ["April", "", "", ""], ["Total", "", "999", ""], list(writes.heads),
        ["", "", "-", "out of use"], [" ", "\u00a0", "", ""], ["", "Summe", "99", ""],
    ]  # fmt: skip
    good = next((row for row in reversed(before) if row.verdict == GOOD), None)
    if good is not None and writes.kind != "runs":
        kinds.append(list(good.cells))  # a row pasted twice says nothing new
    return Row(chance.choice(kinds), SKIP)


def _slips(chance: random.Random, writes: _Writer, rows: list[Row]) -> None:
    """Some figures far too high or low, each with good ones of its engine around it."""
    for engine in ENGINES:
        good = [row for row in rows if row.entry and row.entry[2] == engine]
        inner = good[3:-3]
        if not inner or chance.random() < 0.5:
            continue
        row = chance.choice(inner)
        around = good[good.index(row) - 3 : good.index(row) + 4]
        if any(item.verdict != GOOD for item in around) or row.entry is None:
            continue
        wrong = int(row.entry[3]) + chance.choice((6000, -3000))
        cells = [*row.cells[:2], writes.figure(wrong), *row.cells[3:]]
        for other in rows:  # a row pasted twice would now say something else
            if other.verdict == SKIP and other.cells == row.cells:
                other.cells = ["", "", "", ""]
        row.mended, row.cells, row.verdict = row.cells, cells, BAD
