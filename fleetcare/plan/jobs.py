"""Which rows of the due list are wanted of a plan, and what each costs on each day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.due.followups import Standing
from fleetcare.due.records import CLEAR, NO_RECORD, Due
from fleetcare.due.triggers import ANSWERS_BEFORE
from fleetcare.plan.life import LifeOn
from fleetcare.plan.workshop import HUNDREDTHS, Calendar, Rates
from fleetcare.rules.rule import Rule


@dataclass(frozen=True, slots=True)
class Demand:
    """A row that wants a day: the life expected on each, and whether the engine is held for it."""

    row: Due
    life: LifeOn
    holds: bool = False

    @property
    def key(self) -> tuple[str, str]:
        """Engine and task."""
        return self.row.engine, self.row.task


def is_put_off(row: Due, today: int) -> bool:
    """Whether it leaves the plan until its day; a precursor never does."""
    return row.put_off_until is not None and row.put_off_until > today and not row.is_precursor


def presses(row: Due) -> bool:
    """Whether it leads to overheating or a seized swivel on an engine that goes out.

    One in store or laid up harms nobody until it does; its jobs are planned, after the others.
    """
    return row.rule.is_precursor and row.boat is not None and not row.laid_up


def is_wanted(row: Due, today: int, last: int) -> bool:
    """Whether a row is due by the last day, by its early date; nothing is clear before launch."""
    if is_put_off(row, today):
        return False
    if row.status == NO_RECORD:
        return True
    if row.laid_up and row.status == CLEAR:
        return False
    return row.due_early is not None and row.due_early <= last


def held_for(stands: Mapping[str, Sequence[Standing]]) -> frozenset[tuple[str, str]]:
    """Engine and task of every job that a hold waits for."""
    return frozenset(
        (engine, task)
        for engine, items in stands.items()
        for item in items
        if item.holds
        for task in item.wanted
    )


def due_day(row: Due, calendar: Calendar) -> int | None:
    """The day, from 0, after which the job is late; None when that is after the last one."""
    if row.status == NO_RECORD:
        return 0
    if row.due_on is None or row.due_on > calendar.last:
        return None
    return max(0, row.due_on - calendar.first)


def earliest_day(row: Due, calendar: Calendar) -> int:
    """The first day, from 0, on which the job counts: one for a season can come too early."""
    if row.status == NO_RECORD or not row.rule.season or row.opened_on is None:
        return 0
    if row.opened_on == row.due_on:
        return max(0, row.opened_on - ANSWERS_BEFORE - calendar.first)
    return 0


def job_value(rule: Rule, rates: Rates) -> Fraction:
    """What one life of the job is worth, in workshop minutes: its own and those of its parts."""
    money = sum((part.price * part.count for part in rule.parts if part.price), Fraction(0))
    return rule.minutes + rates.minutes_of(money)


def cost_by_day(demand: Demand, rates: Rates, calendar: Calendar) -> tuple[int, ...]:
    """What the job costs on each day, in hundredths of a workshop minute."""
    value, weight = job_value(demand.row.rule, rates), _weight(demand.row, rates)
    return tuple(
        _of_life(value, weight, demand.life(day))
        for day in range(calendar.first, calendar.last + 1)
    )


def cost_unplaced(demand: Demand, rates: Rates, calendar: Calendar) -> int:
    """What leaving it costs: its life run over on the last day, and the fixed penalty."""
    value, weight = job_value(demand.row.rule, rates), _weight(demand.row, rates)
    life = demand.life(calendar.last)
    return (_of_life(value, weight, life) if life > 1 else 0) + rates.unplaced * HUNDREDTHS


def _weight(row: Due, rates: Rates) -> int:
    return rates.precursor if presses(row) else rates.late


def _of_life(value: Fraction, weight: int, life: Fraction) -> int:
    """The value of life thrown away, or that of life run over times its weight, rounded half up.

    In whole numbers, since there is one for every job and day.
    """
    apart = life.denominator - life.numerator
    worth = value.numerator * HUNDREDTHS * (apart if apart >= 0 else -apart * weight)
    over = value.denominator * life.denominator
    return (2 * worth + over) // (2 * over)
