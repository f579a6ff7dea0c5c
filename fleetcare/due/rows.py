"""The due list: a row for every job of every engine not retired."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.life import ONE, Life, is_past
from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.due.triggers import Opened, opened
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.rules.rule import Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import Use
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.hours import Mix
from fleetcare.usage.meter import Hours
from fleetcare.usage.places import is_laid_up

LOOK_AHEAD = 30  # days, and at most a quarter of the interval: our design choice
DAYS_A_YEAR = 365
LAST_DAY = date.max.toordinal()


def due_list(
    fleet: Fleet, history: History, book: RuleBook, as_of: date, engine: str | None = None
) -> list[Due]:
    """A row for every job of every engine known and not retired on the day.

    `engine` limits the list to one. Rows come engine by engine, in the order of the rule set.
    """
    carriage = Carriage(fleet, history, as_of.toordinal())
    fitting: dict[tuple[object, ...], list[tuple[Rule, tuple[str, ...]]]] = {}
    rows: list[Due] = []
    for name in [engine] if engine is not None else carriage.known:
        known = carriage.known.get(name)
        if known is None or history.of(name).retired is not None:
            continue
        ruleset = book.set_of(known.rules or fleet.settings.rules)
        key = (ruleset.name, known.hp, known.stroke, known.steering, known.without)
        if key not in fitting:
            fitting[key] = rules_for(ruleset, known)
        last_boat = carriage.last_boat_of(name)
        use = book.uses[fleet.boats[last_boat].use if last_boat else "owner"]
        maker = _Maker(carriage, known, use)
        rows += [maker.row(rule, tasks) for rule, tasks in fitting[key]]
    return rows


def rules_for(ruleset: RuleSet, engine: Engine) -> list[tuple[Rule, tuple[str, ...]]]:
    """The rules that fit an engine and are ever listed, with the tasks that start each clock."""
    return [
        (rule, ruleset.restarted_by(rule.name))
        for rule in ruleset.rules.values()
        if rule.has_row and rule.name not in engine.without and rule.fits.engine(engine)
    ]


class _Maker:
    """Makes the rows of one engine."""

    def __init__(self, carriage: Carriage, engine: Engine, use: Use) -> None:
        self.carriage, self.engine, self.use = carriage, engine, use
        self.as_of = carriage.as_of
        self.boat = carriage.boat_of(engine.name)
        self.laid_up = is_laid_up(carriage.history, engine.name)
        self.put_offs = carriage.history.of(engine.name).put_offs
        self.components: dict[str, ComponentUse] = {}
        self.clocks: dict[tuple[str, tuple[str, ...]], Clock] = {}

    def row(self, rule: Rule, tasks: tuple[str, ...]) -> Due:
        component = self.components.get(rule.component)
        if component is None:
            component = self.carriage.under(self.engine.name, rule.component)
            self.components[rule.component] = component
        clock = clock_of(self.carriage, component, tasks)
        mix = clock.mix(self.as_of, self.as_of)
        water = component.water_on(self.as_of)
        limits = _Limits(rule, clock, mix, water, self.as_of, self.use) if rule.limits else None
        triggers = opened(
            rule, self.carriage, self.engine.name, component, clock.last_job, self.use
        )
        return self._assemble(rule, clock, mix, water, limits, triggers)

    def _assemble(
        self, rule: Rule, clock: Clock, mix: Mix, water: int,
        limits: _Limits | None, triggers: list[Opened],
    ) -> Due:  # fmt: skip
        status, raised = _status(limits, triggers)
        on = _earliest([limits.on if limits else None, *(trigger.day for trigger in triggers)])
        since = None
        if status == OVERDUE:
            since = _earliest(
                [limits.passed() if limits else None, *(item.overdue_since for item in triggers)]
            )
        until, times, because = self._put_off(rule.name, clock.last_job or 0)
        has_life = limits is not None and clock.is_start
        return Due(
            self.engine.name, self.engine.first_name, self.boat, rule, status,
            limits.governed_by if limits and has_life else None,
            limits.life if limits and has_life else None,
            limits.life if limits and not has_life else None,
            mix[0] + mix[1] + mix[2],
            limits.hours_left if limits and has_life else None,
            mix[3] + mix[4] + mix[5],
            max(0, self.as_of - clock.start), water, on, on, on, since,
            clock.job.day if clock.job else None,
            clock.job.reading if clock.job else None,
            raised, until, times, because, self.laid_up,
            _why_open(triggers, since), clock.start,
            limits.strictest_since if limits else None, clock.unknown_before,
        )  # fmt: skip

    def _put_off(self, task: str, last_job: int) -> tuple[int | None, int, str | None]:
        if not self.put_offs:
            return None, 0, None
        mine = [item for item in self.put_offs if item.task == task and item.day > last_job]
        if mine and mine[-1].until > self.as_of:
            return mine[-1].until, len(mine), mine[-1].because
        return None, len(mine), None


class _Limits:
    """What the limits of a rule say of one component on a day."""

    __slots__ = (
        "as_of", "clock", "governed_by", "hours_left", "is_start", "life", "life_of", "likely",
        "on", "past", "reached", "soon", "strictest_since",
    )  # fmt: skip

    def __init__(
        self, rule: Rule, clock: Clock, mix: Mix, water: int, as_of: int, use: Use
    ) -> None:
        self.clock, self.as_of, self.is_start = clock, as_of, clock.is_start
        life = self.life_of = Life(rule, clock)
        by_hours = life.by_hours(mix, as_of)
        by_calendar = life.by_calendar(as_of, as_of)
        ahead = (
            by_hours.numerator * by_calendar.denominator
            - by_calendar.numerator * by_hours.denominator
        )
        self.life = by_hours if ahead > 0 else by_calendar
        self.governed_by = "calendar" if ahead < 0 or (not ahead and life.has_calendar) else "hours"
        self.likely = self.life
        if mix[3] or mix[4] or mix[5]:
            self.likely = max(by_calendar, life.by_hours(mix, as_of, likely=True))
        water = life.strictest_by(as_of) if life.strictest else water
        self.strictest_since = self._first_in(water) if life.strictest else None
        limit = life.hours_limit(water)
        self.hours_left = None if limit is None else _left(by_hours, limit)
        self.on: int | None = None
        self.reached = self.life.numerator >= self.life.denominator
        self.past = is_past(self.life)
        if self.reached:
            self.on = life.first_reached(as_of)
        elif self.is_start:
            self.on = self._ahead(mix, by_calendar, water, use)
        self.soon = (
            self.is_start
            and self.on is not None
            and 4 * (self.on - as_of) <= min(4 * LOOK_AHEAD, self.on - clock.start)
        )

    def _ahead(self, mix: Mix, by_calendar: Fraction, water: int, use: Use) -> int | None:
        """The day life will be 1 at the pace since the clock start, or the use's."""
        days: list[int] = []
        if self.hours_left is not None:
            since = mix[0] + mix[1] + mix[2]
            passed = self.as_of - self.clock.start
            if not since or passed <= 0:
                since, passed = use.hours_a_year * 100, DAYS_A_YEAR
            days.append(_ceil_of(self.hours_left, passed, since))
        span = self.life_of.spans[water]
        if span:
            left = by_calendar.denominator - by_calendar.numerator
            days.append(-(-left * span // by_calendar.denominator))
        days = [ahead for ahead in days if self.as_of + ahead <= LAST_DAY]
        return self.as_of + min(days) if days else None

    def _first_in(self, water: int) -> int:
        """The first day since the clock start in a water."""
        start = self.clock.start
        return next(
            (day for day in range(start, self.as_of + 1)
             if self.clock.component.water_on(day) == water),
            start,
        )  # fmt: skip

    def passed(self) -> int | None:
        """The first day on which the list had its limits passed, if any had."""
        return self.life_of.first_passed(self.as_of, self.past)


def _status(limits: _Limits | None, triggers: list[Opened]) -> tuple[str, bool]:
    """The status of a row, and whether only likely hours raised it."""
    if (limits and limits.past) or any(item.overdue_since for item in triggers):
        return OVERDUE, False
    if limits and not limits.is_start:
        return NO_RECORD, False
    if any(item.is_due for item in triggers):
        return DUE, False
    if limits and (limits.reached or limits.soon):
        return DUE, False
    if limits and limits.likely >= ONE:
        return DUE, True
    return CLEAR, False


def _why_open(triggers: list[Opened], overdue_since: int | None) -> str:
    """The most pressing trigger in words; nothing when the limits were passed before it."""
    pressing = sorted(
        (item for item in triggers if item.is_due),
        key=lambda item: (item.overdue_since is None, item.overdue_since or item.day),
    )
    if not pressing or (overdue_since is not None and pressing[0].overdue_since != overdue_since):
        return ""
    return pressing[0].why


def _earliest(days: list[int | None]) -> int | None:
    return min((day for day in days if day is not None), default=None)


def _left(used: Fraction, limit: int) -> Hours:
    """What is left of a limit, a whole number where it can be."""
    left, rest = divmod((used.denominator - used.numerator) * limit, used.denominator)
    return left if not rest else left + Fraction(rest, used.denominator)


def _ceil_of(left: Hours, days: int, hours: Hours) -> int:
    """The whole days in which what is left is run, at the pace of so many hours in so many days."""
    over = left.numerator * days * hours.denominator
    return -(-over // (left.denominator * hours.numerator))
