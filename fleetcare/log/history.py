"""The history of a fleet as of a day: columns per engine, ready for the arithmetic.

Readings and runs come by the hundred thousand, so they are parallel lists of numbers (day
ordinals, hundredths of an hour, water codes) and not records; the rest are short tuples.
Entries dated after `as_of` are not in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from fleetcare.log.entries import Entry

NOT_NAMED = -1


class JobMark(NamedTuple):
    """A job as a clock sees it: its day, the figure given with it, the entry's number."""

    day: int
    reading: int | None
    number: int


class Meter(NamedTuple):
    """A meter entry: its day, the old one's last figure, the new one's first."""

    day: int
    old: int | None
    new: int | None


class Exchange(NamedTuple):
    """A swap: its day, the two engines, the component they exchanged, the entry's number."""

    day: int
    engine: str
    other: str
    component: str
    number: int


class Postponed(NamedTuple):
    """A put-off: its day, entry number, task, the day it ends, and why."""

    day: int
    number: int
    task: str
    until: int
    because: str


class Seen(NamedTuple):
    """A condition recorded, alone or with a job."""

    day: int
    number: int
    part: str
    condition: str
    pieces: int | None
    task: str
    by: str


@dataclass(slots=True)
class EngineLog:
    """One engine's entries as columns, each sorted by day."""

    figure_days: list[int] = field(default_factory=list)
    figures: list[int] = field(default_factory=list)
    run_days: list[int] = field(default_factory=list)
    run_hours: list[int] = field(default_factory=list)
    run_waters: list[int] = field(default_factory=list)
    fuel_runs: list[tuple[int, int, int]] = field(default_factory=list)
    meters: list[Meter] = field(default_factory=list)
    jobs: dict[str, list[JobMark]] = field(default_factory=dict)
    seen: list[Seen] = field(default_factory=list)
    incidents: list[tuple[int, str]] = field(default_factory=list)
    places: list[tuple[int, str | None]] = field(default_factory=list)
    seasons: list[tuple[int, str]] = field(default_factory=list)
    put_offs: list[Postponed] = field(default_factory=list)
    retired: int | None = None

    def sort(self) -> None:
        """Put the columns in order of days; of one day, in the order given."""
        self.figure_days, self.figures = _by_day(self.figure_days, self.figures)
        if self.run_days != sorted(self.run_days):
            rows = sorted(
                zip(self.run_days, self.run_hours, self.run_waters, strict=True),
                key=lambda row: row[0],
            )
            self.run_days = [row[0] for row in rows]
            self.run_hours = [row[1] for row in rows]
            self.run_waters = [row[2] for row in rows]
        self.fuel_runs.sort(key=lambda run: run[0])
        self.meters.sort(key=lambda meter: meter.day)
        for marks in self.jobs.values():
            marks.sort(key=lambda mark: mark.day)
        self.seen.sort(key=lambda seen: (seen.day, seen.number))
        self.put_offs.sort(key=lambda put_off: (put_off.day, put_off.number))
        self.incidents.sort()
        self.places.sort(key=lambda place: (place[0], place[1] is not None))  # store, then mount
        self.seasons.sort(key=lambda mark: (mark[0], mark[1] == "launch"))


def _by_day(days: list[int], values: list[int]) -> tuple[list[int], list[int]]:
    if days == sorted(days):
        return days, values
    rows = sorted(zip(days, values, strict=True), key=lambda row: row[0])
    return [row[0] for row in rows], [row[1] for row in rows]


@dataclass(slots=True)
class History:
    """What happened to every engine and boat up to a day."""

    engines: dict[str, EngineLog] = field(default_factory=dict)
    moves: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    swaps: list[Exchange] = field(default_factory=list)
    boats_retired: dict[str, int] = field(default_factory=dict)

    def of(self, engine: str) -> EngineLog:
        """The engine's columns; made empty when nothing was logged of it."""
        log = self.engines.get(engine)
        if log is None:
            log = self.engines[engine] = EngineLog()
        return log

    def sort(self) -> None:
        """Put every column in order; call once after the last entry was added."""
        for log in self.engines.values():
            log.sort()
        self.swaps.sort(key=lambda swap: (swap.day, swap.number))
        for moves in self.moves.values():
            moves.sort()

    def add(self, entry: Entry) -> None:
        """Take one entry."""
        from fleetcare.log.rows import to_row

        row = to_row(entry)
        reading = row.get("reading")
        if reading is not None and row["event"] != "meter":
            log = self.of(row["engine"])
            log.figure_days.append(entry.on.toordinal())
            log.figures.append(reading)
        if "until" in row:
            row["until"] = row["until"].toordinal()
        self.tell(row["event"], entry.on.toordinal(), entry.number, row)

    def tell(self, event: str, day: int, number: int, row: Mapping[str, Any]) -> None:
        """Take what happened out of a row of values, its meter's figure apart.

        Values are as in `log/rows.py`, the day of `until` an ordinal; columns may be missing.
        """
        _TELLERS[event](self, day, number, row)


def _run(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    log, water = told.of(row["engine"]), row.get("water")
    water = NOT_NAMED if water is None else int(water)
    if row.get("fuel") is not None:
        log.fuel_runs.append((day, row["fuel"], water))
    elif row.get("hours") is not None:
        log.run_days.append(day)
        log.run_hours.append(row["hours"])
        log.run_waters.append(water)


def _job(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    log = told.of(row["engine"])
    log.jobs.setdefault(row["task"], []).append(JobMark(day, row.get("reading"), number))
    if row.get("condition"):
        _finding(told, day, number, row)


def _finding(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).seen.append(
        Seen(
            day, number, row.get("part") or "", row["condition"], row.get("count"),
            row.get("task") or "", row.get("by") or "",
        )
    )  # fmt: skip


def _incident(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).incidents.append((day, row["condition"]))


def _put_off(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).put_offs.append(
        Postponed(day, number, row["task"], row["until"], row.get("note") or "")
    )


def _move(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.moves.setdefault(row["boat"], []).append((day, int(row["water"])))


def _mount(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).places.append((day, row["boat"]))


def _store(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).places.append((day, None))


def _swap(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.swaps.append(Exchange(day, row["engine"], row["other"], row["component"], number))


def _meter(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).meters.append(Meter(day, row.get("old_reading"), row.get("reading")))


def _season(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    told.of(row["engine"]).seasons.append((day, row["event"]))


def _retire(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    if row.get("engine"):
        told.of(row["engine"]).retired = day
    else:
        told.boats_retired[row["boat"]] = day


def _nothing(told: History, day: int, number: int, row: Mapping[str, Any]) -> None:
    """A reading is its figure, and the shelf is not part of any clock."""


_TELLERS: Mapping[str, Callable[[History, int, int, Mapping[str, Any]], None]] = {
    "run": _run, "job": _job, "finding": _finding, "incident": _incident, "put-off": _put_off,
    "move": _move, "mount": _mount, "store": _store, "swap": _swap, "meter": _meter,
    "lay-up": _season, "launch": _season, "retire": _retire, "reading": _nothing,
    "delivery": _nothing, "count": _nothing,
}  # fmt: skip


def history(entries: Iterable[Entry], as_of: date) -> History:
    """The history out of entries dated on or before `as_of`."""
    from fleetcare.log.order import in_order

    told = History()
    for entry in in_order(entry for entry in entries if entry.on <= as_of):
        told.add(entry)
    told.sort()
    return told


def hours_from_fuel(fuel: int, burn: Fraction) -> Fraction:
    """Hundredths of an hour out of hundredths of a litre and litres an hour."""
    return Fraction(fuel) / burn
