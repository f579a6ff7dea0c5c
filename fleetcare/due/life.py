"""Life used: linear accumulation over waters, by hours and by calendar.

A part that may run H hours in a water has used h/H of its life after h hours there; the shares
of several waters add up (Palmgren 1924; Miner 1945). The calendar adds 1/N for every day, N being
the days from the start to the start plus the months of that water.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from dateutil.relativedelta import relativedelta

from fleetcare.due.clock import Clock
from fleetcare.fleet.waters import Water
from fleetcare.rules.rule import Limit, Limits, Rule
from fleetcare.usage.hours import Mix
from fleetcare.usage.meter import Hours

ZERO, ONE = Fraction(0), Fraction(1)


@lru_cache(maxsize=100_000)
def months_after(day: int, months: int) -> int:
    """The day so many calendar months later: 31 January and a month is the last of February."""
    later: date = date.fromordinal(day) + relativedelta(months=months)
    return later.toordinal()


class Life:
    """The life of one rule on one component, asked by day."""

    __slots__ = ("clock", "has_calendar", "limits", "spans", "strictest")

    def __init__(self, rule: Rule, clock: Clock) -> None:
        assert rule.limits is not None
        self.clock = clock
        self.limits: Limits = rule.first if clock.new and rule.first else rule.limits
        self.strictest = rule.strictest
        self.spans = [self._span(limit) for limit in self.limits]
        self.has_calendar = any(self.spans)

    def _span(self, limit: Limit | None) -> int:
        """Days from the start to the end of a limit's calendar, 0 without one."""
        if limit is None:
            return 0
        if limit.months is not None:
            return months_after(self.clock.start, limit.months) - self.clock.start
        return limit.days or 0

    def strictest_by(self, day: int) -> int:
        """The strictest water seen from the start to the close of a day."""
        counts = self.clock.component.days_by_water(self.clock.start, day)
        return next((water for water in (2, 1, 0) if counts[water]), Water.SALT)

    def hours_limit(self, water: int) -> int | None:
        """Hundredths of an hour that the part may run in a water."""
        limit = self.limits[water]
        return None if limit is None else limit.hours

    def by_hours(self, mix: Mix, known: int, likely: bool = False) -> Fraction:
        """Life used by hours of a mix, with the likely ones when asked.

        `known` is the day up to which waters were seen; it matters to the strictest alone.
        """
        hours: tuple[Hours, ...] = mix
        if likely:
            hours = (mix[0] + mix[3], mix[1] + mix[4], mix[2] + mix[5])
        if self.strictest:
            limit = self.hours_limit(self.strictest_by(known))
            return _share(hours[0] + hours[1] + hours[2], limit) if limit else ZERO
        life: Fraction | None = None
        for water in range(3):
            if hours[water]:
                limit = self.hours_limit(water)
                if limit:
                    share = _share(hours[water], limit)
                    life = share if life is None else life + share
        return ZERO if life is None else life

    def by_calendar(self, day: int, known: int) -> Fraction:
        """Life used by the days before a day, waters having been seen up to `known`."""
        if not self.has_calendar:
            return ZERO
        start = self.clock.start
        if self.strictest:
            span = self.spans[self.strictest_by(known)]
            return Fraction(max(0, day - start), span) if span else ZERO
        life: Fraction | None = None
        for water, days in enumerate(self.clock.component.days_by_water(start, day - 1)):
            if days and self.spans[water]:
                share = Fraction(days, self.spans[water])
                life = share if life is None else life + share
        return ZERO if life is None else life

    def at(self, day: int, known: int) -> Fraction:
        """Life used at a day, from what was known by a day."""
        calendar = self.by_calendar(day, known)
        hours = self.by_hours(self.clock.mix(day, known), known)
        return calendar if calendar >= hours else hours

    def first_reached(self, as_of: int) -> int:
        """The first day on which life is 1, counted with all that is known by `as_of`."""
        return self._first_of(as_of, lambda life: life.numerator >= life.denominator, True, 0)

    def first_passed(self, as_of: int, is_past_now: bool) -> int | None:
        """The first day on which the list of that very day had life above 1.

        None if none had; one may have although life is not above 1 now, when later knowledge
        lowered it.
        """
        if self._only_rises(as_of):
            return self._first_of(as_of, is_past, False, 1) if is_past_now else None
        # What later readings take back they take back on their own days: between them it rises,
        # unless a water met meanwhile has a wider limit, which only the strictest rule lets count.
        start = self.clock.start
        days = range(start, as_of + 1) if self.strictest else self.clock.component.reading_days()
        turns = [day for day in days if start < day <= as_of]
        for first, end in pairwise((start, *turns, as_of + 1)):
            if is_past(self.at(end - 1, end - 1)):
                return _first(first, end - 1, lambda day: is_past(self.at(day, day)))
        return None

    def _only_rises(self, as_of: int) -> bool:
        """Whether later knowledge never lowers life: no runs scaled, no stricter water met."""
        if not self.clock.component.has_exact_runs():
            return False
        return not self.strictest or self._one_water(as_of)

    def _one_water(self, as_of: int) -> bool:
        counts = self.clock.component.days_by_water(self.clock.start, as_of)
        return counts.count(0) == 2

    def _first_of(
        self, as_of: int, passed: Callable[[Fraction], bool], hindsight: bool, late: int
    ) -> int:
        """The earlier of the first days on which hours, and calendar, have passed.

        With hindsight every day is counted from what is known by `as_of`, else from what was
        known by the day itself. `late` is how many days after its end a calendar has passed.
        """
        start, found = self.clock.start, []

        def known_by(day: int) -> int:
            return as_of if hindsight else day

        if passed(self.by_calendar(as_of, as_of)):
            counts = self.clock.component.days_by_water(start, as_of - 1)
            if not self.strictest and counts.count(0) == 2:
                found.append(start + self.spans[next(w for w in range(3) if counts[w])] + late)
            else:
                found.append(
                    _first(start, as_of, lambda day: passed(self.by_calendar(day, known_by(day))))
                )
        if passed(self.by_hours(self.clock.mix(as_of, as_of), as_of)):
            mix = self.clock.mix
            found.append(
                _first(
                    start,
                    as_of,
                    lambda day: passed(self.by_hours(mix(day, known_by(day)), known_by(day))),
                )
            )
        return min(found)


def is_past(life: Fraction) -> bool:
    """Whether life is above 1; on whole numbers, which is quicker than comparing fractions."""
    return life.numerator > life.denominator


def _share(hours: Hours, limit: int) -> Fraction:
    return Fraction(hours.numerator, hours.denominator * limit)


def _first(low: int, high: int, passed: Callable[[int], bool]) -> int:
    """The first day that passed, where every later one has too."""
    while low < high:
        middle = (low + high) // 2
        if passed(middle):
            high = middle
        else:
            low = middle + 1
    return low
