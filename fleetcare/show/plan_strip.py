"""The days of a plan as a strip for the terminal: a column a day, weeks named above.

A block stands for the share of the day's minutes that is used, a dot for an open day without
work, a dash for a closed one; below, a mark under each day that has a late job. It needs no
colour and no more than 80 columns; more than nine weeks go on in a second strip.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from fleetcare.fleet.days import MONTHS
from fleetcare.plan.records import Plan

BLOCKS = "▁▂▃▄▅▆▇█"
CLOSED, IDLE, LATE = "-", "·", "!"
WEEKS = 9
LABEL = 8


def strip(plan: Plan, minutes: Mapping[str, Sequence[int]], width: int) -> list[str]:
    """The lines of every place's strip; `minutes` are by place those of each day, 0 closed."""
    lines: list[str] = []
    days = max(7, min(WEEKS * 7, (width - LABEL - 2) // 7 * 7))
    for begin in range(plan.first, plan.last + 1, days):
        end = min(plan.last, begin + days - 1)
        lines.append(f"{'':{LABEL}}{_ruler(begin, end)}".rstrip())
        for place, by_day in minutes.items():
            name = (place or "load")[: LABEL - 1]
            lines.append(f"{name:{LABEL}}{_loads(plan, place, by_day, begin, end)}")
        late = _late(plan, begin, end)
        if LATE in late:
            lines.append(f"{'late':{LABEL}}{late}".rstrip())
    return lines


def legend() -> str:
    """What the marks of a strip mean."""
    return (
        f"{CLOSED} closed, {IDLE} open, {BLOCKS[0]} to {BLOCKS[-1]} filled, {LATE} with late jobs"
    )


def _ruler(begin: int, end: int) -> str:
    """Mondays by their day, the first and every first one of a month with its month's name."""
    text = ""
    month = 0
    for day in range(begin, end + 1):
        on = date.fromordinal(day)
        column = day - begin
        if on.weekday() == 0 and len(text) <= column:
            words = str(on.day) if on.month == month else f"{on.day} {MONTHS[on.month - 1]}"
            if column + len(words) <= end - begin + 1:
                text = text.ljust(column) + words
                month = on.month
    return text


def _loads(plan: Plan, place: str, by_day: Sequence[int], begin: int, end: int) -> str:
    used = {day.on: day.minutes for day in plan.days if day.place == place}
    return "".join(
        load_mark(used.get(day, 0), by_day[day - plan.first]) for day in range(begin, end + 1)
    )


def load_mark(minutes: int, capacity: int) -> str:
    """One day's mark: the higher the fuller, any work at all the lowest block."""
    if not capacity:
        return CLOSED
    if not minutes:
        return IDLE
    return BLOCKS[min(len(BLOCKS) - 1, (minutes * len(BLOCKS) - 1) // capacity)]


def _late(plan: Plan, begin: int, end: int) -> str:
    days = {
        day.on for day in plan.days if any(job.late for visit in day.visits for job in visit.jobs)
    }
    return "".join(LATE if day in days else " " for day in range(begin, end + 1))
