"""The life that a job is expected to have used on each day to come.

By hours: what is used now and the median of the forecast, in the water of the day of planning.
By calendar: exact. The larger counts. A job without a life counts as life 1 on its due day, and
1/30 more each day after, 1/30 less each day before; without record, and a follow-up of what holds
the engine, its due day is the day of planning. Where several of these hold, the largest counts.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from fleetcare.due.clock import clock_of
from fleetcare.due.coming import Coming
from fleetcare.due.life import Life
from fleetcare.due.records import Due
from fleetcare.rules.rule import RuleSet
from fleetcare.usage.components import Carriage

A_LIFE_IN = 30  # days in which a job without a life uses up one: our design choice
ZERO, ONE = Fraction(0), Fraction(1)
LifeOn = Callable[[int], Fraction]


def life_by_day(
    row: Due, carriage: Carriage, coming: Coming, ruleset: RuleSet, holds: bool = False
) -> LifeOn:
    """The expected life of a row's job by the day, an ordinal from the day of planning on.

    `holds` says that the engine is held until it is done.
    """
    today = carriage.as_of
    parts: list[LifeOn] = []
    if row.rule.limits:
        parts.append(_by_limits(row, carriage, coming, ruleset))
        if row.life_used is None:
            parts.append(_without_limits(today))
    if row.opened_on is not None:
        parts.append(_without_limits(today if holds else row.opened_on))
    if not parts:
        return lambda day: ONE
    if len(parts) == 1:
        return parts[0]
    return lambda day: max(part(day) for part in parts)


def _without_limits(due_on: int) -> LifeOn:
    return lambda day: max(ZERO, ONE + Fraction(day - due_on, A_LIFE_IN))


def _by_limits(row: Due, carriage: Carriage, coming: Coming, ruleset: RuleSet) -> LifeOn:
    today = carriage.as_of
    component = carriage.under(row.engine, row.rule.component)
    clock = clock_of(carriage, component, ruleset.restarted_by(row.task))
    life = Life(row.rule, clock)
    water = life.strictest_by(today) if life.strictest else component.water_on(today)
    by_hours = life.by_hours(clock.mix(today, today), today)
    by_calendar = life.by_calendar(today, today)
    limit, span, begin = life.hours_limit(water), life.spans[water], coming.begin(clock)

    def expected(day: int) -> Fraction:
        ran, over = by_hours.numerator, by_hours.denominator
        if limit:
            ran, over = ran * limit + coming.likely_by(begin, day) * over, over * limit
        passed, whole = by_calendar.numerator, by_calendar.denominator
        if span:
            passed, whole = passed * span + max(0, day - today) * whole, whole * span
        return Fraction(ran, over) if ran * whole > passed * over else Fraction(passed, whole)

    return expected
