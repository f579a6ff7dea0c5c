"""The due list: a row for every job of every engine not retired."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.coming import Coming
from fleetcare.due.followups import FollowUps, Standing, undone_by_engine
from fleetcare.due.life import ONE, Life, is_past
from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.due.triggers import Opened, opened
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.said import Said
from fleetcare.log.history import History
from fleetcare.rules.rule import Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import NOT_LOOKED_AT, Use
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.hours import Mix
from fleetcare.usage.meter import Hours
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.places import is_laid_up

LOOK_AHEAD = 30  # days, and at most a quarter of the interval: our design choice
DAYS_A_YEAR = 365
LAST_DAY = date.max.toordinal()


def due_list(
    fleet: Fleet, history: History, book: RuleBook, as_of: date, engine: str | None = None,
    forecast: Forecast | None = None,
) -> list[Due]:  # fmt: skip
    """A row for every job of every engine known and not retired on the day.

    `engine` limits the list to one. Rows come engine by engine, in the order of the rule set.
    Dates come from the forecast of use; without one from each engine's pace since the job, or its
    use's yearly hours, and early, on and late are then the same day.
    """
    return due_and_standing(fleet, history, book, as_of, engine, forecast)[0]


def due_and_standing(
    fleet: Fleet, history: History, book: RuleBook, as_of: date, engine: str | None = None,
    forecast: Forecast | None = None,
) -> tuple[list[Due], dict[str, list[Standing]]]:  # fmt: skip
    """The due list, and by engine the findings and incidents that still stand."""
    carriage = Carriage(fleet, history, as_of.toordinal(), undone_by_engine(history, book))
    fitting: dict[tuple[object, ...], _Fitting] = {}
    rows: list[Due] = []
    stands: dict[str, list[Standing]] = {}
    for name in [engine] if engine is not None else carriage.known:
        known = carriage.known.get(name)
        if known is None or history.of(name).retired is not None:
            continue
        ruleset = book.set_of(known.rules or fleet.settings.rules)
        key = (ruleset.name, known.hp, known.stroke, known.steering, known.without)
        if key not in fitting:
            fitting[key] = _Fitting(ruleset, known)
        rules = fitting[key]
        last_boat = carriage.last_boat_of(name)
        use = book.uses[fleet.boats[last_boat].use if last_boat else "owner"]
        standing = FollowUps(carriage, name, ruleset, book, rules.fits).standing()
        if standing:
            stands[name] = standing
        maker = _Maker(carriage, known, use, forecast, standing)
        rows += [maker.row(rule, tasks) for rule, tasks in rules.listed]
        if standing:
            wanted = {task for item in standing for task in item.wanted}
            rows += [maker.row(rule, (rule.name,)) for rule in rules.looks if rule.name in wanted]
    return rows, stands


class _Fitting:
    """The rules that fit a kind of engine: those always listed, and looks at every start."""

    __slots__ = ("fits", "listed", "looks")

    def __init__(self, ruleset: RuleSet, engine: Engine) -> None:
        self.listed = rules_for(ruleset, engine)
        self.looks = [
            rule
            for rule in ruleset.rules.values()
            if not rule.has_row and rule.name not in engine.without and rule.fits.engine(engine)
        ]
        self.fits = frozenset(
            [rule.name for rule, _ in self.listed] + [rule.name for rule in self.looks]
        )


def rules_for(ruleset: RuleSet, engine: Engine) -> list[tuple[Rule, tuple[str, ...]]]:
    """The rules that fit an engine and are ever listed, with the tasks that start each clock."""
    return [
        (rule, ruleset.restarted_by(rule.name))
        for rule in ruleset.rules.values()
        if rule.has_row and rule.name not in engine.without and rule.fits.engine(engine)
    ]


def fitting_tasks(ruleset: RuleSet, engine: Engine) -> frozenset[str]:
    """The tasks an engine can have, looks at every start included."""
    return _Fitting(ruleset, engine).fits


class _Maker:
    """Makes the rows of one engine."""

    def __init__(
        self, carriage: Carriage, engine: Engine, use: Use, forecast: Forecast | None,
        standing: list[Standing],
    ) -> None:  # fmt: skip
        self.carriage, self.engine, self.use = carriage, engine, use
        self.as_of = carriage.as_of
        self.standing = standing
        self.coming = None
        if forecast is not None:
            outlook = forecast.of(carriage, engine.name)
            self.coming = Coming(outlook, carriage.uses[engine.name], self.as_of)
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
        limits = None
        if rule.limits:
            limits = _Limits(rule, clock, mix, water, self.as_of, self.use, self.coming)
        triggers = opened(
            rule, self.carriage, self.engine.name, component, clock.last_job, self.use
        )
        if self.standing:
            triggers = [*triggers, *self._wanted(rule)]
        return self._assemble(rule, clock, mix, water, limits, triggers)

    def _wanted(self, rule: Rule) -> list[Opened]:
        """What was found and asks for this job; what happened opens it by the rule itself."""
        return [
            Opened(
                item.day,
                Said("{what} on {day}", what=item.what, day=date.fromordinal(item.day)),
                True,
                item.overdue_from if self.as_of >= item.overdue_from else None,
            )
            for item in self.standing
            if rule.name in item.wanted and item.incident not in rule.after
        ]  # fmt: skip

    def _unseen(self, rule: Rule, clock: Clock) -> str:
        """What nobody looked at when the job was done, where the rule asks for a look."""
        if not rule.unseen or clock.job is None:
            return ""
        log = self.carriage.history.of(clock.job_engine)
        number = clock.job.number
        if not any(mark.number == number for mark in log.jobs.get(rule.name, ())):
            return ""
        looked = any(
            seen.number == number and seen.part == rule.part and seen.condition != NOT_LOOKED_AT
            for seen in log.seen
        )
        return "" if looked else rule.unseen

    def _assemble(
        self, rule: Rule, clock: Clock, mix: Mix, water: int,
        limits: _Limits | None, triggers: list[Opened],
    ) -> Due:  # fmt: skip
        status, raised = _status(limits, triggers)
        early, on, late = limits.days if limits else (None, None, None)
        open_on = min((trigger.day for trigger in triggers), default=None)
        if open_on is not None:
            early, on, late = (
                open_on if day is None else min(day, open_on) for day in (early, on, late)
            )
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
            mix[3] + mix[4] + mix[5] + (limits.since_read if limits else 0),
            max(0, self.as_of - clock.start), water, early, on, late, since,
            clock.job.day if clock.job else None,
            clock.job.reading if clock.job else None,
            raised, until, times, because, self.laid_up,
            _why_open(triggers, since), clock.start,
            limits.strictest_since if limits else None, clock.unknown_before,
            limits.since_read if limits else 0, limits.most if limits else 0,
            limits.chance if limits else 0.0,
            self.coming.start if self.coming else None, self._unseen(rule, clock), open_on,
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
        "as_of", "chance", "clock", "days", "governed_by", "hours_left", "is_start", "life",
        "life_of", "most", "past", "raised", "reached", "since_read", "soon", "strictest_since",
    )  # fmt: skip

    def __init__(
        self, rule: Rule, clock: Clock, mix: Mix, water: int, as_of: int, use: Use,
        coming: Coming | None,
    ) -> None:  # fmt: skip
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
        water = life.strictest_by(as_of) if life.strictest else water
        self.strictest_since = self._first_in(water) if life.strictest else None
        limit = life.hours_limit(water)
        self.hours_left = None if limit is None else _left(by_hours, limit)
        self.reached = self.life.numerator >= self.life.denominator
        self.past = is_past(self.life)
        likely_by_hours = by_hours
        if mix[3] or mix[4] or mix[5]:
            likely_by_hours = life.by_hours(mix, as_of, likely=True)
        self.raised = likely_by_hours >= ONE
        self.days: tuple[int | None, int | None, int | None] = (None, None, None)
        self.since_read, self.most, self.chance, self.soon = 0, 0, 0.0, False
        if self.reached:
            self.days = (life.first_reached(as_of),) * 3
            return
        if not self.is_start:
            return
        by_date = self._by_calendar(by_calendar, water)
        if coming is None:
            on = self._at_pace(mix, by_date, use)
            self.days = (on, on, on)
            self.soon = self._is_soon(on, on)
        elif self.hours_left is None:
            self.days = (by_date, by_date, by_date)
            self.soon = self._is_soon(by_date, by_date)
        else:
            assert limit is not None
            at_most = self.hours_left
            if likely_by_hours is not by_hours:
                at_most = _left(likely_by_hours, limit)
            self._by_forecast(coming, mix, at_most, by_date)

    def _by_calendar(self, by_calendar: Fraction, water: int) -> int | None:
        """The day the calendar alone makes life 1, in the water of the day."""
        span = self.life_of.spans[water]
        if not span:
            return None
        left = by_calendar.denominator - by_calendar.numerator
        day = self.as_of - (-left * span // by_calendar.denominator)
        return day if day <= LAST_DAY else None

    def _at_pace(self, mix: Mix, by_date: int | None, use: Use) -> int | None:
        """The day life will be 1 at the pace since the clock start, or the use's."""
        if self.hours_left is None:
            return by_date
        since = mix[0] + mix[1] + mix[2]
        passed = self.as_of - self.clock.start
        if not since or passed <= 0:
            since, passed = use.hours_a_year * 100, DAYS_A_YEAR
        day = self.as_of + _ceil_of(self.hours_left, passed, since)
        return _earliest([by_date, day if day <= LAST_DAY else None])

    def _by_forecast(self, coming: Coming, mix: Mix, at_most: Hours, by_date: int | None) -> None:
        """Dates, likely hours since the last reading, and the status they raise."""
        assert self.hours_left is not None
        begin = coming.begin(self.clock)
        self.since_read = coming.likely_since(begin)
        self.raised = self.raised or self.since_read >= at_most
        band = coming.band(mix)
        self.days = coming.days(begin, self.hours_left, at_most, band, by_date)
        self.chance = coming.chance_used(begin, at_most)
        if self.chance:
            self.most = coming.most_since(begin)
        early, on, _ = self.days
        self.soon = self._is_soon(early, on)
        if self.soon and self.since_read:
            # Due only by what may have run since the last reading: a reading is to be taken.
            surely = coming.early_if_idle_until_now(begin, at_most, band, by_date)
            if not self._is_soon(surely, on):
                self.soon, self.raised = False, True

    def _is_soon(self, early: int | None, on: int | None) -> bool:
        """Whether the early day falls within the look-ahead."""
        if early is None:
            return False
        ahead = 4 * (early - self.as_of)
        return ahead <= 4 * LOOK_AHEAD and (on is None or ahead <= on - self.clock.start)

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
    if limits and limits.raised:
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
