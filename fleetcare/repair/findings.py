"""What was found, as evidence of how long a part lasts: the lives of parts, look by look.

A part's life begins with the job that makes it as new and is looked at in jobs and findings.
Fine says that it lasts longer than its age then; a condition that asks for a job, or says stop,
that it was worn out at some time since it was last seen fine. What is only to be watched is
neither, and counts for nothing (our judgement); "not looked at" tells nothing. An age that is not
known tells nothing either, whatever was seen, or else the good news alone would count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import copy
from dataclasses import dataclass, field, replace
from fractions import Fraction

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.followups import undone_by_engine
from fleetcare.due.life import Life as Used
from fleetcare.due.rows import rules_for
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import EngineLog, History, Seen
from fleetcare.rules.rule import Limit, Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import NOT_LOOKED_AT
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.hours import Mix, plus

HOURS, MONTHS, DAYS = "h", "months", "days"
FINE, WATCH, WORN = "fine", "watch", "worn"
_WEIGHTS: Mapping[str, str] = {"fine": FINE, "watch": WATCH, "act": WORN, "stop": WORN}

_RANKS = ("", FINE, WATCH, WORN)  # of several looks on one day the last of these counts


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that wear alike: one task of one rule set, in one water and one use."""

    ruleset: str
    task: str
    water: int
    use: str


@dataclass(frozen=True, slots=True)
class PartLife:
    """One life of a part, as its last look that tells something left it.

    Ages are shares of the limit. `worn` is None while it was only seen fine, until `fine`.
    """

    engine: str
    day: int
    number: int
    condition: str
    fine: float
    worn: float | None = None


@dataclass(slots=True)
class Lives:
    """The lives of a group's parts: `limit` in its `unit`; how many looks told nothing, and why."""

    group: Group
    rule: Rule
    limit: float
    unit: str
    lives: list[PartLife] = field(default_factory=list)
    watched: int = 0
    not_looked: int = 0
    unknown_age: int = 0

    @property
    def worn(self) -> int:
        """How many parts were found worn out."""
        return sum(life.worn is not None for life in self.lives)


@dataclass(frozen=True, slots=True)
class _Look:
    """One look at a part: its day, what it told, the share of the day's hours run before it."""

    day: int
    told: str
    seen: Seen
    engine: str
    share: float


def lives_of_parts(
    fleet: Fleet, history: History, book: RuleBook, as_of: int, task: str | None = None
) -> list[Lives]:
    """Every group of parts that something was found of, by task, water and use."""
    carriage = Carriage(fleet, history, as_of, undone_by_engine(history, book))
    reader = _Reader(carriage, book)
    for name, engine in carriage.known.items():
        ruleset = book.set_of(engine.rules or fleet.settings.rules)
        for rule, tasks in rules_for(ruleset, engine):
            if task in (None, rule.name) and renews(ruleset, rule):
                reader.read(ruleset, rule, tasks, carriage.under(name, rule.component))
    order = {name: at for ruleset in book.sets.values() for at, name in enumerate(ruleset.rules)}
    return sorted(
        reader.groups.values(),
        key=lambda item: (
            order[item.group.task], -item.group.water, item.group.use, item.group.ruleset
        ),
    )  # fmt: skip


def renews(ruleset: RuleSet, rule: Rule) -> bool:
    """Whether a task is the one whose limits a part's life is held against.

    A mere look at a part that another task of the set renews is not.
    """
    if not rule.limits or not rule.part:
        return False
    return not any(
        other.limits and other.part == rule.part and rule.name in other.restarts
        for other in ruleset.rules.values()
    )


class _Reader:
    """Goes through the looks at each part in turn and keeps what they tell."""

    def __init__(self, carriage: Carriage, book: RuleBook) -> None:
        self.carriage, self.book = carriage, book
        self.groups: dict[Group, Lives] = {}

    def read(
        self, ruleset: RuleSet, rule: Rule, tasks: tuple[str, ...], component: ComponentUse
    ) -> None:  # fmt: skip
        """One part of one component, from its first look to its last."""
        life: _Life | None = None
        for look in sorted(self._looks(rule, component), key=lambda look: look.day):
            clock = self._clock_before(component, tasks, look.day)
            if life is None or not life.is_of(clock):
                self._keep(life)
                life = _Life(clock)
            self._take(life, ruleset, rule, look)
        self._keep(life)

    def _looks(self, rule: Rule, component: ComponentUse) -> Iterator[_Look]:
        """The looks at the part; of several on one day the worst."""
        words = self.book.conditions.get(rule.part, {})
        by_day: dict[int, _Look] = {}
        for span in component.spans:
            log = self.carriage.history.of(span.engine)
            for seen in log.seen:
                known = words.get(seen.condition)
                if seen.part != rule.part or known is None or not span.first <= seen.day:
                    continue
                if seen.day > span.last:
                    continue
                told = "" if seen.condition == NOT_LOOKED_AT else _WEIGHTS[known.weight]
                look = _Look(seen.day, told, seen, span.engine, self._share(log, span.engine, seen))
                other = by_day.get(seen.day)
                if other is None or _RANKS.index(told) > _RANKS.index(other.told):
                    by_day[seen.day] = look
        yield from by_day.values()

    def _share(self, log: EngineLog, engine: str, seen: Seen) -> float:
        """How much of the day's hours were run before a look.

        A finding is made after them. A job with a figure at its figure; without one before them,
        since the day's hours count as run after it.
        """
        if not seen.task:
            return 1.0
        mark = next(
            (
                mark
                for mark in log.jobs.get(seen.task, ())
                if (mark.day, mark.number) == (seen.day, seen.number)
            ),
            None,
        )
        if mark is None or mark.reading is None:
            return 0.0
        use, known = self.carriage.uses[engine], self.carriage.as_of
        begin = use.hours_to(seen.day - 1, known)
        ran = use.hours_to(seen.day, known) - begin
        if ran <= 0:
            return 0.0
        return min(1.0, max(0.0, float((use.closes.figure(mark.day, mark.reading) - begin) / ran)))

    def _clock_before(self, component: ComponentUse, tasks: tuple[str, ...], day: int) -> Clock:
        """The clock that ran until the jobs of a day: a look is at what was there before them."""
        engines = {span.engine for span in component.spans}
        engines.add(self.carriage.name_of(component.component.engine))
        earlier = History()
        for engine in engines:
            jobs = self.carriage.history.of(engine).jobs
            earlier.engines[engine] = EngineLog(
                jobs={task: [m for m in jobs.get(task, ()) if m.day < day] for task in tasks}
            )
        then = copy(self.carriage)
        then.history = earlier
        return clock_of(then, component, tasks)

    def _take(self, life: _Life, ruleset: RuleSet, rule: Rule, look: _Look) -> None:
        """What one look tells of a life; nothing more, once the part was found worn out."""
        if life.last is not None and life.last.worn is not None:
            return
        clock = life.clock
        used = Used(replace(rule, first=None), clock)
        component = clock.component
        water = used.strictest_by(look.day) if rule.strictest else component.water_on(look.day)
        limit = (rule.limits or (None, None, None))[water]
        if limit is None:
            return
        lives = self._group(ruleset, rule, water, look, limit)
        if look.told in ("", WATCH):
            if look.told:
                lives.watched += 1
            else:
                lives.not_looked += 1
            return
        if limit.hours:
            age = float(used.by_hours(self._mix(clock, look), look.day))
        else:
            age = float(used.by_calendar(look.day, look.day))
        is_known = clock.is_start and not (limit.hours and clock.unknown_before)
        if not is_known or age <= 0.0:
            lives.unknown_age += 1
            return
        life.add(lives, look, age)

    def _mix(self, clock: Clock, look: _Look) -> Mix:
        """Hours by water from the start of the clock to a look."""
        known = self.carriage.as_of
        mix = clock.mix(look.day - 1, known)
        if not look.share:
            return mix
        day = clock.component.mix(look.day, look.day, known)
        if look.share == 1.0:
            return plus(mix, day)
        share = Fraction(look.share)
        part = (day[0] * share, day[1] * share, day[2] * share)
        return plus(mix, (*part, day[3] * share, day[4] * share, day[5] * share))

    def _group(
        self, ruleset: RuleSet, rule: Rule, water: int, look: _Look, limit: Limit
    ) -> Lives:  # fmt: skip
        group = Group(ruleset.name, rule.name, water, self._use_on(look.engine, look.day))
        found = self.groups.get(group)
        if found is None:
            unit = HOURS if limit.hours else MONTHS if limit.months else DAYS
            size = limit.hours / 100 if limit.hours else limit.months or limit.days or 0
            found = self.groups[group] = Lives(group, rule, float(size), unit)
        return found

    def _use_on(self, engine: str, day: int) -> str:
        """The use of the boat an engine was on, or was on last, on a day."""
        boats = [stay.boat for stay in self.carriage.stays[engine] if stay.first <= day]
        boat = next((name for name in reversed(boats) if name), None)
        return self.carriage.fleet.boats[boat].use if boat else "owner"

    def _keep(self, life: _Life | None) -> None:
        if life is not None and life.last is not None and life.lives is not None:
            life.lives.lives.append(life.last)


class _Life:
    """A life as its looks tell it, one after the other."""

    __slots__ = ("clock", "fine", "last", "lives")

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.fine: list[float] = []
        self.lives: Lives | None = None
        self.last: PartLife | None = None

    def is_of(self, clock: Clock) -> bool:
        """Whether a clock is the one this life runs on."""
        mine = self.clock
        return (mine.start, mine.job, mine.new) == (clock.start, clock.job, clock.new)

    def add(self, lives: Lives, look: _Look, age: float) -> None:
        """One look more, at an age."""
        self.lives = lives
        if look.told == FINE:
            self.fine.append(age)
            fine, worn = max(self.fine), None
        else:
            fine, worn = max((one for one in self.fine if one < age), default=0.0), age
        self.last = PartLife(
            look.engine, look.day, look.seen.number, look.seen.condition, fine, worn
        )
