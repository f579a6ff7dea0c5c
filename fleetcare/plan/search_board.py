"""A plan in the making: what stands where, what is left, and what each change would cost.

The only thing of the planner that changes. Sums are kept step by step; a change costs as much as
it touches.
"""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.search_case import NEVER, Case

NO_VISIT = -1


class Board:
    """Days of the jobs of one case; `cost` is their folded whole, leaving included.

    `opened[engine][day]` are the steps open there, NO_VISIT without a visit; `calls[boat][day]`
    the engines of a boat worked on; `left` and `room` the minutes and boat places left by day.
    """

    __slots__ = ("calls", "case", "cost", "day", "left", "opened", "room", "slack")

    def __init__(self, case: Case, days: Sequence[int] | None = None) -> None:
        self.case = case
        self.day = [NEVER] * len(case.numbers)
        self.cost = sum(case.leaving)
        self.opened = [[NO_VISIT] * case.days for _ in case.boat]
        self.calls = [[0] * case.days for _ in range(1 + max(case.boat, default=-1))]
        self.left = list(case.capacity)
        self.room = [case.room] * case.days
        self.slack = [list(by_day) for by_day in case.slack]
        for job, day in enumerate(case.stays if days is None else days):
            if day != NEVER:
                self.put(job, day)

    def put(self, job: int, day: int) -> None:
        """Give a job without a day one that it fits on."""
        case = self.case
        engine = case.engine[job]
        opened = self.opened[engine]
        before = opened[day]
        access = case.access[job]
        if before == NO_VISIT:
            opened[day] = access
            new = access
            self._call(engine, day, 1)
        else:
            new = access & ~before
            opened[day] = before | access
        minutes = case.opening[engine][new]
        self.cost += case.at[job][day] - case.leaving[job] + minutes * case.minute
        self.left[day] -= case.minutes[job] + minutes
        self.day[job] = day
        if case.tied[job]:
            self._use(job, new, day, 1)

    def take(self, job: int) -> None:
        """Take a job off its day."""
        case = self.case
        day = self.day[job]
        self.day[job] = NEVER
        engine = case.engine[job]
        days = self.day
        after = NO_VISIT
        for other in case.jobs[engine]:
            if days[other] == day:
                after = case.access[other] if after == NO_VISIT else after | case.access[other]
        before = self.opened[engine][day]
        self.opened[engine][day] = after
        if after == NO_VISIT:
            gone = before
            self._call(engine, day, -1)
        else:
            gone = before & ~after
        minutes = case.opening[engine][gone]
        self.cost += case.leaving[job] - case.at[job][day] - minutes * case.minute
        self.left[day] += case.minutes[job] + minutes
        if case.tied[job]:
            self._use(job, gone, day, -1)

    def _call(self, engine: int, day: int, by: int) -> None:
        boat = self.case.boat[engine]
        if boat < 0:
            return
        calls = self.calls[boat]
        calls[day] += by
        if calls[day] == (by > 0):
            self.room[day] -= by
            self.cost += by * self.case.boat_day

    def _use(self, job: int, steps: int, day: int, by: int) -> None:
        for item, count in self._needs(job, steps):
            slack = self.slack[item]
            for later in range(day, self.case.days):
                slack[later] -= by * count

    def _needs(self, job: int, steps: int) -> tuple[tuple[int, int], ...]:
        opens = self.case.opens[self.case.engine[job]]
        opened = (pair for bit, pairs in enumerate(opens) if steps >> bit & 1 for pair in pairs)
        return (*self.case.uses[job], *opened)

    def fits(self, job: int, day: int, new: int) -> bool:
        """Whether supplies and what holds the engine allow a job on a day, opening new steps."""
        return self.held_off(job, day) and self.supplied(job, day, new)

    def held_off(self, job: int, day: int) -> bool:
        """Whether what holds an engine comes no later than its other jobs, and is there at all."""
        case = self.case
        engine = case.engine[job]
        firsts = case.first[engine]
        if not firsts:
            return True
        on = self.day
        if job in firsts:
            others = (on[other] for other in case.jobs[engine] if other not in firsts)
            return all(other == NEVER or other >= day for other in others)
        return all(NEVER != on[first] <= day for first in firsts)

    def supplied(self, job: int, day: int, new: int) -> bool:
        """Whether there is enough on a day of what a job uses up, opening new steps."""
        needs = self._needs(job, new)
        if len(needs) > 1:
            counts: dict[int, int] = {}
            for item, count in needs:
                counts[item] = counts.get(item, 0) + count
            needs = tuple(counts.items())
        return all(min(self.slack[item][day:]) >= count for item, count in needs)

    def best(self, job: int, skip: int = NEVER) -> tuple[int, int]:
        """What a job without a day adds on its cheapest day, and that day.

        NEVER where leaving it out is cheapest. `skip` is a day not to be taken.
        """
        case = self.case
        engine = case.engine[job]
        access, minutes, opening = case.access[job], case.minutes[job], case.opening[engine]
        opened, left, room = self.opened[engine], self.left, self.room
        boat, minute, tied = case.boat[engine], case.minute, case.tied[job]
        calls = self.calls[boat] if boat >= 0 else None
        least, found = case.leaving[job], NEVER
        for cost, day in case.choices[job]:
            if cost >= least:
                break
            before = opened[day]
            new = access if before == NO_VISIT else access & ~before
            taken = opening[new]
            if minutes + taken > left[day] or day == skip:
                continue
            cost += taken * minute
            if calls is not None and not calls[day]:
                if not room[day]:
                    continue
                cost += case.boat_day
            if cost < least and (not tied or self.fits(job, day, new)):
                least, found = cost, day
        return least, found
