"""The best plan of a small case, proved: branch and bound over the days of one job after another.

The bound is the dual of the plan without its limits of minutes, boats and supplies: each job
pays its own cost and shares of what must be open for it, and no opening is paid for more than it
costs (Erlenkotter, A dual-based procedure for uncapacitated facility location, Operations
Research 26, 1978: the idea, here with two stages of opening, the boat's day and the steps).
Days that have become too full for a job are left out of its bound.
"""

from __future__ import annotations

from fleetcare.plan.search import Best
from fleetcare.plan.search_board import NO_VISIT, Board
from fleetcare.plan.search_case import NEVER, Case

MOST_JOBS = 24
MOST_NODES = 20_000


def prove(case: Case, best: Best, nodes: int = MOST_NODES) -> bool:
    """Better the best plan until it is proved to be the best there is, or the nodes are used up.

    True when it is proved.
    """
    return _Tree(case, best, nodes).run()


class Shares:
    """What each job pays of what its days must have open, so that no opening is overpaid.

    `boat` and `steps` are by job and day, the latter by bit of its access; `paid` is what each
    job pays at the least in all, its own cost included.
    """

    __slots__ = ("boat", "case", "left_boat", "left_steps", "paid", "steps")

    def __init__(self, case: Case, jobs: list[int]) -> None:
        self.case = case
        self.boat: dict[tuple[int, int], int] = {}
        self.steps: dict[tuple[int, int], dict[int, int]] = {}
        self.left_boat: dict[tuple[int, int], int] = {}
        self.left_steps: dict[tuple[int, int, int], int] = {}
        self._raise_all(jobs)

    def _raise_all(self, jobs: list[int]) -> None:
        """Raise what jobs pay, one level at a time and turn by turn, while budgets allow."""
        pays = {job: {day: cost for cost, day in self.case.choices[job]} for job in jobs}
        rising = [job for job in jobs if pays[job]]
        while rising:
            rising = [job for job in rising if self._raise(job, pays[job])]
        self.paid = {job: min((*pays[job].values(), self.case.leaving[job])) for job in jobs}

    def _raise(self, job: int, pays: dict[int, int]) -> bool:
        leaving = self.case.leaving[job]
        least = min(pays.values())
        if least >= leaving:
            return False
        tight = [day for day, cost in pays.items() if cost == least]
        goal = min((cost for cost in pays.values() if cost > least), default=leaving)
        by = min(min(goal, leaving) - least, *(self._budget(job, day) for day in tight))
        for day in tight:
            self._pay(job, day, by)
            pays[day] += by
        return by > 0

    def _budget(self, job: int, day: int) -> int:
        case = self.case
        engine, boat = case.engine[job], case.boat[case.engine[job]]
        total = self.left_boat.setdefault((boat, day), case.boat_day) if boat >= 0 else 0
        for bit in _bits(case.access[job]):
            whole = case.opening[engine][1 << bit] * case.minute
            total += self.left_steps.setdefault((engine, bit, day), whole)
        return total

    def _pay(self, job: int, day: int, by: int) -> None:
        case = self.case
        engine, boat = case.engine[job], case.boat[case.engine[job]]
        paid = self.steps.setdefault((job, day), {})
        for bit in _bits(case.access[job]):
            part = min(by, self.left_steps[engine, bit, day])
            self.left_steps[engine, bit, day] -= part
            paid[bit] = paid.get(bit, 0) + part
            by -= part
        if boat >= 0:
            self.left_boat[boat, day] -= by
            self.boat[job, day] = self.boat.get((job, day), 0) + by


class _Tree:
    def __init__(self, case: Case, best: Best, nodes: int) -> None:
        self.case, self.best, self.nodes = case, best, nodes
        self.board = Board(case)
        free = [job for job, day in enumerate(case.stays) if day == NEVER]
        self.base = self.board.cost - sum(case.leaving[job] for job in free)
        self.shares = Shares(case, free)
        self.free = free

    def run(self) -> bool:
        return self._below(self.free)

    def _below(self, jobs: list[int]) -> bool:
        """Look at every plan that keeps what stands; False when the nodes ran out."""
        if not jobs:
            self.best.see(self.board)
            return True
        if self.nodes <= 0:
            return False
        self.nodes -= 1
        waiting = {job for job in jobs if any(other in jobs for other in self._firsts(job))}
        options = {job: self._options(job, job in waiting) for job in jobs}
        least = {job: min(options[job])[0] for job in jobs}
        bound = self._standing(jobs) + sum(least.values())
        if bound >= self.best.cost:
            return True
        job = self._next([job for job in jobs if job not in waiting], options)
        rest = [other for other in jobs if other != job]
        for cost, day in sorted(options[job]):
            if bound - least[job] + cost >= self.best.cost:
                break
            if day == NEVER:
                done = self._below(rest)
            else:
                self.board.put(job, day)
                done = self._below(rest)
                self.board.take(job)
            if not done:
                return False
        return True

    def _standing(self, jobs: list[int]) -> int:
        return self.board.cost - sum(self.case.leaving[job] for job in jobs)

    def _firsts(self, job: int) -> tuple[int, ...]:
        """The jobs that must have a day before this one may."""
        firsts = self.case.first[self.case.engine[job]]
        return () if job in firsts else firsts

    def _next(self, jobs: list[int], options: dict[int, list[tuple[int, int]]]) -> int:
        """The job to settle next: one without a choice, else where the second choice costs most."""

        def urgency(job: int) -> tuple[bool, int, int]:
            costs = sorted(options[job])
            return (len(costs) > 1, costs[0][0] - costs[1][0] if len(costs) > 1 else 0, job)

        return min(jobs, key=urgency)

    def _options(self, job: int, waiting: bool) -> list[tuple[int, int]]:
        """The bounds of a job's days that still have room, and of leaving it out.

        While what holds its engine is `waiting` for a day, that limit is not asked.
        """
        case, board, shares = self.case, self.board, self.shares
        engine, boat, access = case.engine[job], case.boat[case.engine[job]], case.access[job]
        found = [(case.leaving[job], NEVER)]
        for cost, day in case.choices[job]:
            before = board.opened[engine][day]
            new = access if before == NO_VISIT else access & ~before
            if case.minutes[job] + case.opening[engine][new] > board.left[day]:
                continue
            if boat >= 0 and not board.calls[boat][day]:
                if not board.room[day]:
                    continue
                cost += shares.boat.get((job, day), 0)
            if new:
                paid = shares.steps.get((job, day), {})
                cost += sum(paid.get(bit, 0) for bit in _bits(new))
            if case.tied[job] and not (
                board.supplied(job, day, new) and (waiting or board.held_off(job, day))
            ):
                continue
            found.append((cost, day))
        return found


def _bits(access: int) -> list[int]:
    return [bit for bit in range(access.bit_length()) if access >> bit & 1]
