"""What the solver of the extra adds: fewest late precursors proved, better plans, a bound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from fleetcare.plan.bound import forced
from fleetcare.plan.exact_blocks import better_blocks, program_of
from fleetcare.plan.exact_columns import Limits
from fleetcare.plan.exact_late import least_late
from fleetcare.plan.exact_pool import Pool, planners
from fleetcare.plan.exact_unit import Unit
from fleetcare.plan.search import Best, search
from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import Case, Worth
from fleetcare.plan.search_dice import Dice

TURNS = 80
MOST_JOBS = 75  # of a case whose program is solved whole where its boats have many jobs
NODES = 500


def plan_exactly(case: Case, whole: Case, best: Best, rounds: int, blocks: int) -> Worth:
    """Start from the fewest late precursors, search from there, then plan blocks anew.

    Gives what no plan of the `whole` case, the one with all supplies, has less of; days are those
    with the fewest late.
    """
    start = least_late(case)
    least = start if whole.slack == case.slack else least_late(whole)
    if start.days is not None:
        best.see(Board(case, start.days))
    search(case, rounds, best)
    units = planners(case)
    better_blocks(case, units, best, blocks, Dice(1))
    return Worth(least.late, least.after, forced(whole).left_out, 0)


def lower_bound(
    case: Case, days: Sequence[int], late: int, after: int | None, left_out: int | None
) -> int:
    """A bound of the cost of plans with at most so much of each aim, in hundredths.

    `days` keep these limits; None is no limit.
    """
    limits = replace(Limits.of(case), late=late, days=after, left_out=left_out)
    units = planners(case)
    pool = Pool(case, units, limits)
    pool.start(days)
    pool.grow(TURNS)
    jobs = range(len(case.numbers))
    if len(jobs) > MOST_JOBS or all(isinstance(unit, Unit) for unit in units):
        return pool.bound
    found = program_of(case, jobs, limits).program.run(whole=True, nodes=NODES, above=0.99)
    return max(pool.bound, ceil(found.bound - 0.01))
