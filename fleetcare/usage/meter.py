"""From figures on meters to engine hours: the steps of new meters taken out.

A metered engine's hours are known at the close of each day with a figure; between two such
closes they are worked out (see `hours.py`). Where the meter was replaced or rolled over the
hours go on without a step; from the day it stopped until another is fitted the engine has its
runs, in full.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import accumulate

from fleetcare.fleet.engines import Engine
from fleetcare.log.history import EngineLog, Meter
from fleetcare.usage.places import NEVER

Hours = int | Fraction


@dataclass(slots=True)
class Closes:
    """Engine hours at the close of days: `days[i]` ended at `hours[i]`.

    `stops` holds the index of a close whose day's own runs came after the meter stopped, with the
    hours at which it stopped. `unmetered` are (day, day) pairs in which runs count in full
    because no meter ran: after the first day, through the second. `changes` holds each meter
    entry with what is added to a figure before it and after it, `previous` the last figure read
    before each.
    """

    days: list[int]
    hours: list[Hours]
    stops: dict[int, Hours] = field(default_factory=dict)
    unmetered: list[tuple[int, int]] = field(default_factory=list)
    changes: list[tuple[Meter, Hours, Hours | None]] = field(default_factory=list)
    previous: list[int] = field(default_factory=list)

    def figure(self, day: int, figure: int) -> Hours:
        """Engine hours for a figure read on a day, whichever meter it was on."""
        offset: Hours = 0
        for (meter, before, after), last in zip(self.changes, self.previous, strict=True):
            if meter.day > day:
                return figure + before
            offset = before if after is None else after
            if meter.day == day and meter.old is not None and last <= figure <= meter.old:
                return figure + before
        return figure + offset


def closes_of(
    engine: Engine, log: EngineLog, run_days: list[int], run_hours: list[Hours]
) -> Closes:
    """The engine's closes out of its figures, meter entries and runs (in order of days)."""
    since = engine.since.toordinal()
    start = bisect_left(log.figure_days, since)
    days, figures = log.figure_days[start:], log.figures[start:]
    if not log.meters and engine.meter:
        return _one_meter(since, engine.reading or 0, days, figures)
    if not log.meters:
        return Closes([since - 1], [0], unmetered=[(since - 1, NEVER)])
    return _Meters(engine, since, days, figures, log.meters, run_days, run_hours).closes()


def _one_meter(since: int, reading: int, days: list[int], figures: list[int]) -> Closes:
    if not days or (days[0] > since and len(set(days)) == len(days)):
        return Closes([since, *days], [reading, *figures])
    out_days, out = [since], [reading]
    for day, figure in zip(days, figures, strict=True):
        if day == out_days[-1]:
            out[-1] = max(out[-1], figure)
        else:
            out_days.append(day)
            out.append(figure)
    return Closes(out_days, list(out))


class _Meters:
    """The walk along an engine's meters when there was more than one, or a time without."""

    def __init__(
        self,
        engine: Engine,
        since: int,
        days: list[int],
        figures: list[int],
        meters: list[Meter],
        run_days: list[int],
        run_hours: list[Hours],
    ) -> None:
        self.since, self.days, self.figures, self.meters = since, days, figures, meters
        self.run_days = run_days
        self.run_sums: list[Hours] = list(accumulate(run_hours, initial=0))
        self.out = Closes([], [])
        self.offset: Hours = 0
        self.metered = engine.meter
        self.unmetered_since = since - 1
        self.last_figure = engine.reading or 0
        if engine.meter:
            self._close(since, self.last_figure)
        else:
            self._close(since - 1, 0)

    def _runs(self, after: int, through: int) -> Hours:
        """Sum of the runs on days after the first, through the second."""
        upper = bisect_right(self.run_days, through)
        lower = bisect_right(self.run_days, after)
        return self.run_sums[upper] - self.run_sums[lower]

    def _close(self, day: int, hours: Hours) -> None:
        if self.out.days and self.out.days[-1] == day:
            self.out.hours[-1] = max(self.out.hours[-1], hours)
        else:
            self.out.days.append(day)
            self.out.hours.append(hours)

    def _hours_now(self, through: int) -> Hours:
        """Engine hours at the close of a day in a time without a meter."""
        return self.out.hours[-1] + self._runs(self.out.days[-1], through)

    def closes(self) -> Closes:
        at = 0
        for meter in self.meters:
            end = bisect_left(self.days, meter.day)
            for i in range(at, end):
                self._figure(self.days[i], self.figures[i])
            at = bisect_right(self.days, meter.day)
            self._change(meter, self.figures[end:at])
        for i in range(at, len(self.days)):
            self._figure(self.days[i], self.figures[i])
        if not self.metered:
            self.out.unmetered.append((self.unmetered_since, NEVER))
        return self.out

    def _figure(self, day: int, figure: int) -> None:
        self.last_figure = max(self.last_figure, figure)
        self._close(day, self.offset + figure)

    def _change(self, meter: Meter, figures: list[int]) -> None:
        previous, before = self.last_figure, self.offset
        self.out.previous.append(previous)
        olds: list[int] = []
        if meter.old is not None:
            olds = [figure for figure in figures if previous <= figure <= meter.old]
            for figure in (*olds, meter.old):
                self._close(meter.day, before + figure)
        if meter.new is None:
            self._stop(meter, before)
        else:
            self._fit(meter, before)
            for figure in (figure for figure in figures if figure not in olds):
                self._figure(meter.day, figure)

    def _stop(self, meter: Meter, before: Hours) -> None:
        stopped_at = self.out.hours[-1]
        if len(self.out.days) > 1:
            self.out.stops[len(self.out.days) - 1] = stopped_at
            self.out.hours[-1] = stopped_at + self._runs(meter.day - 1, meter.day)
        self.metered, self.unmetered_since = False, meter.day
        self.out.changes.append((meter, before, None))

    def _fit(self, meter: Meter, before: Hours) -> None:
        new = meter.new or 0
        if meter.old is not None:
            self.offset = before + meter.old - new
        else:
            day = max(meter.day - 1, self.since)
            hours = self._hours_now(day)
            self.out.unmetered.append((self.unmetered_since, day))
            if self.out.days[-1] < day:
                self._close(day, hours)
            self.offset = hours - new
        self.metered, self.last_figure = True, new
        self.out.changes.append((meter, before, self.offset))
