"""Clocks and life: when a clock started, what it has counted since, and how much life that is."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.oracle.given import (
    WATERS,
    Entry,
    Fleet,
    Limits,
    Task,
    add_months,
    days_between,
    limits_of,
    strictest,
)
from tests.oracle.known import NOTHING, Component, Known, Share

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Clock:
    """One rule's clock on one component, and what started it."""

    component: Component
    task: Task
    since: date  # the day the fleet first knew the component
    job: Entry | None  # the rule's last job, if it has one
    kind: str  # "job", "new" or "unknown": what the clock starts at
    start: date
    limits: Limits


@dataclass(frozen=True, slots=True)
class Counted:
    """What a clock counted up to a day, and the life used."""

    hours: dict[str, Fraction]
    likely: dict[str, Fraction]
    days: dict[str, int]
    limits: Limits  # those applied, water by water
    by_hours: Fraction
    by_calendar: Fraction
    by_hours_with_likely: Fraction

    @property
    def life(self) -> Fraction:
        return max(self.by_hours, self.by_calendar)


class Past:
    """What was known at the close of any day; days without entries know what the day before did."""

    def __init__(self, fleet: Fleet) -> None:
        self.fleet = fleet
        self.found: dict[int, Known] = {}

    def at(self, day: date) -> Known:
        entries = sum(entry.on <= day for entry in self.fleet.log)
        if entries not in self.found:
            self.found[entries] = Known(self.fleet, day)
        return self.found[entries]


# --- where a clock starts -------------------------------------------------------------------


def engine_hours_at(known: Known, job: Entry) -> Fraction | None:
    """The engine hours of a job's reading; before `since`, the reading itself."""
    if job.reading is None or job.on < known.fleet.engines[job.engine].since:
        return job.reading
    return known.meter(job.engine).figures[job.on, job.reading]


def jobs_of(known: Known, component: Component, tasks: dict[str, Task], name: str) -> list[Entry]:
    """The jobs of a rule on a component, with those of the rules that restart it."""
    restarting = {other for other, task in tasks.items() if name in task.get("restarts", [])}
    found = []
    for entry in known.log:
        if entry.event == "job" and entry.task in {name} | restarting:
            if entry.on < known.fleet.engines[entry.engine].since:
                engine = component.of  # only an engine's own components
            else:
                engine = known.carrier(component, entry.on)
            if engine == entry.engine:
                found.append(entry)
    return found


def clock_of(known: Known, component: Component, tasks: dict[str, Task], name: str) -> Clock:
    """The clock as all entries known tell it."""
    own = known.fleet.engines[component.of]

    def order(job: Entry) -> tuple[Any, ...]:
        hours = engine_hours_at(known, job)
        return (job.on, hours is not None, hours or NOTHING, job.reading or NOTHING)

    job = max(jobs_of(known, component, tasks, name), key=order, default=None)
    if job is not None and not (own.new and own.since > job.on):
        kind, start = "job", job.on
    else:
        kind, start = ("new" if own.new else "unknown"), own.since
    limits = limits_of(tasks[name], first_service=kind == "new")
    return Clock(component, tasks[name], own.since, job, kind, start, limits)


# --- what it counts -------------------------------------------------------------------------


def counted_hours(known: Known, clock: Clock) -> list[Share]:
    """The hours since the clock's start, each share on its day and in its water."""
    job, component = clock.job, clock.component
    shares = known.component_hours(component)
    if clock.kind != "job" or job is None:
        return [share for share in shares if share.day > clock.since]
    if job.on < clock.since:
        return before_since(known, clock, job) + [s for s in shares if s.day > clock.since]
    if job.reading is None:
        return [share for share in shares if share.day >= job.on]
    on_the_day = [share for share in shares if share.day == job.on]
    return after_reading(known, clock, job, on_the_day) + [s for s in shares if s.day > job.on]


def before_since(known: Known, clock: Clock, job: Entry) -> list[Share]:
    """The hours from an earlier job's reading to the one on `since`, in that day's water."""
    if job.reading is None:
        return []
    hours = known.meter(job.engine).closes[clock.since] - job.reading
    water = known.component_water(clock.component, clock.since)
    days = days_between(job.on + ONE_DAY, clock.since)
    return [Share(day, water, hours / len(days), NOTHING) for day in days]


def after_reading(known: Known, clock: Clock, job: Entry, shares: list[Share]) -> list[Share]:
    """The hours of a job's own day after its reading, in the mix of that day's hours."""
    figure = engine_hours_at(known, job)
    assert figure is not None
    after = known.meter(job.engine).closes[job.on] - figure
    total = sum((share.hours for share in shares), NOTHING)
    if job.on == known.fleet.engines[job.engine].since:  # no hours are known of this day
        return [Share(job.on, known.component_water(clock.component, job.on), after, NOTHING)]
    if total == 0:
        return [Share(job.on, known.component_home(clock.component, job.on), after, NOTHING)]
    part = after / total
    return [
        Share(job.on, share.water, share.hours * part, share.likely * min(Fraction(1), part))
        for share in shares
    ]


def waters_of(known: Known, clock: Clock, upto: date) -> list[str]:
    """The component's water on each day from the clock's start to `upto`, both included."""
    days = days_between(clock.start, upto)
    return [known.component_water(clock.component, day) for day in days]


def summed(shares: list[Share]) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """Hours and likely hours by water."""
    hours, likely = dict.fromkeys(WATERS, NOTHING), dict.fromkeys(WATERS, NOTHING)
    for water in WATERS:
        here = [share for share in shares if share.water == water]
        hours[water] = total([share.hours for share in here])
        likely[water] = total([share.likely for share in here])
    return hours, likely


def total(values: list[Fraction]) -> Fraction:
    """A sum, taken denominator by denominator: many shares have the same."""
    tops: Counter[int] = Counter()
    for value in values:
        tops[value.denominator] += value.numerator
    return sum((Fraction(top, bottom) for bottom, top in tops.items()), NOTHING)


# --- life -----------------------------------------------------------------------------------


def whole_days(start: date, pair: dict[str, Any]) -> int | None:
    """The days of a limit's months, or its days, from the clock's start on."""
    if "days" in pair:
        return int(pair["days"])
    if "months" in pair:
        return (add_months(start, int(pair["months"])) - start).days
    return None


def life_by_hours(hours: dict[str, Fraction], limits: Limits) -> Fraction:
    """The sum over the waters of hours over limit (Palmgren 1924, Miner 1945)."""
    life = NOTHING
    for water, spent in hours.items():
        if spent and "hours" in limits[water]:
            life += spent / limits[water]["hours"]
    return life


def life_by_calendar(days: dict[str, int], limits: Limits, start: date) -> Fraction:
    """The sum over the waters of days over the days that the limit has from the start on."""
    life = NOTHING
    for water, spent in days.items():
        whole = whole_days(start, limits[water])
        if spent and whole is not None:
            life += Fraction(spent, whole)
    return life


def life_after(
    clock: Clock, hours: dict[str, Fraction], waters: list[str], seen: str = ""
) -> tuple[Limits, Fraction, Fraction]:
    """The limits applied, life by hours and life by calendar, at the close of the last day.

    A rule that mixes by the strictest water takes that of `waters`, unless `seen` names it.
    Today's own day counts tomorrow.
    """
    limits = clock.limits
    if clock.task.get("mixing") == "strictest":
        limits = dict.fromkeys(WATERS, limits[seen or strictest(waters)])
    days = {water: waters[:-1].count(water) for water in WATERS}
    return limits, life_by_hours(hours, limits), life_by_calendar(days, limits, clock.start)


def count(known: Known, clock: Clock, shares: list[Share], upto: date) -> Counted:
    """All that a clock counted up to the day that is known."""
    waters = waters_of(known, clock, upto)
    hours, likely = summed(shares)
    limits, by_hours, by_calendar = life_after(clock, hours, waters)
    with_likely = {water: hours[water] + likely[water] for water in WATERS}
    return Counted(
        hours,
        likely,
        {water: waters[:-1].count(water) for water in WATERS},
        limits,
        by_hours,
        by_calendar,
        life_by_hours(with_likely, limits),
    )
