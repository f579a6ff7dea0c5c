"""The clock of a rule on a component: when it started, and the hours since.

A clock starts at the latest of the rule's last job on the component and the close of the day a
component known to be new was fitted. Without either there is no record, and what is counted is a
floor from the day the fleet first knew the component.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.log.history import JobMark
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.hours import NO_HOURS, Mix, in_water, plus
from fleetcare.usage.meter import Hours


@dataclass(frozen=True, slots=True)
class Clock:
    """From when hours and days count.

    `start` is the day months count from; all hours of days from `counts_from` on count, and
    `part` before them: the rest of the day of a job that came with a reading. `earlier` is hours
    between a job's reading and the one on the day the engine became known, spread evenly.
    """

    component: ComponentUse
    start: int
    counts_from: int
    is_start: bool
    job: JobMark | None = None
    job_engine: str = ""
    part: Mix = NO_HOURS
    earlier: Hours = 0
    new: bool = False
    last_job: int | None = None
    unknown_before: bool = False

    def mix(self, day: int, known: int) -> Mix:
        """Hours by water since the start, at the close of a day, from what was known by a day."""
        mix = (
            self.component.mix(self.counts_from, day, known)
            if day >= self.counts_from
            else NO_HOURS
        )
        if self.part is not NO_HOURS:
            mix = plus(mix, self.part)
        if self.earlier:
            mix = plus(mix, self._earlier_by(day, known))
        return mix

    def _earlier_by(self, day: int, known: int) -> Mix:
        since = self.component.known_from
        if known < since:
            return NO_HOURS
        share = Fraction(min(day, since) - self.start, since - self.start)
        return in_water(self.component.water_on(since), self.earlier * max(share, Fraction(0)))


def clock_of(carriage: Carriage, component: ComponentUse, tasks: tuple[str, ...]) -> Clock:
    """The clock on a component that jobs of these tasks start."""
    known = component.known_from
    own = carriage.known[carriage.name_of(component.component.engine)]
    found = _last_job(carriage, component, tasks)
    if own.new and (found is None or found[1].day < known):
        last_job = found[1].day if found else None
        return Clock(component, known, known + 1, is_start=True, new=True, last_job=last_job)
    if found is None:
        return Clock(component, known, known + 1, is_start=False)
    engine, mark = found
    if mark.day < known:
        reading = carriage.uses[own.name].closes.hours[0] if own.meter else None
        return _from_before(component, engine, mark, reading)
    return _from_job(component, engine, mark, carriage.as_of)


def _from_before(
    component: ComponentUse, engine: str, mark: JobMark, reading: Hours | None
) -> Clock:
    """A clock that a job from before the engine was known started."""
    known = component.known_from
    has_reading = mark.reading is not None and reading is not None
    earlier = (reading or 0) - (mark.reading or 0) if has_reading else 0
    return Clock(
        component, mark.day, known + 1, is_start=True, job=mark, job_engine=engine,
        earlier=max(0, earlier), unknown_before=not has_reading, last_job=mark.day,
    )  # fmt: skip


def _from_job(component: ComponentUse, engine: str, mark: JobMark, as_of: int) -> Clock:
    """A clock that a job started while the engine was known."""
    day = mark.day
    if mark.reading is None:
        return Clock(component, day, day, is_start=True, job=mark, job_engine=engine, last_job=day)
    use = component.span_on(day).use
    after = use.hours_to(day, as_of) - use.closes.figure(day, mark.reading)
    part = NO_HOURS
    if after:
        of_day = component.mix(day, day, as_of)
        ran = of_day[0] + of_day[1] + of_day[2]
        if not ran:
            water = use.water_on(day) if day == use.since else use.home.on(day)
            part = in_water(water, after)
        elif use.only_water is not None:
            part = in_water(use.only_water, after)
        else:
            share = Fraction(after) / ran
            likely = min(Fraction(1), share)
            part = (
                of_day[0] * share, of_day[1] * share, of_day[2] * share,
                of_day[3] * likely, of_day[4] * likely, of_day[5] * likely,
            )  # fmt: skip
    return Clock(
        component, day, day + 1, is_start=True, job=mark, job_engine=engine, part=part,
        last_job=day,
    )  # fmt: skip


def _last_job(
    carriage: Carriage, component: ComponentUse, tasks: tuple[str, ...]
) -> tuple[str, JobMark] | None:
    """The last job of these tasks on the component, with the engine it was done on."""
    for span in reversed(component.spans):
        found = _last_within(carriage, span.engine, tasks, span.first, span.last)
        if found is not None:
            return span.engine, found
    own = carriage.name_of(component.component.engine)
    found = _last_within(carriage, own, tasks, 0, component.known_from - 1)
    return None if found is None else (own, found)


def _last_within(
    carriage: Carriage, engine: str, tasks: tuple[str, ...], first: int, last: int
) -> JobMark | None:
    """The last job within days; of one day, the one with the most hours read, or any reading."""
    jobs = carriage.history.of(engine).jobs
    undone = carriage.undone.get(engine, ())
    best: JobMark | None = None
    for task in tasks:
        marks = jobs.get(task)
        if not marks:
            continue
        at = len(marks) if marks[-1].day <= last else bisect_right(marks, last, key=_day)
        while at and marks[at - 1].day >= first:
            mark = marks[at - 1]
            if best is not None and mark.day < best.day:
                break
            if mark.number in undone and undone:
                at -= 1
                continue
            if best is None or mark.day > best.day or _read_more(carriage, engine, mark, best):
                best = mark
            at -= 1
    return best


def _day(mark: JobMark) -> int:
    return mark.day


def _read_more(carriage: Carriage, engine: str, mark: JobMark, best: JobMark) -> bool:
    if mark.reading is None:
        return False
    if best.reading is None:
        return True
    figure = carriage.uses[engine].closes.figure
    return (figure(mark.day, mark.reading), mark.reading) > (
        figure(best.day, best.reading),
        best.reading,
    )
