"""What the example fleets are written with: the four tables, a seeded dice, and a log in order."""

from __future__ import annotations

import csv
import io
import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

COLUMNS: dict[str, tuple[str, ...]] = {
    "settings": ("name", "value"),
    "boats": ("boat", "use", "water", "since", "place", "also"),
    "engines": (
        "engine", "boat", "family", "hp", "stroke", "year", "meter", "digits", "steering",
        "litres_hour", "rules", "without", "since", "reading", "new", "also",
    ),
    "log": (
        "on", "event", "engine", "boat", "task", "part", "reading", "hours", "fuel", "water",
        "condition", "count", "component", "other", "old_reading", "until", "item", "cost", "by",
        "note",
    ),
}  # fmt: skip

# The order in which entries of one day happened; the rest of the events move no figure.
_WITHIN_A_DAY = (
    "meter", "move", "store", "mount", "swap", "lay-up", "launch", "run", "reading", "finding",
    "incident", "job",
)  # fmt: skip
_BLANK = {name: dict.fromkeys(columns, "") for name, columns in COLUMNS.items()}

Row = dict[str, str]
Tables = dict[str, list[Row]]


def figure(tenths: int) -> str:
    """A meter's figure or a time run, given in whole tenths of an hour."""
    return f"{tenths // 10}.{tenths % 10}"


def row(table: str, **cells: str) -> Row:
    """A row with every column of its table, blank where nothing is given.

    A column the table does not have raises KeyError.
    """
    made = _BLANK[table].copy()
    for column, value in cells.items():
        if column not in made:
            raise KeyError(f"{table} has no column {column}")
        made[column] = value
    return made


def settings_rows(**values: str) -> list[Row]:
    """The settings table."""
    return [row("settings", name=name, value=value) for name, value in values.items()]


def last_as_jobs(tables: Tables) -> Tables:
    """The same fleet with its `last:TASK` columns written as jobs at the head of the log."""
    jobs, engines = [], []
    for engine in tables["engines"]:
        engines.append({column: engine[column] for column in COLUMNS["engines"]})
        for column, cell in engine.items():
            if column.startswith("last:") and cell:
                on, _, reading = cell.partition("@")
                task = column.removeprefix("last:")
                name = engine["engine"]
                jobs.append(row("log", on=on, event="job", engine=name, task=task, reading=reading))
    return {**tables, "engines": engines, "log": jobs + tables["log"]}


def days(first: date, last: date) -> list[date]:
    """The days from `first` to `last`, both included."""
    return [first + timedelta(n) for n in range((last - first).days + 1)]


class Dice:
    """Chance from one seed, drawn through `random()` alone, which Python keeps stable."""

    def __init__(self, seed: int | str) -> None:
        self._draw = random.Random(seed).random

    def chance(self, likely: float) -> bool:
        """Whether something this likely happens."""
        return self._draw() < likely

    def between(self, low: int, high: int) -> int:
        """A whole number from `low` to `high`, both included."""
        return low + int(self._draw() * (high - low + 1))

    def outing(self, low: int, high: int) -> int:
        """Tenths of an hour between `low` and `high`, short ones more often than long ones."""
        return low + int(min(self._draw(), self._draw()) * (high - low + 1))

    def of(self, choices: tuple[str, ...]) -> str:
        """One of the choices, all equally likely."""
        return choices[self.between(0, len(choices) - 1)]


@dataclass(slots=True)
class Book:
    """The log as it grows; `rows` gives it by date and by the order within a day."""

    _lines: list[tuple[date, int, int, Row]] = field(default_factory=list)

    def write(self, on: date, event: str, **cells: str) -> None:
        """Add one entry of the day `on`."""
        rank = _WITHIN_A_DAY.index(event) if event in _WITHIN_A_DAY else len(_WITHIN_A_DAY)
        line = row("log", on=on.isoformat(), event=event, **cells)
        self._lines.append((on, rank, len(self._lines), line))

    def rows(self) -> list[Row]:
        """The entries in order, earliest first; equal ones as they were written."""
        return [line for *_, line in sorted(self._lines, key=lambda one: one[:3])]


def as_csv(table: str, rows: list[Row]) -> bytes:
    """The table as UTF-8 text with commas, CRLF and a header row."""
    header = list(COLUMNS[table])
    for one in rows[:1]:
        header += [column for column in one if column not in header]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, header, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode("utf-8")


def write_tables(tables: Tables, folder: Path) -> None:
    """Write each table to `folder` as TABLE.csv, over what is there."""
    folder.mkdir(parents=True, exist_ok=True)
    for table, rows in tables.items():
        (folder / f"{table}.csv").write_bytes(as_csv(table, rows))
