"""The plan as a program of 0 and 1: a job on a day, a step open on a day, a boat in on a day.

A job needs each of its steps open and a step its boat in, row by row and not summed, which keeps
the program without whole numbers close to the one with them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from fleetcare.plan.exact_columns import Limits, Row, opens, receipts, worth_rows
from fleetcare.plan.exact_program import ENDLESS, Program
from fleetcare.plan.search_case import NEVER, Case, Worth


@dataclass(slots=True)
class PlanModel:
    """The program of some jobs of a case, and which column stands for what."""

    case: Case
    program: Program = field(default_factory=Program)
    on: dict[tuple[int, int], int] = field(default_factory=dict)
    out: dict[int, int] = field(default_factory=dict)
    steps: dict[tuple[int, int, int], int] = field(default_factory=dict)
    boats: dict[tuple[int, int], int] = field(default_factory=dict)

    def add_jobs(self, jobs: Sequence[int]) -> None:
        """Columns and rows of jobs: each on one day or out, what it needs open before it."""
        case, program = self.case, self.program
        for job in jobs:
            stays = case.stays[job]
            days = [day for _, day in case.choices[job]] if stays == NEVER else [stays]
            for day in days:
                self._on(job, day)
            picks = [(self.on[job, day], 1) for day in days]
            if stays == NEVER:
                self.out[job] = program.column(0.0)
                picks.append((self.out[job], 1))
            program.row(1.0, 1.0, picks)

    def _on(self, job: int, day: int) -> None:
        case, program = self.case, self.program
        engine, access = case.engine[job], case.access[job]
        self.on[job, day] = program.column(0.0)
        for bit in range(access.bit_length()):
            if access >> bit & 1:
                needs = self._step(engine, bit, day)
                program.row(-ENDLESS, 0.0, ((self.on[job, day], 1), (needs, -1)))
        if not access and case.boat[engine] >= 0:
            needs = self._boat(case.boat[engine], day)
            program.row(-ENDLESS, 0.0, ((self.on[job, day], 1), (needs, -1)))

    def _step(self, engine: int, bit: int, day: int) -> int:
        if (engine, bit, day) not in self.steps:
            column = self.program.column(0.0)
            self.steps[engine, bit, day] = column
            if self.case.boat[engine] >= 0:
                needs = self._boat(self.case.boat[engine], day)
                self.program.row(-ENDLESS, 0.0, ((column, 1), (needs, -1)))
        return self.steps[engine, bit, day]

    def _boat(self, boat: int, day: int) -> int:
        if (boat, day) not in self.boats:
            self.boats[boat, day] = self.program.column(0.0)
        return self.boats[boat, day]

    def uses(self) -> list[list[tuple[Row, int]]]:
        """What each column uses of every row that boats compete for."""
        case = self.case
        found: list[list[tuple[Row, int]]] = [[] for _ in self.program.costs]
        for (job, day), column in self.on.items():
            found[column] += _taken(case, day, case.minutes[job], case.uses[job])
        for (engine, bit, day), column in self.steps.items():
            minutes = case.opening[engine][1 << bit]
            found[column] += _taken(case, day, minutes, opens(case, engine, bit))
        for (_, day), column in self.boats.items():
            found[column].append((("room", day, 0), 1))
        for column, worth in self._worths():
            found[column] += worth_rows(worth)
        return found

    def add_limits(self, limits: Limits) -> None:
        """At most so much of what boats compete for."""
        entries: dict[Row, list[tuple[int, float]]] = {row: [] for row in limits.rows()}
        for column, uses in enumerate(self.uses()):
            for row, count in uses:
                if row in entries:
                    entries[row].append((column, count))
        for row, most in limits.rows().items():
            if entries[row]:
                self.program.row(-ENDLESS, most, entries[row])

    def add_holds(self, jobs: Sequence[int]) -> None:
        """What holds an engine comes no later than its others, and has a day if they have."""
        case = self.case
        days: dict[int, list[tuple[int, int]]] = {}
        for (job, day), column in self.on.items():
            days.setdefault(job, []).append((day, column))
        for job in jobs:
            firsts = case.first[case.engine[job]]
            for first in firsts if job not in firsts else ():
                for last, _ in days.get(job, ()):
                    mine = [(column, 1) for day, column in days[job] if day <= last]
                    holds = [(column, -1) for day, column in days.get(first, ()) if day <= last]
                    self.program.row(-ENDLESS, 0.0, mine + holds)

    def aim(self, price: Callable[[Worth], int]) -> None:
        """Make least a part of the jobs' worth."""
        costs = [0.0] * len(self.program.costs)
        for column, worth in self._worths():
            costs[column] = price(worth)
        self.program.recost(costs)

    def costs(self) -> list[float]:
        """What each column costs, in hundredths."""
        case = self.case
        found = [0.0] * len(self.program.costs)
        for column, worth in self._worths():
            found[column] = worth.cost
        for (engine, bit, _), column in self.steps.items():
            found[column] = case.opening[engine][1 << bit] * case.minute // case.weights.cost
        for column in self.boats.values():
            found[column] = case.boat_day // case.weights.cost
        return found

    def _worths(self) -> list[tuple[int, Worth]]:
        case = self.case
        unfold = case.weights.unfold
        found = [(column, unfold(case.at[job][day])) for (job, day), column in self.on.items()]
        return found + [(column, unfold(case.leaving[job])) for job, column in self.out.items()]

    def days(self, values: Sequence[float]) -> dict[int, int]:
        """The days of the jobs in a point in whole numbers, NEVER for those left out."""
        found = dict.fromkeys(self.out, NEVER)
        for (job, day), column in self.on.items():
            if values[column] > 0.5:
                found[job] = day
        return found


def _taken(
    case: Case, day: int, minutes: int, items: Sequence[tuple[int, int]]
) -> list[tuple[Row, int]]:
    found: list[tuple[Row, int]] = [(("minutes", day, 0), minutes)]
    for item, count in items:
        found += [(("item", item, last), count) for last in receipts(case.slack[item], day)]
    return found
