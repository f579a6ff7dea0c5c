"""Plans as they are made without a planner, to compare with; they keep the same limits."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.evaluate import staying
from fleetcare.plan.problem import Answer, Problem
from fleetcare.plan.search_board import Board
from fleetcare.plan.search_case import NEVER, Case, case_of, places_apart


def greedy(problem: Problem) -> tuple[int | None, ...]:
    """Each job in turn, by its due day, on the day that is cheapest then.

    Jobs that lead to harm come first, and what holds an engine before its others.
    """
    return _by_turns(problem, apart=False)


def one_job_one_visit(problem: Problem) -> tuple[int | None, ...]:
    """Each job a visit of its own, on a day on which its engine has no other."""
    return _by_turns(problem, apart=True)


def _by_turns(problem: Problem, *, apart: bool) -> tuple[int | None, ...]:
    stay = frozenset(staying(problem))
    answer: list[int | None] = [
        problem.kept[job] if job in stay else None for job in range(len(problem.jobs))
    ]
    for numbers in places_apart(problem):
        mine = frozenset(numbers)
        beside: Answer = [None if job in mine else day for job, day in enumerate(answer)]
        case = case_of(problem, numbers, beside, stay)
        board = Board(case)
        for job in _in_turn(problem, case, numbers):
            day = _day_apart(board, job) if apart else board.best(job)[1]
            if day != NEVER:
                board.put(job, day)
        for number, day in zip(numbers, board.day, strict=True):
            answer[number] = None if day == NEVER else day
    return tuple(answer)


def _in_turn(problem: Problem, case: Case, numbers: Sequence[int]) -> list[int]:
    def turn(job: int) -> tuple[bool, bool, int, int]:
        what = problem.jobs[numbers[job]]
        due = problem.days if what.due is None else what.due
        return (not what.first, not what.precursor, due, job)

    free = (job for job, day in enumerate(case.stays) if day == NEVER)
    return sorted(free, key=turn)


def _day_apart(board: Board, job: int) -> int:
    """The cheapest day on which the job's engine has nothing yet."""
    case = board.case
    engine, boat = case.engine[job], case.boat[case.engine[job]]
    needed = case.minutes[job] + case.opening[engine][case.access[job]]
    for _, day in case.choices[job]:
        taken = any(board.day[other] == day for other in case.jobs[engine])
        full = boat >= 0 and not board.calls[boat][day] and not board.room[day]
        if taken or full or needed > board.left[day]:
            continue
        if board.fits(job, day, case.access[job]):
            return day
    return NEVER
