"""Better a plan a few boats at a time: all others stay, and these are planned anew together."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.exact_columns import Limits
from fleetcare.plan.exact_model import PlanModel
from fleetcare.plan.exact_pool import Planner, Pool
from fleetcare.plan.exact_unit import Unit
from fleetcare.plan.search import Best
from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import NEVER, Case
from fleetcare.plan.search_dice import Dice

BOATS = 10
MOST_JOBS = 60  # of a block with a boat whose plans cannot be counted
LOOSE = 4  # of so many groups one is planned, where boats have many jobs
TURNS = 40
NODES = 200


def better_blocks(
    case: Case, units: Sequence[Planner], best: Best, blocks: int, dice: Dice
) -> None:
    """Plan at most so many groups of boats anew, each around another boat.

    Fewer where boats have many jobs, since such a group takes a second and not a tenth.
    """
    loose = any(not isinstance(unit, Unit) for unit in units)
    for number in range(-(-blocks // LOOSE) if loose else blocks):
        group = _near(units, number % len(units), best.days, dice)
        better_block(case, [units[other] for other in group], best)
        if len(group) == len(units):
            return


def better_block(case: Case, units: Sequence[Planner], best: Best) -> None:
    """Plan these boats anew in what the others leave."""
    board = Board(case, best.days)
    jobs = [job for unit in units for job in unit.jobs]
    for job in jobs:
        if board.day[job] != NEVER:
            board.take(job)
    limits = _left(case, board, jobs, best.days)
    if all(isinstance(unit, Unit) for unit in units):
        days = _mixed(case, units, limits, best.days)
    else:
        days = _at_once(case, jobs, limits)
    if days is None:
        return
    for job, day in days.items():
        if day != NEVER:
            board.put(job, day)
    best.see(board)


def _left(case: Case, board: Board, jobs: Sequence[int], days: Sequence[int]) -> Limits:
    """What the others leave, and no more of each aim than these jobs have now."""
    worths = [
        case.weights.unfold(case.leaving[job] if days[job] == NEVER else case.at[job][days[job]])
        for job in jobs
    ]
    return Limits(
        board.left,
        board.room,
        board.slack,
        sum(worth.late for worth in worths),
        sum(worth.days for worth in worths),
        sum(worth.left_out for worth in worths),
    )


def _mixed(
    case: Case, units: Sequence[Planner], limits: Limits, days: Sequence[int]
) -> dict[int, int] | None:
    pool = Pool(case, units, limits)
    pool.start(days)
    now = round(sum(column.cost for _, column in pool.columns))
    pool.grow(TURNS)
    return pool.choose(now, NODES) if pool.bound < now else None


def _at_once(case: Case, jobs: Sequence[int], limits: Limits) -> dict[int, int] | None:
    model = program_of(case, jobs, limits)
    found = model.program.run(whole=True, nodes=NODES, above=0.99)
    return model.days(found.values) if found.values else None


def program_of(case: Case, jobs: Sequence[int], limits: Limits) -> PlanModel:
    """The program of these jobs within limits, to be made least in cost."""
    model = PlanModel(case)
    model.add_jobs(jobs)
    model.add_limits(limits)
    model.add_holds(jobs)
    model.program.recost(model.costs())
    return model


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
    ranked = [seed, *(number for _, number in sorted((away(one), one) for one in others))]
    group: list[int] = []
    for number in ranked[:BOATS]:
        jobs = sum(len(units[other].jobs) for other in (*group, number))
        loose = any(not isinstance(units[other], Unit) for other in (*group, number))
        if not group or not loose or jobs <= MOST_JOBS:
            group.append(number)
    return sorted(group)
