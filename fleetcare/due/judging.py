"""Holding the dates of the past against what came, on the first of each month.

The forecast is made anew from what was known by that day, and by today's rules. A date is judged
on the clock it was said of: the same component with the same start, wherever the component went
and whatever was done to it since. Only limits of hours are judged; where the calendar decides
the middle day there was nothing to foresee.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import NamedTuple, Protocol

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.coming import EARLY, LATE, MIDDLE, Coming
from fleetcare.due.followups import undone_by_engine
from fleetcare.due.held import HORIZONS, Asked, Judgement, LeftOut, Looked, Ran
from fleetcare.due.life import ONE, Life
from fleetcare.due.rows import rules_for
from fleetcare.fleet.components import Component
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.earlier import known_by
from fleetcare.log.history import History
from fleetcare.rules.rule import Rule
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.past import known_through

SETTLED_AFTER = 90  # days that an engine must have been known
FIRST_YEAR = 365
FOUR_WEEKS, A_YEAR, LEAST_PAST = 28, 365, 7
MOST_LOOKS = 2000  # forecasts of one engine on one day; in a larger fleet months are left out


class Forecasts(Protocol):
    """What tells each engine's outlook, as `usage.outlooks.Forecast` does."""

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        """What an engine's coming use looks like."""


def judge(
    fleet: Fleet,
    history: History,
    book: RuleBook,
    as_of: date,
    asked: Asked = Asked(),  # noqa: B008
    forecasts: Callable[[], Forecasts] | None = None,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Judgement:
    """Look at every date of the past. `history` must be the whole one, known by `as_of`.

    `forecasts` makes a forecast for each day anew; `progress` is told after each day how many of
    how many are done.
    """
    whole = _Whole(fleet, history, book, as_of.toordinal())
    every, plan = _plan(whole, asked)
    dates: list[Looked] = []
    hours: list[Ran] = []
    counted = [0, 0, 0]
    for done, (day, engines) in enumerate(plan, 1):
        forecast = forecasts() if forecasts else Forecast(book.uses)
        then = _Then(whole, day, forecast)
        for name in engines:
            if not then.has(name, asked.boat):
                continue
            dates += then.dates(name)
            hours += then.hours(name)
        counted = [old + new for old, new in zip(counted, then.left_out, strict=True)]
        progress(done, len(plan))
    days = [day for day, _ in plan]
    return Judgement(
        tuple(dates), tuple(hours), LeftOut(*counted), every,
        days[0] if days else None, days[-1] if days else None,
    )  # fmt: skip


# -- which days, which engines -------------------------------------------------------------------


def _plan(whole: _Whole, asked: Asked) -> tuple[int, list[tuple[int, list[str]]]]:
    """Every how many months, and the engines to look at on each first of a month.

    In a large fleet each engine has its turn every few months, a part of the fleet each month.
    """
    known = whole.carriage.known
    names = [asked.engine] if asked.engine is not None else sorted(known, key=natural)
    begin = {name: known[name].since.toordinal() + SETTLED_AFTER for name in names if name in known}
    spans = {name: (first, whole.known_to[name]) for name, first in begin.items()}
    months: list[tuple[int, list[str]]] = []
    if spans:
        first = max(min(first for first, _ in spans.values()), asked.first or 0)
        last = max(last for _, last in spans.values())
        last = last if asked.last is None else min(last, asked.last)
        for day in _firsts(first, last):
            months.append((day, [name for name, (a, b) in spans.items() if a <= day <= b]))
    looks = sum(len(engines) for _, engines in months)
    every = asked.every or max(1, -(-looks // MOST_LOOKS))
    turn = {name: at for at, name in enumerate(spans)}
    plan = [
        (day, [name for name in engines if (at + turn[name]) % every == 0])
        for at, (day, engines) in enumerate(months)
    ]
    return every, [(day, engines) for day, engines in plan if engines]


def _firsts(first: int, last: int) -> list[int]:
    """The first days of months within days."""
    if first > last:
        return []
    on = date.fromordinal(first)
    year, month = (on.year, on.month) if on.day == 1 else _next(on.year, on.month)
    days = []
    while (day := date(year, month, 1).toordinal()) <= last:
        days.append(day)
        year, month = _next(year, month)
    return days


def _next(year: int, month: int) -> tuple[int, int]:
    return (year, month + 1) if month < 12 else (year + 1, 1)


# -- what is known by now ------------------------------------------------------------------------


class _Whole:
    """The fleet with all that is known by now, to hold what was said against."""

    def __init__(self, fleet: Fleet, history: History, book: RuleBook, as_of: int) -> None:
        self.fleet, self.history, self.book, self.as_of = fleet, history, book, as_of
        self.carriage = Carriage(fleet, history, as_of, undone_by_engine(history, book))
        self.known_to = {
            name: min(known_through(use), as_of) for name, use in self.carriage.uses.items()
        }
        self._ways: dict[str, Mapping[Component, ComponentUse]] = {}
        self._rules: dict[str, list[tuple[Rule, tuple[str, ...]]]] = {}

    def rules(self, engine: str) -> Sequence[tuple[Rule, tuple[str, ...]]]:
        """The rules of an engine that limit hours, with the tasks that start their clocks."""
        found = self._rules.get(engine)
        if found is None:
            known = self.carriage.known[engine]
            ruleset = self.book.set_of(known.rules or self.fleet.settings.rules)
            found = self._rules[engine] = [
                (rule, tasks)
                for rule, tasks in rules_for(ruleset, known)
                if any(limit and limit.hours for limit in rule.limits or ())
            ]
        return found

    def way_of(self, component: Component) -> ComponentUse:
        """Everywhere a component has been."""
        kind = component.kind
        if kind not in self._ways:
            uses = [self.carriage.under(name, kind) for name in self.carriage.known]
            self._ways[kind] = {use.component: use for use in uses}
        return self._ways[kind][component]

    def hours_known_to(self, way: ComponentUse, day: int) -> int:
        """The last day, from a day on, to which the hours of a component are known throughout."""
        last = day
        for span in way.spans:
            if span.last >= day:
                last = max(last, min(span.last, self.known_to[span.engine]))
                if self.known_to[span.engine] < span.last:
                    break
        return last

    def came(self, rule: Rule, clock: Clock, way: ComponentUse, day: int, last: int) -> int | None:
        """The first day, from a day through the last, on which the clock's life is used up."""
        clock = replace(clock, component=way)
        life = Life(rule, clock)

        def used_up(on: int) -> bool:
            by_hours = life.by_hours(clock.mix(on, self.as_of), on)
            return by_hours >= ONE or life.by_calendar(on, on) >= ONE

        if not used_up(last):
            return None
        while day < last:
            middle = (day + last) // 2
            if used_up(middle):
                last = middle
            else:
                day = middle + 1
        return day


# -- what was said then --------------------------------------------------------------------------


class _Then:
    """The fleet as it stood on an earlier day."""

    def __init__(self, whole: _Whole, day: int, forecast: Forecasts) -> None:
        self.whole, self.day, self.forecast = whole, day, forecast
        self.history = known_by(whole.history, day)
        self.carriage = Carriage(
            whole.fleet, self.history, day, undone_by_engine(self.history, whole.book)
        )
        self.left_out = [0, 0, 0]

    def has(self, engine: str, boat: str | None) -> bool:
        """Whether the engine was in use, on that boat if one is asked for."""
        if self.history.of(engine).retired is not None:
            return False
        return boat is None or self.carriage.boat_of(engine) == boat

    def _use(self, engine: str) -> str:
        boat = self.carriage.last_boat_of(engine)
        return self.whole.fleet.boats[boat].use if boat else "owner"

    def _is_young(self, engine: str) -> bool:
        return self.day - self.carriage.uses[engine].since < FIRST_YEAR

    def dates(self, engine: str) -> list[Looked]:
        """The dates said of one engine's jobs whose hours decide."""
        rules = self.whole.rules(engine)
        if not rules:
            return []
        outlook = self.forecast.of(self.carriage, engine)
        coming = Coming(outlook, self.carriage.uses[engine], self.day)
        found = (self._date(engine, rule, tasks, coming) for rule, tasks in rules)
        return [item for item in found if item is not None]

    def _date(
        self, engine: str, rule: Rule, tasks: tuple[str, ...], coming: Coming
    ) -> Looked | None:
        component = self.carriage.under(engine, rule.component)
        clock = clock_of(self.carriage, component, tasks)
        said = _said(rule, clock, self.day, coming) if clock.is_start else None
        if said is None:
            return None
        if said.used_up:
            self.left_out[1] += 1
            return None
        early, on, late = said.days
        if on == said.by_date and on is not None:
            self.left_out[0] += 1
            return None
        if early is None:
            self.left_out[2] += 1
            return None
        way = self.whole.way_of(component.component)
        last = self.whole.hours_known_to(way, self.day)
        return Looked(
            self.day, engine, self.carriage.boat_of(engine), self._use(engine),
            self._is_young(engine), rule, component.component, clock.start, said.governed_by,
            said.hours_left, early, on, late,
            self.whole.came(rule, clock, way, self.day, last), last,
        )  # fmt: skip

    def hours(self, engine: str) -> list[Ran]:
        """The hours foreseen of one engine on a boat, where later ones tell what it ran."""
        if self.carriage.boat_of(engine) is None:
            return []
        outlook = self.forecast.of(self.carriage, engine)
        start, last = outlook.start, self.whole.known_to[engine]
        now, past = self.whole.carriage.uses[engine], self.carriage.uses[engine]

        def before(first: int, end: int) -> float | None:
            if first < past.since or end - first < LEAST_PAST:
                return None
            return float(past.hours_to(end, self.day) - past.hours_to(first, self.day)) / 100

        found = []
        recent = max(past.since, start - FOUR_WEEKS)
        lately = before(recent, start)
        for days in HORIZONS:
            if start + days > last:
                continue
            ran = now.hours_to(start + days, self.whole.as_of) - now.hours_to(
                start, self.whole.as_of
            )
            low, middle, high = (
                outlook.hours_by(start + days, chance) for chance in (EARLY, MIDDLE, LATE)
            )
            rate = None if lately is None else lately / (start - recent) * days
            found.append(
                Ran(
                    self.day, engine, self._use(engine), self._is_young(engine), days,
                    (low, middle, high), float(ran) / 100, rate,
                    before(start - A_YEAR, start - A_YEAR + days),
                )
            )  # fmt: skip
        return found


class _Said(NamedTuple):
    """What the list had to say of one clock by its hours."""

    used_up: bool
    governed_by: str
    hours_left: Fraction
    days: tuple[int | None, int | None, int | None]
    by_date: int | None


def _said(rule: Rule, clock: Clock, day: int, coming: Coming) -> _Said | None:
    """Early, middle and late day of a limit as the due list has them; None without hours.

    What else may open the job (an incident, the season) is left aside: it ends no clock.
    """
    life, mix = Life(rule, clock), clock.mix(day, day)
    water = life.strictest_by(day) if life.strictest else clock.component.water_on(day)
    limit = life.hours_limit(water)
    if limit is None:
        return None
    by_hours, by_calendar = life.by_hours(mix, day), life.by_calendar(day, day)
    governed_by = "hours" if by_hours > by_calendar or not life.has_calendar else "calendar"
    left = (1 - by_hours) * limit
    if by_hours >= ONE or by_calendar >= ONE:
        return _Said(True, governed_by, left, (None, None, None), None)
    span = life.spans[water]
    by_date = None
    if span:
        by_date = day - int(-((1 - by_calendar) * span) // 1)
        by_date = by_date if by_date <= date.max.toordinal() else None
    at_most = (1 - life.by_hours(mix, day, likely=True)) * limit
    days = coming.days(coming.begin(clock), left, at_most, coming.band(mix), by_date)
    return _Said(False, governed_by, left, days, by_date)
