"""When a job comes due again after it was done: by hours, by calendar, by the season.

Hours are those of one course of use: the forecast's 10, 50 or 90 % points. Days of a lay-up count
for the calendar, and what comes due in them waits for the launch, since it is done before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.coming import EARLY, HIGH, LATE, LOW, MIDDLE
from fleetcare.due.life import months_after
from fleetcare.due.records import NO_RECORD, Due
from fleetcare.due.triggers import ANSWERS_BEFORE
from fleetcare.rules.rule import Rule
from fleetcare.usage.forecast import Outlook

COURSES = (EARLY, MIDDLE, LATE)  # much use, middling, little
POINTS = {EARLY: HIGH, MIDDLE: MIDDLE, LATE: LOW}
AHEAD_DAYS, AHEAD_SHARE = 30, 4  # what else is due so soon, at most a quarter of its interval

MonthDay = tuple[int, int]
Season = tuple[MonthDay, MonthDay]


@dataclass(frozen=True, slots=True)
class Repeat:
    """One job of one engine over a coming time: when it is due, and when again.

    Days are ordinals; `first` is when it is due by the course of use, None when never.
    """

    rule: Rule
    first: int | None
    water: int
    outlook: Outlook
    course: float
    season: Season | None

    def again(self, done: int) -> int | None:
        """The day it comes due again after it was done on a day; None for what does not repeat."""
        days = [*self._by_limits(done), *self._by_season(done)]
        return min(days, default=None)

    def _by_limits(self, done: int) -> list[int]:
        limit = self.rule.limits[self.water] if self.rule.limits else None
        if limit is None:
            return []
        found = []
        if limit.months is not None:
            found.append(months_after(done, limit.months))
        elif limit.days is not None:
            found.append(done + limit.days)
        if limit.hours:
            begin = self.outlook.hours_by(done, POINTS[self.course])
            day = self.outlook.day_when(begin + limit.hours / 100, self.course)
            if day is not None:
                found.append(max(day, done + 1))
        return found

    def _by_season(self, done: int) -> list[int]:
        if not self.rule.season or self.season is None:
            return []
        mark = self.season[0 if self.rule.season == "launch" else 1]
        return [next_mark(mark, done + ANSWERS_BEFORE + 1)]

    def ahead(self, due: int) -> int:
        """How many days before it is due it is done with others that are."""
        again = self.again(due)
        return AHEAD_DAYS if again is None else min(AHEAD_DAYS, (again - due) // AHEAD_SHARE)


def next_mark(mark: MonthDay, day: int) -> int:
    """The season's next first or last day, from a day on."""
    on = date.fromordinal(day)
    this_year = date(on.year, *mark)
    return (this_year if this_year >= on else date(on.year + 1, *mark)).toordinal()


def first_due(row: Due, course: float, today: int) -> int | None:
    """The day a row is due by a course of use: today when it is late, without record or put off."""
    if row.status == NO_RECORD:
        return today
    days = dict(zip(COURSES, (row.due_early, row.due_on, row.due_late), strict=True))
    day = days[course]
    if day is None:
        return None
    return max(day, today, row.put_off_until or 0)


def waits_for(day: int, season: Season | None, laid_up: bool, today: int) -> int:
    """The day itself, or the launch when it lies in a lay-up: that of the season, or one now."""
    if season is None:
        return day
    launch, lay_up = season
    if laid_up and day < next_mark(launch, today + 1):
        return next_mark(launch, today + 1)
    before = _last_mark(lay_up, day)
    return day if _last_mark(launch, day) > before or before == day else next_mark(launch, day)


def _last_mark(mark: MonthDay, day: int) -> int:
    """The season's last such day, up to a day."""
    on = date.fromordinal(day)
    this_year = date(on.year, *mark)
    return (this_year if this_year <= on else date(on.year - 1, *mark)).toordinal()


def repeats_of(
    rows: Sequence[Due], outlook: Outlook, course: float, season: Season | None, today: int
) -> list[Repeat]:
    """The jobs of one engine that a year ahead counts: a flush after each run is nobody's visit."""
    return [
        Repeat(row.rule, first_due(row, course, today), row.water, outlook, course, season)
        for row in rows
        if row.rule.limits or row.rule.season or row.opened_on is not None
        if not _is_each_run(row.rule)
    ]


def _is_each_run(rule: Rule) -> bool:
    return rule.each_run is not None and not rule.limits and not rule.season
