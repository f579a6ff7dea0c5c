"""Plan one boat anew in what the others leave: which days it comes in, and each job on one.

Days are added, dropped and exchanged while that is cheaper; for given days each job takes its
cheapest, those with the most access first. Good, not proved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import NEVER
from fleetcare.plan.search_moves import Journal


@dataclass(slots=True)
class Try:
    """What days for one boat cost beside leaving all its jobs out, and the day of each job."""

    cost: int
    days: list[int]


def replan(board: Board, jobs: Sequence[int], journal: Journal) -> None:
    """Give jobs of one boat, not tied by supplies or a hold, better days if there are any."""
    case = board.case
    before = [board.day[job] for job in jobs]
    cost = board.cost
    for job, day in zip(jobs, before, strict=True):
        if day != NEVER:
            board.take(job)
    order = sorted(jobs, key=lambda job: -case.opening[case.engine[job]][case.access[job]])
    found = _descend(board, order, sorted({day for day in before if day != NEVER}))
    if found.cost >= cost - board.cost:
        for job, day in zip(jobs, before, strict=True):
            if day != NEVER:
                board.put(job, day)
        return
    after = dict(zip(order, found.days, strict=True))
    for job, day in zip(jobs, before, strict=True):
        if after[job] != NEVER:
            board.put(job, after[job])
        if after[job] != day:
            journal.setdefault(job, day)


def _descend(board: Board, order: Sequence[int], days: list[int]) -> Try:
    """The days that no day added, dropped or exchanged makes cheaper."""
    case = board.case
    boat = case.boat[case.engine[order[0]]]
    calls = board.calls[boat] if boat >= 0 else None
    open_days = sorted(
        {
            day
            for job in order
            for _, day in case.choices[job]
            if calls is None or calls[day] or board.room[day]
        }
    )
    now = _try(board, order, days)
    while True:
        better = now
        for others in _beside(days, open_days):
            found = _try(board, order, others)
            if found.cost < better.cost:
                better = found
        if better is now:
            return now
        now, days = better, sorted({day for day in better.days if day != NEVER})


def _beside(days: list[int], open_days: list[int]) -> list[list[int]]:
    """Every set of days that differs by one dropped, added or exchanged."""
    without = [[day for day in days if day != gone] for gone in days]
    added = [day for day in open_days if day not in days]
    return [
        *without,
        *([*days, day] for day in added),
        *([*rest, day] for day in added for rest in without),
    ]


def _try(board: Board, order: Sequence[int], days: Sequence[int]) -> Try:
    """Each job on its cheapest of these days, in order."""
    case = board.case
    boat = case.boat[case.engine[order[0]]]
    paid = {day: 0 if boat < 0 or board.calls[boat][day] else case.boat_day for day in days}
    left = {day: board.left[day] for day in days}
    opened: dict[tuple[int, int], int] = {}
    total, chosen = 0, []
    for job in order:
        engine, access, minutes = case.engine[job], case.access[job], case.minutes[job]
        opening, costs = case.opening[engine], case.at[job]
        least, found, used = case.leaving[job], NEVER, 0
        for day in days:
            cost = costs[day]
            if cost == NEVER or cost >= least:
                continue
            before = opened.get((engine, day))
            if before is None:
                before = opened[engine, day] = max(0, board.opened[engine][day])
            taken = opening[access & ~before]
            cost += taken * case.minute + paid[day]
            if cost < least and minutes + taken <= left[day]:
                least, found, used = cost, day, minutes + taken
        total += least - case.leaving[job]
        chosen.append(found)
        if found != NEVER:
            paid[found] = 0
            left[found] -= used
            opened[engine, found] |= access
    return Try(total, chosen)
