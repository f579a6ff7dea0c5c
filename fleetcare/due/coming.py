"""What is to come of one engine's hours, as the limits of its jobs ask for it.

The outlook begins at the close of the last day whose hours are known. What was logged since (runs
after the last reading) is part of the use it foresees, not on top of it.
"""

from __future__ import annotations

import math
from fractions import Fraction

from fleetcare.due.clock import Clock
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.hours import EngineUse, Mix
from fleetcare.usage.meter import Hours

EARLY, MIDDLE, LATE = 0.1, 0.5, 0.9  # chances that it has come by the day
LOW, HIGH = 0.1, 0.9  # points of the hours run by a day
Days = tuple[int | None, int | None, int | None]


class Coming:
    """The outlook of one engine on a day. Hours in and out are hundredths."""

    __slots__ = ("_counted", "_most", "_now", "as_of", "outlook", "start", "use")

    def __init__(self, outlook: Outlook, use: EngineUse, as_of: int) -> None:
        self.outlook, self.use, self.as_of = outlook, use, as_of
        self.start = outlook.start
        self._counted: Hours = 0
        self._now = self._most = 0.0
        if as_of > self.start:
            self._counted = use.hours_to(as_of, as_of) - use.hours_to(self.start, as_of)
            self._now = outlook.hours_by(as_of, MIDDLE) * 100
            self._most = outlook.hours_by(as_of, HIGH) * 100

    def begin(self, clock: Clock) -> int:
        """The day from whose close on coming hours count for a clock."""
        return max(self.start, clock.counts_from - 1, clock.component.spans[-1].first - 1)

    def _before(self, begin: int, point: float) -> float:
        """Hours between the last known day and a later beginning, at the same point of use.

        What a part does not carry must not widen its dates: a job done today ends the not knowing.
        """
        if begin <= self.start:
            return 0.0
        return self.outlook.hours_by(min(begin, self.as_of), point) * 100

    def _since(self, begin: int) -> float:
        """Hours logged after a beginning."""
        if begin <= self.start:
            return float(self._counted)
        use = self.use
        return float(use.hours_to(self.as_of, self.as_of) - use.hours_to(begin, self.as_of))

    def likely_since(self, begin: int) -> int:
        """Whole hundredths that it likely ran beyond those logged, from a beginning to now."""
        if begin >= self.as_of:
            return 0
        return max(0, int(self._now - self._before(begin, MIDDLE) - self._since(begin)))

    def likely_by(self, begin: int, day: int) -> int:
        """Whole hundredths that it likely will have run beyond those logged, by a coming day.

        Rounded up, so that what is left of a limit is used by its middle day.
        """
        ran = self.outlook.hours_by(day, MIDDLE) * 100
        return max(0, math.ceil(ran - self._before(begin, MIDDLE) - self._since(begin) - 1e-6))

    def most_since(self, begin: int) -> int:
        """The 90 % point of the same."""
        return max(0, int(self._most - self._before(begin, HIGH) - self._since(begin)))

    def band(self, mix: Mix) -> float:
        """How much more the hours of a clock may be than counted, for each hour: from fuel."""
        hours = mix[0] + mix[1] + mix[2]
        if not self.use.burns_fuel or not hours:
            return 0.0
        return float(Fraction(mix[3] + mix[4] + mix[5]) / hours)

    def days(
        self, begin: int, left: Hours, at_most: Hours, band: float, by_date: int | None
    ) -> Days:
        """Early, middle and late day on which what is left is run, the calendar's at the latest.

        `at_most` is what is left if all likely hours were run, and counts for the early day.
        """
        since = self._since(begin)
        soonest = float(at_most) / (1 + band) + since + self._before(begin, HIGH)
        if by_date is not None and self.outlook.hours_by(by_date, HIGH) * 100 < soonest:
            return by_date, by_date, by_date
        target = float(left) + since
        early = self._day(soonest, EARLY, by_date)
        middle = self._day(target + self._before(begin, MIDDLE), MIDDLE, by_date)
        late = self._day(target + self._before(begin, LOW), LATE, by_date)
        return early, middle, late

    def _day(self, target: float, chance: float, by_date: int | None) -> int | None:
        day = self.outlook.day_when(target / 100, chance)
        if day is None:
            return by_date
        day = max(day, self.as_of)
        return day if by_date is None else min(day, by_date)

    def early_if_idle_until_now(
        self, begin: int, at_most: Hours, band: float, by_date: int | None
    ) -> int | None:
        """The early day if nothing ran beyond what is logged."""
        return self._day(float(at_most) / (1 + band) + self._most, EARLY, by_date)

    def chance_used(self, begin: int, left: Hours) -> float:
        """The chance that what is left is run already: 0 below one in ten.

        Between the 10, 50 and 90 % points of the hours since the last reading it is drawn straight.
        """
        target = float(left) + self._since(begin)
        most = self._most - self._before(begin, HIGH)
        if most <= 0 or target > most:
            return 0.0
        middle = self._now - self._before(begin, MIDDLE)
        if target > middle:
            return 0.5 - 0.4 * (target - middle) / (most - middle)
        least = self.outlook.hours_by(self.as_of, LOW) * 100 - self._before(begin, LOW)
        if target > least:
            return 0.9 - 0.4 * (target - least) / (middle - least)
        return 0.9
