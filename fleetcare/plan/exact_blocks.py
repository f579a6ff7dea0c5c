"""Better a plan a few boats at a time: all others stay, and these are planned anew together."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.exact_columns import Limits
from fleetcare.plan.exact_pool import Planner, Pool
from fleetcare.plan.search import Best
from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import NEVER, Case
from fleetcare.plan.search_dice import Dice

BOATS = 10
TURNS = 40
NODES = 200


def better_blocks(
    case: Case, units: Sequence[Planner], best: Best, rounds: int, dice: Dice
) -> None:
    """Plan so many groups of boats anew, each around another boat."""
    for number in range(rounds):
        seed = number % len(units)
        group = _near(units, seed, best.days, dice)
        better_block(case, [units[other] for other in group], best)


def better_block(case: Case, units: Sequence[Planner], best: Best) -> bool:
    """Plan these boats anew in what the others leave; whether that is better."""
    board = Board(case, best.days)
    jobs = [job for unit in units for job in unit.jobs]
    for job in jobs:
        if board.day[job] != NEVER:
            board.take(job)
    unfold = case.weights.unfold
    worths = [
        unfold(case.leaving[job] if best.days[job] == NEVER else case.at[job][best.days[job]])
        for job in jobs
    ]
    limits = Limits(
        board.left,
        board.room,
        board.slack,
        sum(worth.late for worth in worths),
        sum(worth.days for worth in worths),
        sum(worth.left_out for worth in worths),
    )
    pool = Pool(case, units, limits)
    pool.start(best.days)
    now = round(sum(column.cost for _, column in pool.columns))
    pool.grow(TURNS)
    if pool.bound >= now:
        return False
    days = pool.choose(now, NODES)
    if days is None:
        return False
    for job, day in days.items():
        if day != NEVER:
            board.put(job, day)
    cost = best.cost
    best.see(board)
    return best.cost < cost


def _near(units: Sequence[Planner], seed: int, days: Sequence[int], dice: Dice) -> list[int]:
    """A boat and those whose days lie closest to its own, with some chance in it."""
    mine = {days[job] for job in units[seed].jobs} - {NEVER}

    def away(number: int) -> int:
        theirs = {days[job] for job in units[number].jobs} - {NEVER}
        close = sum(
            max(0, 3 - min((abs(day - other) for other in mine), default=3)) for day in theirs
        )
        return -16 * close - dice.below(64)

    others = [number for number in range(len(units)) if number != seed]
    ranked = sorted((away(number), number) for number in others)
    return sorted([seed, *(number for _, number in ranked[: BOATS - 1])])
