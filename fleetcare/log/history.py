"""The history of a fleet as of a day: columns per engine, ready for the arithmetic.

Readings and runs come by the hundred thousand, so they are parallel lists of numbers (day
ordinals, hundredths of an hour, water codes) and not records; the rest are short tuples.
Entries dated after `as_of` are not in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import NamedTuple, assert_never

from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.order import EVENTS, in_order

NOT_NAMED = -1

Change = (
    kinds.Move
    | kinds.Mount
    | kinds.Store
    | kinds.Swap
    | kinds.MeterChange
    | kinds.LayUp
    | kinds.Launch
    | kinds.Retire
    | kinds.Delivery
    | kinds.Count
)


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

    def add(self, entry: Entry, with_figure: bool = True) -> None:
        """Take one entry; without its meter's figure when that was taken already."""
        day = entry.on.toordinal()
        reading = getattr(entry, "reading", None) if with_figure else None
        if reading is not None:
            log = self.of(entry.engine)  # type: ignore[union-attr]  # what has a reading has one
            log.figure_days.append(day)
            log.figures.append(reading)
        match entry:
            case kinds.Run():
                self._add_run(day, entry)
            case kinds.Job():
                self._add_job(day, entry)
            case kinds.Finding():
                self.of(entry.engine).seen.append(
                    Seen(day, entry.number, entry.part, entry.condition, entry.count, "", entry.by)
                )
            case kinds.Incident():
                self.of(entry.engine).incidents.append((day, entry.kind))
            case kinds.Reading():
                pass
            case kinds.PutOff():
                self.of(entry.engine).put_offs.append(
                    Postponed(day, entry.number, entry.task, entry.until.toordinal(), entry.note)
                )
            case _:
                self._add_change(day, entry)

    def _add_run(self, day: int, run: kinds.Run) -> None:
        log = self.of(run.engine)
        water = NOT_NAMED if run.water is None else int(run.water)
        if run.fuel is not None:
            log.fuel_runs.append((day, run.fuel, water))
        elif run.hours is not None:
            log.run_days.append(day)
            log.run_hours.append(run.hours)
            log.run_waters.append(water)

    def _add_job(self, day: int, job: kinds.Job) -> None:
        log = self.of(job.engine)
        log.jobs.setdefault(job.task, []).append(JobMark(day, job.reading, job.number))
        if job.condition:
            log.seen.append(
                Seen(day, job.number, job.part, job.condition, job.count, job.task, job.by)
            )

    def _add_change(self, day: int, entry: Change) -> None:
        match entry:
            case kinds.Move():
                self.moves.setdefault(entry.boat, []).append((day, int(entry.water)))
            case kinds.Mount():
                self.of(entry.engine).places.append((day, entry.boat))
            case kinds.Store():
                self.of(entry.engine).places.append((day, None))
            case kinds.Swap():
                self.swaps.append(
                    Exchange(day, entry.engine, entry.other, entry.component, entry.number)
                )
            case kinds.MeterChange():
                self.of(entry.engine).meters.append(Meter(day, entry.old, entry.new))
            case kinds.LayUp() | kinds.Launch():
                self.of(entry.engine).seasons.append((day, EVENTS[type(entry)]))
            case kinds.Retire():
                self._retire(day, entry)
            case kinds.Delivery() | kinds.Count():
                pass  # the shelf is not part of any clock
            case _:
                assert_never(entry)

    def _retire(self, day: int, entry: kinds.Retire) -> None:
        if entry.engine:
            self.of(entry.engine).retired = day
        else:
            self.boats_retired[entry.boat] = day


def history(entries: Iterable[Entry], as_of: date) -> History:
    """The history out of entries dated on or before `as_of`."""
    told = History()
    for entry in in_order(entry for entry in entries if entry.on <= as_of):
        told.add(entry)
    told.sort()
    return told


def hours_from_fuel(fuel: int, burn: Fraction) -> Fraction:
    """Hundredths of an hour out of hundredths of a litre and litres an hour."""
    return Fraction(fuel) / burn
