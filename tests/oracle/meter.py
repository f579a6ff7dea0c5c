"""Engine hours: an hour meter's figures with the steps of stopped and new meters taken out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

from tests.oracle.given import Engine, Entry

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Interval:
    """The days after `after` up to `to`, between two closes of one meter."""

    after: date
    to: date
    hours: Fraction
    stopped: bool  # the meter stopped on the last day: the runs of that day come after it

    def explains(self, day: date) -> bool:
        """Whether the runs of a day are among the hours of this interval."""
        return self.after < day < self.to or (day == self.to and not self.stopped)


@dataclass(slots=True)
class MeterLine:
    """The closes so far, and the engine hours of each figure."""

    at: date  # the day of the last close
    hours: Fraction  # engine hours at that close
    offset: Fraction | None  # what makes a figure of the meter in place engine hours; no meter
    previous: Fraction  # the meter's last figure on an earlier day
    closes: dict[date, Fraction] = field(default_factory=dict)
    figures: dict[tuple[date, Fraction], Fraction] = field(default_factory=dict)
    intervals: list[Interval] = field(default_factory=list)

    def close(self, day: date, hours: Fraction, stopped: bool = False) -> None:
        if day > self.at:
            self.intervals.append(Interval(self.at, day, hours - self.hours, stopped))
        self.at, self.hours = day, hours
        self.closes[day] = hours


def meter_line(
    own: Engine, entries: list[Entry], runs_between: Callable[[date, date], Fraction]
) -> MeterLine:
    """Walk the days that have figures. A figure where there is no meter is a ValueError."""
    if own.meter:
        line = MeterLine(own.since, own.reading, Fraction(0), previous=own.reading)
        line.closes[own.since] = own.reading
    else:
        line = MeterLine(own.since - ONE_DAY, Fraction(0), None, previous=Fraction(0))
    days = {entry.on for entry in entries if entry.event == "meter" or entry.reading is not None}
    for day in sorted(days):
        today = [entry for entry in entries if entry.on == day]
        read = [e.reading for e in today if e.event != "meter" and e.reading is not None]
        if own.meter and day == own.since:
            read.append(own.reading)
        change = next((entry for entry in today if entry.event == "meter"), None)
        if change is not None and change.old_reading is None:
            fit(line, own, change, runs_between)
            change = None
        if change is None:
            ordinary(line, day, read)
        elif change.reading is None:
            stop(line, change, read, runs_between(day, day))
        else:
            replace(line, change, read)
    return line


def fit(
    line: MeterLine, own: Engine, change: Entry, runs_between: Callable[[date, date], Fraction]
) -> None:
    """A new meter where there was none: as if read at the close of the day before."""
    if line.offset is not None or change.reading is None:
        raise ValueError(f"{own.name}: no meter can be fitted on {change.on}")
    before = max(own.since, change.on - ONE_DAY)
    line.hours += runs_between(line.at + ONE_DAY, before)
    line.at = before
    line.closes[before] = line.hours
    line.offset, line.previous = line.hours - change.reading, change.reading


def ordinary(line: MeterLine, day: date, read: list[Fraction]) -> None:
    """A day of one meter: the highest figure is the close."""
    if read:
        if line.offset is None:
            raise ValueError(f"a figure without a meter on {day}")
        for figure in read:
            line.figures[day, figure] = figure + line.offset
        line.close(day, max(read) + line.offset)
        line.previous = max(read)


def stop(line: MeterLine, change: Entry, read: list[Fraction], runs: Fraction) -> None:
    """The meter's last figure; the runs of the day come after it, in full."""
    assert line.offset is not None and change.old_reading is not None
    for figure in read:
        line.figures[change.on, figure] = figure + line.offset
    line.close(change.on, change.old_reading + line.offset, stopped=True)
    line.hours += runs
    line.closes[change.on] = line.hours
    line.offset = None


def replace(line: MeterLine, change: Entry, read: list[Fraction]) -> None:
    """Another meter, or the same one past its highest figure: both figures are one moment."""
    assert line.offset is not None and change.old_reading is not None and change.reading is not None
    old, new = change.old_reading, change.reading
    hours = old + line.offset
    olds = [figure for figure in read if line.previous <= figure <= old]
    news = [figure for figure in read if figure not in olds]
    for figure in olds:
        line.figures[change.on, figure] = figure + line.offset
    line.offset = hours - new
    for figure in news:
        line.figures[change.on, figure] = figure + line.offset
    line.close(change.on, max([hours, *(figure + line.offset for figure in news)]))
    line.previous = max([new, *news])
