"""A plan for a problem: places one after another, then what is known of how good it is.

Places are apart: each is planned on its own, in the order of their names, and takes of supplies
that they share what those before it left. Bounds are of each place with all supplies, so that
they hold for every way of sharing.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleetcare.plan.bound import cost_bound, forced
from fleetcare.plan.evaluate import evaluate, staying
from fleetcare.plan.problem import Answer, Problem
from fleetcare.plan.search import Best, search
from fleetcare.plan.search_case import NEVER, Case, Worth, case_of, places_apart
from fleetcare.plan.small import MOST_JOBS, MOST_NODES, prove

FEW_ROUNDS = 300
MOST_ROUNDS = 10_000  # of all places together, at effort 1
MOST_BLOCKS = 200  # the same, of groups of boats planned anew


@dataclass(frozen=True, slots=True)
class Solution:
    """An answer that keeps every limit, and what is proved of it.

    `least_late` is the least number of late precursors that any plan can have, None where that is
    not proved. `bound` is a proven lower bound of the cost of the best plan, the one with the
    fewest late precursors, then days late, then jobs left out; None without one. `made_by` names
    what solved it, with its limits; `cut_short` that it was interrupted.
    """

    answer: tuple[int | None, ...]
    least_late: int | None
    bound: int | None
    cut_short: bool
    made_by: str


def solve(problem: Problem, effort: int = 1, exact: bool = True) -> Solution:
    """Plan a problem.

    `effort` multiplies the rounds of the search; at 0 there is one pass, and no bound. `exact`
    allows the solver of the extra `plan` where it is installed. An interruption gives the best
    plan so far.
    """
    run = _Run(problem, effort, exact and _installed())
    bound = None
    cut_short = False
    try:
        run.plan()
        bound = run.bound() if effort else None
    except KeyboardInterrupt:
        cut_short = True
    run.fill()
    answer = tuple(run.answer)
    least = sum(place.least.late for place in run.places)
    proved = len(run.places) == len(run.groups) and least == evaluate(problem, answer).late
    return Solution(answer, least if proved else None, bound, cut_short, run.made_by())


def _installed() -> bool:
    from fleetcare.plan.exact_program import available

    return available()


@dataclass(slots=True)
class _Planned:
    """A place: its case with what others leave, and with all supplies; what none has less of.

    `optimal` says that the best plan is proved to be the best there is.
    """

    case: Case
    whole: Case
    best: Best
    least: Worth
    optimal: bool = False

    @property
    def worth(self) -> Worth:
        return self.case.weights.unfold(self.best.cost)


class _Run:
    def __init__(self, problem: Problem, effort: int, exact: bool) -> None:
        self.problem, self.effort, self.exact = problem, effort, exact
        self.stay = frozenset(staying(problem))
        self.answer: list[int | None] = [
            problem.kept[job] if job in self.stay else None for job in range(len(problem.jobs))
        ]
        self.groups = places_apart(problem)
        self.places: list[_Planned] = []

    def plan(self) -> None:
        """Plan each place in turn with what the ones before it leave."""
        for numbers in self.groups:
            mine = frozenset(numbers)
            beside: Answer = [None if job in mine else day for job, day in enumerate(self.answer)]
            case = case_of(self.problem, numbers, beside, self.stay)
            whole = case
            if self.problem.supplies and len(self.groups) > 1:
                alone: Answer = [None] * len(self.answer)
                whole = case_of(self.problem, numbers, alone, self.stay)
            place = _Planned(case, whole, Best(case), forced(whole))
            self.places.append(place)
            self._plan(place)
            self.fill()

    def fill(self) -> None:
        """Bring the best days found into the answer."""
        for place in self.places:
            for job, day in zip(place.case.numbers, place.best.days, strict=True):
                self.answer[job] = None if day == NEVER else day

    def _plan(self, place: _Planned) -> None:
        case = place.case
        if sum(day == NEVER for day in case.stays) <= MOST_JOBS:
            search(case, min(FEW_ROUNDS, FEW_ROUNDS * self.effort), place.best)
            proved = prove(case, place.best, MOST_NODES * max(1, self.effort))
            if proved and case.slack == place.whole.slack:
                place.optimal, place.least = True, place.worth
            if proved:
                return
        if self.exact:
            from fleetcare.plan.exact import plan_exactly

            rounds, blocks = self._rounds(case), self._blocks(case)
            place.least = plan_exactly(case, place.whole, place.best, rounds, blocks)
        else:
            search(case, self._rounds(case), place.best)

    def _rounds(self, case: Case) -> int:
        jobs = len(case.numbers)
        share = MOST_ROUNDS * jobs // len(self.answer)
        rounds = self.effort * (FEW_ROUNDS + min(6 * jobs, share))
        return rounds // 2 if self.exact else rounds  # blocks do the rest

    def _blocks(self, case: Case) -> int:
        share = MOST_BLOCKS * len(case.numbers) // len(self.answer)
        return self.effort * min(20 + 2 * len(case.boat), share)

    def bound(self) -> int | None:
        """The bounds of all places added up.

        The best plan has no more late precursors than this one, so none at a place beyond what
        the others' least leaves of the number; where that number is the least, so with days, and
        then with jobs left out.
        """
        achieved = [place.worth for place in self.places]
        least = [place.least for place in self.places]
        late = sum(worth.late for worth in achieved) - sum(worth.late for worth in least)
        days = sum(worth.days for worth in achieved) - sum(worth.days for worth in least)
        out = sum(worth.left_out for worth in achieved) - sum(worth.left_out for worth in least)
        total = 0
        for place in self.places:
            total += self._bound_of(
                place,
                place.least.late + late,
                None if late else place.least.days + days,
                None if late or days else place.least.left_out + out,
            )
        return total

    def _bound_of(self, place: _Planned, late: int, days: int | None, left_out: int | None) -> int:
        if place.optimal:
            return place.worth.cost
        cheap = cost_bound(place.whole, late, days, left_out)
        if not self.exact:
            return cheap
        from fleetcare.plan.exact import lower_bound

        return max(cheap, lower_bound(place.whole, place.best.days, late, days, left_out))

    def made_by(self) -> str:
        """What has been at work, in words."""
        rounds = max((self._rounds(place.case) for place in self.places), default=0)
        words = f"search of {rounds} rounds"
        if all(place.optimal for place in self.places):
            words = f"branch and bound of {MOST_NODES * max(1, self.effort)} nodes"
        elif self.exact:
            from fleetcare.plan.exact_program import version

            words += f", {version()}"
        return words
