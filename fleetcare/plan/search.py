"""The planner that needs nothing else: insert, better, take some off and put them back.

Late precursors are seen to first, alone; all others are planned from there. Rounds are counted,
never timed, and chance comes from a seed, so that the same problem has the same plan.
"""

from __future__ import annotations

from collections.abc import Iterable

from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import NEVER, Case
from fleetcare.plan.search_dice import Dice
from fleetcare.plan.search_moves import Journal, settle, undo
from fleetcare.plan.search_replan import replan
from fleetcare.plan.search_ruin import Ruin

REPLANNED = 8  # in one of so many rounds boats are planned anew: dear, and worth it now and then


class Best:
    """The best days found so far; what an interruption leaves."""

    __slots__ = ("cost", "days")

    def __init__(self, case: Case, days: Iterable[int] | None = None) -> None:
        board = Board(case, None if days is None else list(days))
        self.days = list(board.day)
        self.cost = board.cost

    def see(self, board: Board) -> None:
        """Keep a plan if it is better."""
        if board.cost < self.cost:
            self.cost = board.cost
            self.days = list(board.day)


def search(case: Case, rounds: int, best: Best, seed: int = 1) -> None:
    """Better the best plan of a case in two phases of so many rounds each."""
    free = [job for job, day in enumerate(case.stays) if day == NEVER and case.choices[job]]
    firsts = {job for jobs in case.first for job in jobs}
    urgent = frozenset(job for job in free if case.precursor[job] or job in firsts)
    dice = Dice(seed)
    board = Board(case, best.days)
    if urgent:
        insert(board, sorted(urgent))
        rework(board, urgent, rounds, dice, best, whole=False)
    insert(board, free)
    _sweep(board, frozenset(free))
    best.see(board)
    rework(board, frozenset(free), rounds, dice, best, whole=True)
    _sweep(board, frozenset(free))
    best.see(board)


def _sweep(board: Board, jobs: frozenset[int]) -> None:
    """Plan every boat anew, twice at most."""
    for _ in range(2):
        cost = board.cost
        _replan_boats(board, range(len(board.case.boat)), {}, jobs)
        if board.cost >= cost:
            return


def insert(board: Board, jobs: list[int]) -> None:
    """Give jobs without a day their best, those that cost most without one first."""
    case = board.case
    waiting = [job for job in jobs if board.day[job] == NEVER]
    firsts = {job for mine in case.first for job in mine}
    waiting.sort(key=lambda job: (job not in firsts, -case.leaving[job], len(case.choices[job])))
    for job in waiting:
        day = board.best(job)[1]
        if day != NEVER:
            board.put(job, day)
    settle(board, range(len(case.boat)), {}, frozenset(jobs))


def rework(
    board: Board, jobs: frozenset[int], rounds: int, dice: Dice, best: Best, *, whole: bool
) -> None:
    """Take some jobs off and put them back, round after round, ending at the best plan seen.

    A round that ends a little dearer is kept, the less so the fewer rounds are left. With `whole`,
    which wants all jobs among those that may move, boats are planned anew now and then.
    """
    if not jobs:
        return
    case = board.case
    ruin = Ruin(board, jobs, dice)
    top = Best(case, board.day)
    give = (case.boat_day + 60 * case.minute) // 4
    for left in range(rounds, 0, -1):
        cost = board.cost
        journal: Journal = {}
        _again(board, ruin.some(), journal, jobs, dice, whole)
        if board.cost > cost + give * left * dice.below(1024) // (rounds * 1024):
            undo(board, journal)
        elif board.cost < top.cost:
            top.see(board)
            best.see(board)
    restore(board, top.days)


def restore(board: Board, days: list[int]) -> None:
    """Bring a board to these days."""
    undo(board, {job: day for job, day in enumerate(days) if board.day[job] != day})


def _again(
    board: Board, ruined: list[int], journal: Journal, jobs: frozenset[int], dice: Dice, whole: bool
) -> None:
    case = board.case
    engines = dict.fromkeys(case.engine[job] for job in ruined)
    for engine in engines:
        if case.first[engine] and any(job in case.first[engine] for job in ruined):
            ruined += [job for job in case.jobs[engine] if job in jobs and job not in ruined]
    for job in ruined:
        journal.setdefault(job, board.day[job])
        if board.day[job] != NEVER:
            board.take(job)
    _order(case, ruined, dice)
    for job in ruined:
        day = board.best(job)[1]
        if day != NEVER and not dice.below(24):
            day = board.best(job, day)[1]
        if day != NEVER:
            board.put(job, day)
    if whole and not dice.below(REPLANNED):
        _replan_boats(board, engines, journal, jobs)
    else:
        settle(board, engines, journal, jobs)


def _replan_boats(
    board: Board, engines: Iterable[int], journal: Journal, jobs: frozenset[int]
) -> None:
    case = board.case
    boats = dict.fromkeys(
        (case.boat[engine], engine * (case.boat[engine] < 0)) for engine in engines
    )
    for boat, alone in boats:
        fellows = [alone] if boat < 0 else case.engines[boat]
        mine = [job for engine in fellows for job in case.jobs[engine] if job in jobs]
        if any(case.tied[job] for job in mine):
            settle(board, fellows, journal, jobs)
        elif mine:
            replan(board, mine, journal)


def _order(case: Case, ruined: list[int], dice: Dice) -> None:
    """Put jobs in one of several orders, what holds an engine always before its others."""
    dice.shuffle(ruined)
    kind = dice.below(4)
    if kind == 1:
        ruined.sort(key=lambda job: len(case.choices[job]))
    elif kind == 2:
        ruined.sort(key=lambda job: not case.precursor[job])
    elif kind == 3:
        ruined.sort(
            key=lambda job: -case.minutes[job] - case.opening[case.engine[job]][case.access[job]]
        )
    if any(case.first[case.engine[job]] for job in ruined):
        ruined.sort(key=lambda job: job not in case.first[case.engine[job]])
