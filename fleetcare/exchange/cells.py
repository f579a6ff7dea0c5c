"""Cells to records, and records to cells: one row of each of the four tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet import figures
from fleetcare.fleet.boats import USES, Boat
from fleetcare.fleet.days import day
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.names import did_you_mean, tidy, wrong_with, wrong_with_text
from fleetcare.fleet.waters import WORDS, water_of
from fleetcare.log.entries import Entry, Job
from fleetcare.log.rows import COLUMNS, from_row, to_row

SETTINGS = ("name", "value")
BOATS = ("boat", "use", "water", "since", "place", "also")
ENGINES = (
    "engine", "boat", "family", "hp", "stroke", "year", "meter", "digits", "steering",
    "litres_hour", "rules", "without", "since", "reading", "new", "also",
)  # fmt: skip
LOG = COLUMNS
TABLES: Mapping[str, tuple[str, ...]] = {
    "settings": SETTINGS, "boats": BOATS, "engines": ENGINES, "log": LOG
}  # fmt: skip
LAST = "last:"


def table_of(head: list[str]) -> str | None:
    """Which of the four tables a heading row belongs to."""
    for table, columns in TABLES.items():
        names = {name for name in head if table != "engines" or not name.startswith(LAST)}
        if names <= set(columns) and names & {*columns[:2]} and _keys(table) <= names:
            return table
    return None


def _keys(table: str) -> set[str]:
    return {
        "settings": {"name", "value"},
        "boats": {"boat", "use"},
        "engines": {"engine", "since"},
        "log": {"on", "event"},
    }[table]


class Bad(Exception):
    """A cell that cannot be taken; carries the fault up to the row."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


def _take(value: Any) -> Any:
    if isinstance(value, Fault):
        raise Bad(value)
    return value


def _name(cells: Mapping[str, str], column: str) -> str:
    text = tidy(cells.get(column, ""))
    wrong = wrong_with(text)
    if wrong:
        raise Bad(Fault(column, wrong))
    return text


def _kept(cells: Mapping[str, str], column: str) -> str:
    """A short text that is no name."""
    text = tidy(cells.get(column, ""))
    wrong = wrong_with_text(text)
    if wrong:
        raise Bad(Fault(column, wrong))
    return text


def _names(cells: Mapping[str, str], column: str) -> tuple[str, ...]:
    return tuple(tidy(item) for item in cells.get(column, "").split(";") if item.strip())


def _one_of(cells: Mapping[str, str], column: str, words: tuple[str, ...]) -> str:
    text = cells.get(column, "").strip().lower()
    if text not in words:
        near = did_you_mean(text, words) or f"One of {', '.join(words)}"
        raise Bad(Fault(column, f'"{text}" is not taken', near))
    return text


def _yes(cells: Mapping[str, str], column: str, default: bool) -> bool:
    text = cells.get(column, "").strip().lower()
    if not text:
        return default
    if text not in ("yes", "no"):
        raise Bad(Fault(column, f'is yes or no, not "{text}"'))
    return text == "yes"


def _maybe(cells: Mapping[str, str], column: str, read: Callable[[str, str], Any]) -> Any:
    text = cells.get(column, "").strip()
    return _take(read(text, column)) if text else None


def boat(cells: Mapping[str, str]) -> Boat | Fault:
    """A boat out of its row."""
    try:
        return Boat(
            _name(cells, "boat"),
            _one_of(cells, "use", USES),
            _take(water_of(_one_of(cells, "water", WORDS))),
            _take(day(cells.get("since", ""), "since")),
            _kept(cells, "place"),
            _names(cells, "also"),
        )
    except Bad as bad:
        return bad.fault


def engine(cells: Mapping[str, str]) -> Engine | Fault:
    """An engine out of its row."""
    try:
        meter, new = _yes(cells, "meter", True), _yes(cells, "new", False)
        reading = _maybe(cells, "reading", figures.hours)
        if meter and reading is None:
            if not new:
                raise Bad(Fault("reading", "is needed: the meter on since, of an engine not new"))
            reading = 0
        if not meter and reading is not None:
            raise Bad(Fault("reading", "is given for an engine without a meter"))
        name, also = _name(cells, "engine"), _names(cells, "also")
        steering = cells.get("steering", "").strip().lower()
        if steering not in ("", "tiller", "remote"):
            raise Bad(Fault("steering", f'is tiller or remote, not "{steering}"'))
        stroke = _maybe(cells, "stroke", figures.count)
        if stroke not in (None, 2, 4):
            raise Bad(Fault("stroke", f"is 2 or 4, not {stroke}"))
        return Engine(
            name=name,
            first=also[0] if also else name,
            boat=tidy(cells.get("boat", "")) or None,
            family=_kept(cells, "family"),
            hp=_positive(cells, "hp", 2),
            stroke=stroke,
            year=_maybe(cells, "year", figures.count),
            meter=meter,
            digits=_digits(cells),
            steering=steering,
            litres_hour=_positive(cells, "litres_hour", 3),
            rules=_kept(cells, "rules"),
            without=_names(cells, "without"),
            since=_take(day(cells.get("since", ""), "since")),
            reading=reading,
            new=new,
            also=tuple(item for item in also if item != name),
        )
    except Bad as bad:
        return bad.fault


def _positive(cells: Mapping[str, str], column: str, decimals: int) -> Fraction | None:
    value: Fraction | None = _maybe(
        cells, column, lambda text, what: figures.number(text, what, decimals)
    )
    if value is not None and value <= 0:
        raise Bad(Fault(column, "must be above 0"))
    return value


def _digits(cells: Mapping[str, str]) -> int | None:
    digits: int | None = _maybe(cells, "digits", figures.count)
    if digits is not None and not 2 <= digits <= 9:
        raise Bad(Fault("digits", f"of a meter are 2 to 9, not {digits}"))
    return digits


def last_jobs(cells: Mapping[str, str], name: str) -> list[Job] | Fault:
    """What `last:TASK` cells say was last done: DATE, or DATE@READING."""
    jobs = []
    for column, text in cells.items():
        if column.startswith(LAST) and text.strip():
            job = last_job(name, column.removeprefix(LAST).strip(), text, column)
            if isinstance(job, Fault):
                return job
            jobs.append(job)
    return jobs


def last_job(name: str, task: str, text: str, what: str) -> Job | Fault:
    """A job known from the past out of DATE or DATE@READING."""
    when, at, reading = text.partition("@")
    on = day(when, what)
    if isinstance(on, Fault):
        return on
    figure = figures.hours(reading, what) if at else None
    if isinstance(figure, Fault):
        return figure
    return Job(on=on, engine=name, task=task, reading=figure)


_READERS: Mapping[str, Callable[[str, str], Any]] = {
    "on": day,
    "until": day,
    "reading": figures.hours,
    "hours": figures.hours,
    "old_reading": figures.hours,
    "count": figures.count,
    "cost": figures.hours,
    "fuel": figures.hours,
}


def entry(cells: Mapping[str, str]) -> Entry | Fault:
    """An entry out of its row; engines, boats, tasks and words are still as written."""
    values: dict[str, Any] = {}
    for column in LOG:
        text = cells.get(column, "").strip()
        if not text:
            continue
        if column in _READERS:
            value = _READERS[column](text, column)
        elif column == "water":
            value = water_of(text)
            if value is None:
                value = Fault(column, f'"{text}" is no water', f"One of {', '.join(WORDS)}")
        else:
            value = tidy(text) if column != "note" else text
            wrong = wrong_with_text(value, is_note=column == "note")
            value = Fault(column, wrong) if wrong else value
        if isinstance(value, Fault):
            return value
        values[column] = value
    if "on" not in values:
        return Fault("on", "is empty, and every entry needs its day")
    return from_row(values)


# -- the way out --------------------------------------------------------------------------------


def boat_cells(item: Boat) -> list[str]:
    """A boat's row."""
    return [
        item.name, item.use, item.water.word, item.since.isoformat(), item.place,
        ";".join(item.also),
    ]  # fmt: skip


def engine_cells(item: Engine) -> list[str]:
    """An engine's row; its first name stands first in `also` as soon as it has another."""
    others = [name for name in item.also if name != item.first_name]
    also = [item.first_name, *others] if item.also or item.first_name != item.name else []
    return [
        item.name, item.boat or "", item.family, _plain(item.hp), _text(item.stroke),
        _text(item.year), "yes" if item.meter else "no", _text(item.digits), item.steering,
        _plain(item.litres_hour), item.rules, ";".join(item.without), item.since.isoformat(),
        "" if item.reading is None else figures.shown(item.reading),
        "yes" if item.new else "no", ";".join(also),
    ]  # fmt: skip


def entry_cells(item: Entry) -> list[str]:
    """An entry's row."""
    row = to_row(item)
    cells = []
    for column in LOG:
        value = row.get(column)
        if value is None:
            cells.append("")
        elif column in ("reading", "hours", "fuel", "old_reading", "cost"):
            cells.append(figures.shown(value))
        elif column == "water":
            cells.append(WORDS[value])
        elif isinstance(value, date):
            cells.append(value.isoformat())
        else:
            cells.append(str(value))
    return cells


def _text(value: int | None) -> str:
    return "" if value is None else str(value)


def _plain(value: Fraction | None) -> str:
    return "" if value is None else f"{float(value):.3f}".rstrip("0").rstrip(".")
