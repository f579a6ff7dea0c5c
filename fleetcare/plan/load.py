"""What an answer uses of each day, and whether a job would fit on another."""

from __future__ import annotations

from fleetcare.plan.evaluate import barred, items_of, minutes_of
from fleetcare.plan.problem import Answer, Problem

FULL, BOATS, PARTS, HOLD = "no minutes left", "no boat place left", "no part left", "held first"


class Load:
    """Minutes, boats and items used by an answer, by place and day."""

    def __init__(self, problem: Problem, answer: Answer) -> None:
        self.problem, self.answer = problem, answer
        self.on: dict[tuple[int, int], list[int]] = {}
        for job, day in enumerate(answer):
            if day is not None:
                self.on.setdefault((problem.jobs[job].engine, day), []).append(job)
        self.minutes: dict[tuple[int, int], int] = {}
        self.boats: dict[tuple[int, int], set[int]] = {}
        for engine, day in self.on:
            bench = problem.benches[engine]
            at = (bench.place, day)
            used = self._minutes(engine, self.on[engine, day])
            self.minutes[at] = self.minutes.get(at, 0) + used
            if bench.boat is not None:
                self.boats.setdefault(at, set()).add(bench.boat)
        self.firsts: dict[int, list[int]] = {}
        for number, what in enumerate(problem.jobs):
            if what.first:
                self.firsts.setdefault(what.engine, []).append(number)

    def access_on(self, engine: int, day: int, without: int | None = None) -> int:
        """The steps open on an engine on a day, one job left aside."""
        access = 0
        for job in self.on.get((engine, day), ()):
            if job != without:
                access |= self.problem.jobs[job].access
        return access

    def _minutes(self, engine: int, jobs: list[int]) -> int:
        access = 0
        for job in jobs:
            access |= self.problem.jobs[job].access
        bench = sum(self.problem.jobs[job].minutes for job in jobs)
        return bench + minutes_of(self.problem, engine, access)

    def hinders(self, job: int, day: int) -> str:
        """What keeps a job, taken from where it is, off a day; an empty text when nothing does."""
        problem, what = self.problem, self.problem.jobs[job]
        why = barred(problem, job, day)
        if why or self.answer[job] == day:
            return why
        bench = problem.benches[what.engine]
        at = (bench.place, day)
        new = what.access & ~self.access_on(what.engine, day)
        needed = what.minutes + minutes_of(problem, what.engine, new)
        if self.minutes.get(at, 0) + needed > problem.places[bench.place].minutes[day]:
            return FULL
        boats = self.boats.get(at, set())
        is_new = bench.boat is not None and bench.boat not in boats
        if is_new and len(boats) >= problem.places[bench.place].boats_out:
            return BOATS
        if self._before_hold(job, day):
            return HOLD
        return "" if self._has_items(job, day, new) else PARTS

    def _before_hold(self, job: int, day: int) -> bool:
        """Whether the job would come before what holds its engine, or what holds after others."""
        what = self.problem.jobs[job]
        firsts = self.firsts.get(what.engine, ())
        if not firsts:
            return False
        if not what.first:
            return any(
                self.answer[first] is None or (self.answer[first] or 0) > day for first in firsts
            )
        return any(
            other not in firsts and on < day
            for (engine, on), jobs in self.on.items()
            if engine == what.engine
            for other in jobs
        )

    def _has_items(self, job: int, day: int, new: int) -> bool:
        """Whether what it uses up from that day on leaves enough for all that come later."""
        problem = self.problem
        wanted: dict[int, int] = {}
        for item, count in items_of(problem, job, new):
            wanted[item] = wanted.get(item, 0) + count
        for item, count in wanted.items():
            used = [0] * problem.days
            for (engine, on), jobs in self.on.items():
                access = 0
                for other in jobs:
                    if other != job:
                        access |= problem.jobs[other].access
                        used[on] += sum(n for at, n in problem.jobs[other].uses if at == item)
                opening = problem.opening[engine] if problem.opening else ()
                for bit, pairs in enumerate(opening):
                    if access >> bit & 1:
                        used[on] += sum(n for at, n in pairs if at == item)
            used[day] += count
            total = 0
            for on, by in enumerate(problem.supplies[item].by_day):
                total += used[on]
                if total > by:
                    return False
        return True
