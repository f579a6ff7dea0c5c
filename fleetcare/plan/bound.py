"""Lower bounds that need no other solver.

What all jobs pay in the dual of the plan (`small.Shares`) is below the cost of every plan. Limits
of minutes, boat places and supplies are left out of it, so it is far from the cost where the
workshop is full.
"""

from __future__ import annotations

from dataclasses import replace

from fleetcare.plan.search_case import NEVER, Case, Worth
from fleetcare.plan.small import Shares


def cost_bound(case: Case, late: int, days: int | None, left_out: int | None) -> int:
    """A number below the cost of every plan with at most so much of each aim, in hundredths."""
    free = [job for job, day in enumerate(case.stays) if day == NEVER]
    none = forced(case)
    tight = (late, days, left_out) == (none.late, none.days, none.left_out)
    asked = case if tight else _plain(case)
    staying = sum(asked.at[job][day] for job, day in enumerate(case.stays) if day != NEVER)
    folded = staying + sum(Shares(asked, free).paid.values())
    return case.weights.unfold(folded).cost


def forced(case: Case) -> Worth:
    """What every plan of a case has, job by job: late ones, days, those left out; no cost."""
    worths = []
    for job, choices in enumerate(case.choices):
        stays = case.stays[job]
        if stays != NEVER:
            folded = case.at[job][stays]
        else:
            folded = choices[0][0] if choices else case.leaving[job]
        worths.append(case.weights.unfold(folded))
    return Worth(
        sum(worth.late for worth in worths),
        sum(worth.days for worth in worths),
        sum(worth.left_out for worth in worths),
        0,
    )


def _plain(case: Case) -> Case:
    """The case with nothing to pay for lateness nor for leaving out beyond its cost."""
    keep = case.weights.left_out
    at = tuple(tuple(c if c == NEVER else c % keep for c in costs) for costs in case.at)
    return replace(
        case,
        at=at,
        choices=tuple(
            tuple(sorted((cost, day) for day, cost in enumerate(costs) if cost != NEVER))
            for costs in at
        ),
        leaving=tuple(leaving % keep for leaving in case.leaving),
    )
