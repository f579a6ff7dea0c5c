"""The working of one row: what was counted, so that a mechanic can check it with a pencil."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.due.clock import Clock, clock_of
from fleetcare.due.life import Life
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.waters import Water
from fleetcare.log.history import History
from fleetcare.rules.rule import Limit, Rule, RuleSet
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import Mix


@dataclass(frozen=True, slots=True)
class Share:
    """What one water contributed: its hours and days, the limits, and the shares of life."""

    water: str
    hours: Fraction
    likely: Fraction
    hours_limit: int | None
    hours_share: Fraction
    days: int
    days_limit: int
    months: int | None
    days_share: Fraction


@dataclass(frozen=True, slots=True)
class Working:
    """A clock laid open."""

    rule: Rule
    ruleset: RuleSet
    clock: Clock
    engines: tuple[tuple[str, date, date | None], ...]
    readings: tuple[tuple[date, Fraction], ...]
    shares: tuple[Share, ...]
    by_hours: Fraction
    by_calendar: Fraction
    strictest: Water | None
    first_service: bool


def working(
    fleet: Fleet, history: History, ruleset: RuleSet, engine: str, task: str, as_of: date,
    undone: Mapping[str, frozenset[int]] | None = None,
) -> Working:  # fmt: skip
    """The working of one job of one engine as of a day; `undone` jobs do not count as done."""
    carriage = Carriage(fleet, history, as_of.toordinal(), undone)
    rule = ruleset.rules[task]
    component = carriage.under(engine, rule.component)
    clock = clock_of(carriage, component, ruleset.restarted_by(task))
    day = as_of.toordinal()
    mix = clock.mix(day, day)
    life = Life(rule, clock) if rule.limits else None
    strictest = Water(life.strictest_by(day)) if life and life.strictest else None
    spans = tuple(
        (span.engine, date.fromordinal(span.first), _end(span.last, day))
        for span in component.spans
        if span.last >= clock.start
    )
    return Working(
        rule, ruleset, clock, spans, _readings(carriage, engine, clock, day),
        tuple(_shares(life, clock, mix, day)) if life else (),
        life.by_hours(mix, day) if life else Fraction(0),
        life.by_calendar(day, day) if life else Fraction(0),
        strictest, bool(clock.new and rule.first),
    )  # fmt: skip


def _end(last: int, day: int) -> date | None:
    return date.fromordinal(last) if last < day else None


def _readings(
    carriage: Carriage, engine: str, clock: Clock, day: int
) -> tuple[tuple[date, Fraction], ...]:
    """Engine hours at the clock start and at the last close before the day."""
    use = carriage.uses[engine]
    if clock.start < use.since or day < use.since:
        return ((date.fromordinal(day), Fraction(use.hours_to(day, day))),)
    return tuple(
        (date.fromordinal(at), Fraction(use.hours_to(at, day))) for at in (clock.start, day)
    )


def _shares(life: Life, clock: Clock, mix: Mix, day: int) -> list[Share]:
    """Water by water, in the limits that hold for it."""
    days = clock.component.days_by_water(clock.start, day - 1)
    if life.strictest:
        strictest = life.strictest_by(day)
        mix = _all_in(mix, strictest)
        days = [sum(days) if water == strictest else 0 for water in range(3)]
    shares = []
    for water in Water:
        if not (mix[water] or mix[water + 3] or days[water]):
            continue
        limit = life.limits[water] or Limit()
        span = life.spans[water]
        shares.append(
            Share(
                water.word, Fraction(mix[water]), Fraction(mix[water + 3]), limit.hours,
                Fraction(mix[water]) / limit.hours if limit.hours else Fraction(0),
                days[water], span, limit.months,
                Fraction(days[water], span) if span else Fraction(0),
            )
        )  # fmt: skip
    return shares


def _all_in(mix: Mix, water: int) -> Mix:
    values = [0, 0, 0, 0, 0, 0]
    out: list[Fraction | int] = list(values)
    out[water], out[water + 3] = mix[0] + mix[1] + mix[2], mix[3] + mix[4] + mix[5]
    return (out[0], out[1], out[2], out[3], out[4], out[5])
