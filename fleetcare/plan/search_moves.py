"""Small changes that never make a plan worse: a job to its best day, a visit to its best day."""

from __future__ import annotations

from collections.abc import Iterable

from fleetcare.plan.search_board import NO_VISIT, Board
from fleetcare.plan.search_case import NEVER

Journal = dict[int, int]


def settle(board: Board, engines: Iterable[int], journal: Journal, jobs: frozenset[int]) -> None:
    """Move jobs and visits of these engines to better days until none is left.

    Only `jobs` may move; where they stood is put in the journal.
    """
    for engine in engines:
        mine = [job for job in board.case.jobs[engine] if job in jobs]
        while _settle_visits(board, mine, journal) or _settle_jobs(board, mine, journal):
            pass


def undo(board: Board, journal: Journal) -> None:
    """Put every job of the journal back where it stood."""
    for job in journal:
        if board.day[job] != NEVER:
            board.take(job)
    for job, day in journal.items():
        if day != NEVER:
            board.put(job, day)


def _settle_jobs(board: Board, jobs: list[int], journal: Journal) -> bool:
    moved = False
    for job in jobs:
        before, cost = board.day[job], board.cost
        if before != NEVER:
            if board.case.first[board.case.engine[job]]:
                continue
            board.take(job)
        day = board.best(job)[1]
        if day != NEVER:
            board.put(job, day)
        if board.cost < cost:
            journal.setdefault(job, before)
            moved = True
        elif day != before:
            if day != NEVER:
                board.take(job)
            board.put(job, before)
    return moved


def _settle_visits(board: Board, jobs: list[int], journal: Journal) -> bool:
    moved = False
    for day in sorted({board.day[job] for job in jobs}):
        visit = [job for job in jobs if board.day[job] == day]
        if day != NEVER and len(visit) > 1:
            moved |= shift(board, visit, day, journal)
    return moved


def shift(board: Board, visit: list[int], day: int, journal: Journal) -> bool:
    """Move jobs of one engine that stand on one day to the best day for them together."""
    cost = board.cost
    for job in visit:
        board.take(job)
    to = best_together(board, visit, cost - board.cost)
    if to == NEVER:
        to = day
    for job in visit:
        board.put(job, to)
    if to == day:
        return False
    for job in visit:
        journal.setdefault(job, day)
    return True


def best_together(board: Board, visit: list[int], under: int) -> int:
    """The day on which jobs without a day, of one engine, add least, if that is below `under`.

    `under` is beside leaving them all out; NEVER where no day does better.
    """
    case = board.case
    engine = case.engine[visit[0]]
    access = minutes = leaving = 0
    for job in visit:
        access |= case.access[job]
        minutes += case.minutes[job]
        leaving += case.leaving[job]
    opening, opened, boat = case.opening[engine], board.opened[engine], case.boat[engine]
    tied = any(case.tied[job] for job in visit)
    lead = min(visit, key=lambda job: len(case.choices[job]))
    tables = [case.at[job] for job in visit if job != lead]
    found, least = NEVER, under + leaving
    for cost, day in case.choices[lead]:
        if cost >= least:
            break
        before = opened[day]
        taken = opening[access if before == NO_VISIT else access & ~before]
        if minutes + taken > board.left[day]:
            continue
        if boat >= 0 and not board.calls[boat][day]:
            if not board.room[day]:
                continue
            cost += case.boat_day
        cost = _together(cost + taken * case.minute, tables, day)
        if cost != NEVER and cost < least and (not tied or _fit_together(board, visit, day)):
            found, least = day, cost
    return found


def _together(cost: int, tables: list[tuple[int, ...]], day: int) -> int:
    for table in tables:
        more = table[day]
        if more == NEVER:
            return NEVER
        cost += more
    return cost


def _fit_together(board: Board, visit: list[int], day: int) -> bool:
    done: list[int] = []
    first = board.case.first[board.case.engine[visit[0]]]
    for job in sorted(visit, key=lambda job: job not in first):
        before = board.opened[board.case.engine[job]][day]
        access = board.case.access[job]
        if not board.fits(job, day, access if before == NO_VISIT else access & ~before):
            break
        board.put(job, day)
        done.append(job)
    for job in done:
        board.take(job)
    return len(done) == len(visit)
