"""The cheapest plan of one boat with few jobs when what boats compete for has prices.

For every set of its jobs the cheapest day that does them all, then the cheapest way to cut the
jobs into such sets. Two sets may share a day, since one visit for both costs no more. Where both
are too long for it together, or a job would come before what holds its engine, the value is below
that of any plan: a bound all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from fleetcare.plan.exact_columns import PARTS, Column, Prices, column_of
from fleetcare.plan.search_case import NEVER, Case, Worth

MOST_JOBS = 11
_NOTHING = Worth(0, 0, 0, 0)
BARRED = 1 << 54  # above any cost in parts, and sixteen of them still fit 63 bits


class Unit:
    """One boat's jobs, with all that does not depend on prices worked out once."""

    __slots__ = (
        "_alone", "_barred", "_days", "_masks", "_steps", "_work", "_worth", "case", "jobs",
    )  # fmt: skip

    def __init__(self, case: Case, jobs: tuple[int, ...]) -> None:
        import numpy as np

        self.case, self.jobs = case, jobs
        days = {job: days_of(case, job) for job in jobs}
        self._days = sorted({day for job in jobs for day in days[job]})
        self._barred = np.array([[day not in days[job] for day in self._days] for job in jobs])
        worths = [
            [
                case.weights.unfold(case.at[job][day]) if day in days[job] else _NOTHING
                for day in self._days
            ]
            for job in jobs
        ]
        self._worth = [
            np.array([[getattr(worth, part) for worth in row] for row in worths], np.int64)
            for part in ("cost", "late", "days")
        ]
        masks, self._steps = _masks(case, jobs)
        work = [0] * (1 << len(jobs))
        for chosen in range(1, 1 << len(jobs)):
            low = (chosen & -chosen).bit_length() - 1
            work[chosen] = work[chosen & (chosen - 1)] + case.minutes[jobs[low]]
        kinds = sorted(set(masks))
        place = {mask: number for number, mask in enumerate(kinds)}
        opening = {mask: _minutes(case, self._steps, mask) for mask in kinds}
        self._masks = kinds
        self._work = np.array(
            [minutes + opening[mask] for minutes, mask in zip(work, masks, strict=True)]
        )
        self._alone = np.array([place[mask] for mask in masks])

    def price(
        self, prices: Prices, minutes: Sequence[int], room: Sequence[int]
    ) -> tuple[int, Column]:
        """The least cost in parts, and a plan that has it, within what a day has left."""
        import numpy as np

        case, jobs, days = self.case, self.jobs, self._days
        if not days:
            return self._all_out(prices)
        costs = np.zeros((1 << len(jobs), len(days)), np.int64)
        for number, row in enumerate(self._rows(prices)):
            costs[1 << number : 2 << number] = costs[: 1 << number] + row
        costs += self._opening(prices)[self._alone]
        if case.boat[case.engine[jobs[0]]] >= 0:
            costs += np.where(np.array(room)[days] > 0, prices.boat(case)[days], BARRED)
        costs[self._work[:, None] > np.array(minutes)[days]] = BARRED
        least, when = costs.min(axis=1), costs.argmin(axis=1)
        for number, job in enumerate(jobs):
            out = (
                BARRED
                if case.stays[job] != NEVER
                else prices.worth(case.weights.unfold(case.leaving[job]))
            )
            if out < least[1 << number]:
                least[1 << number], when[1 << number] = out, NEVER
        return self._cut(least, when)

    def _all_out(self, prices: Prices) -> tuple[int, Column]:
        unfold = self.case.weights.unfold
        value = sum(prices.worth(unfold(self.case.leaving[job])) for job in self.jobs)
        return value, column_of(self.case, dict.fromkeys(self.jobs, NEVER))

    def _rows(self, prices: Prices) -> Any:
        """What each job costs by day, beside what it needs open."""
        import numpy as np

        case, days = self.case, self._days
        cost, late, after = self._worth
        found = cost * PARTS + late * prices.late + after * prices.days
        found += np.array([[case.minutes[job]] for job in self.jobs]) * prices.minutes[days]
        for number, job in enumerate(self.jobs):
            for item, count in case.uses[job]:
                found[number] += count * prices.items[item][days]
        return np.where(self._barred, BARRED, found)

    def _opening(self, prices: Prices) -> Any:
        """The cost of opening each set of steps, by day."""
        import numpy as np

        case, days = self.case, self._days
        found = np.zeros((len(self._masks), len(days)), np.int64)
        for number, (engine, bit) in enumerate(self._steps):
            opened = [mask >> number & 1 == 1 for mask in self._masks]
            found[opened] += prices.step(case, engine, bit)[days]
        return found

    def _cut(self, least: Any, when: Any) -> tuple[int, Column]:
        """The jobs cut into sets that cost least together."""
        import numpy as np

        sets, parts, starts = _cuts(len(self.jobs))
        total = np.zeros(len(least), np.int64)
        chosen = np.zeros(len(least), np.int64)
        for whole, part, start in zip(sets, parts, starts, strict=True):
            cost = least[part] + total[whole ^ part]
            best = np.minimum.reduceat(cost, start)
            widths = np.diff(np.append(start, len(cost)))
            hit = np.flatnonzero(cost == np.repeat(best, widths))
            owner = whole[hit]
            first = np.flatnonzero(np.diff(owner, prepend=-1))
            total[whole[start]] = best
            chosen[owner[first]] = part[hit[first]]
        days: dict[int, int] = {}
        rest = len(least) - 1
        while rest:
            part = int(chosen[rest])
            at = int(when[part])
            for number, job in enumerate(self.jobs):
                if part >> number & 1:
                    days[job] = NEVER if at == NEVER else self._days[at]
            rest ^= part
        return int(total[-1]), column_of(self.case, {job: days[job] for job in self.jobs})


def days_of(case: Case, job: int) -> list[int]:
    """The days a job may stand on, those that come before what holds its engine left out."""
    if case.stays[job] != NEVER:
        return [case.stays[job]]
    days = sorted(day for _, day in case.choices[job])
    firsts = case.first[case.engine[job]]
    if not firsts or job in firsts:
        return days
    earliest = max(
        case.stays[first]
        if case.stays[first] != NEVER
        else min((day for _, day in case.choices[first]), default=case.days)
        for first in firsts
    )
    return [day for day in days if day >= earliest]


def _masks(case: Case, jobs: tuple[int, ...]) -> tuple[list[int], list[tuple[int, int]]]:
    """The steps that each set of jobs opens, as bits of the list of engine and step beside it."""
    steps = sorted(
        {
            (case.engine[job], bit)
            for job in jobs
            for bit in range(case.access[job].bit_length())
            if case.access[job] >> bit & 1
        }
    )
    own = [
        sum(
            1 << number
            for number, (engine, bit) in enumerate(steps)
            if engine == case.engine[job] and case.access[job] >> bit & 1
        )
        for job in jobs
    ]
    masks = [0] * (1 << len(jobs))
    for chosen in range(1, 1 << len(jobs)):
        low = (chosen & -chosen).bit_length() - 1
        masks[chosen] = masks[chosen & (chosen - 1)] | own[low]
    return masks, steps


def _minutes(case: Case, steps: list[tuple[int, int]], mask: int) -> int:
    return sum(
        case.opening[engine][1 << bit]
        for number, (engine, bit) in enumerate(steps)
        if mask >> number & 1
    )


@lru_cache(maxsize=16)
def _cuts(jobs: int) -> tuple[list[Any], list[Any], list[Any]]:
    """For each lowest job, from the last: the sets it leads, their parts that hold it, starts."""
    import numpy as np

    sets, parts, starts = [], [], []
    for lead in range(jobs - 1, -1, -1):
        whole: list[int] = []
        part: list[int] = []
        start: list[int] = []
        for others in range(1 << (jobs - 1 - lead)):
            start.append(len(whole))
            rest = others
            while True:
                whole.append(1 << lead | others << (lead + 1))
                part.append(1 << lead | rest << (lead + 1))
                if not rest:
                    break
                rest = (rest - 1) & others
        sets.append(np.array(whole))
        parts.append(np.array(part))
        starts.append(np.array(start))
    return sets, parts, starts
