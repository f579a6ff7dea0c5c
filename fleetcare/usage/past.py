"""An engine's past use as the forecast takes it: blocks of days with the hours run in them.

Readings tell only what was run between them, so blocks end at readings where hours come from
readings, and stand on a grid where logged runs tell every day. Days laid up are days without
hours; days in store tell nothing and are left out.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from fleetcare.usage.forecast import Block
from fleetcare.usage.hours import EngineUse
from fleetcare.usage.places import NEVER, Berth

BLOCK = 14  # days: shorter ones only tell how noisy days are
YEARS_BACK = 6  # what is older has faded from any forecast
EXPLAIN = Fraction(95, 100)  # runs that make up so much of the readings are taken as all there were
INTERVALS = 8


def known_through(use: EngineUse) -> int:
    """The last day whose hours are known: of the last reading, or of the last run.

    Runs after the last reading end the not knowing only where runs usually tell all the hours.
    """
    closes = use.closes
    last_run, last_close = use.last_run_day(), closes.days[-1]
    unmetered = bool(closes.unmetered) and closes.unmetered[-1][1] == NEVER
    if last_run is None or last_run <= last_close:
        return max(last_close, use.since)
    if unmetered or use.runs_explain(INTERVALS, EXPLAIN):
        return last_run
    return last_close


def blocks_of(use: EngineUse, stays: list[Berth], through: int) -> list[Block]:
    """The blocks from the engine's `since`, or six years ago, through a day; none in store."""
    first = max(use.since, through - YEARS_BACK * 365)
    stops = _edges(use, first, through)
    stored = [(stay.first, stay.last) for stay in stays if stay.boat is None]
    blocks = []
    before = use.hours_to(first, through)
    for begin, end in pairwise(stops):
        now = use.hours_to(end, through)
        if not any(first <= begin + 1 and end <= last for first, last in stored):
            blocks.append(Block(begin + 1, end, float(now - before) / 100))
        before = now
    return blocks


def _edges(use: EngineUse, first: int, through: int) -> list[int]:
    """Days at whose close a block ends, in order, the first being where the first one begins."""
    if through <= first:
        return [first]
    own = set()
    for begin, end in use.idle:
        own |= {day for day in (begin - 1, min(end, through)) if first < day < through}
    days = use.closes.days
    if use.runs_explain(INTERVALS, EXPLAIN) or len(days) < 2:
        marks = list(range(through, first, -BLOCK))
    else:
        marks = _spaced(days, through)
    own |= {day for day in marks if first < day < through}
    return [first, *sorted(own), through]


def _spaced(days: list[int], through: int) -> list[int]:
    """Days of readings at least a block apart, the last ones first."""
    chosen, last = [], through
    for day in reversed(days):
        if last - day >= BLOCK:
            chosen.append(day)
            last = day
    return chosen
