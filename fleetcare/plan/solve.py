"""A plan for a problem: places one after another, then what is known of how good it is."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcare.plan.evaluate import evaluate, staying
from fleetcare.plan.problem import Answer, Problem
from fleetcare.plan.search import Best, search
from fleetcare.plan.search_case import NEVER, Case, case_of, places_apart
from fleetcare.plan.small import prove


@dataclass(frozen=True, slots=True)
class Solution:
    """An answer that keeps every limit, and what is proved of it.

    `least_late` is the least number of late precursors that any plan can have, None where that is
    not proved; `bound` a proven lower bound of the cost of plans with no more late ones than the
    answer has, None without one. `made_by` names what solved it, with its limits; `cut_short`
    that it was interrupted.
    """

    answer: tuple[int | None, ...]
    least_late: int | None
    bound: int | None
    cut_short: bool
    made_by: str


def solve(problem: Problem, effort: int = 1, exact: bool = True) -> Solution:
    """Plan place by place in the order of their names; each takes supplies that are left.

    `effort` multiplies the rounds of the search. `exact` allows the solver of the extra `plan`
    where it is installed. An interruption gives the best plan so far.
    """
    stay = frozenset(staying(problem))
    answer: list[int | None] = [
        problem.kept[job] if job in stay else None for job in range(len(problem.jobs))
    ]
    cut_short = False
    for numbers in places_apart(problem):
        mine = frozenset(numbers)
        beside: Answer = [None if job in mine else day for job, day in enumerate(answer)]
        case = case_of(problem, numbers, beside, stay)
        best = Best(case)
        try:
            if not cut_short:
                search(case, _rounds(case, effort), best)
                prove(case, best)
        except KeyboardInterrupt:
            cut_short = True
        for job, day in zip(numbers, best.days, strict=True):
            answer[job] = None if day == NEVER else day
    score = evaluate(problem, answer)
    forced = _forced(problem)
    least = forced if score.late == forced else None
    return Solution(tuple(answer), least, None, cut_short, "search")


def _rounds(case: Case, effort: int) -> int:
    return effort * (600 + 60 * len(case.numbers))


def _forced(problem: Problem) -> int:
    """How many precursors have no day in time, whatever else is planned."""
    return sum(
        job.precursor and job.due is not None and not any(day <= job.due for day in job.allowed)
        for job in problem.jobs
    )
