"""A lower bound of one boat's cheapest plan when what boats compete for has prices.

For boats with more jobs than their sets can be counted: the program of that boat without whole
numbers. Its best point is mostly a mixture of plans, which serves the bound as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from fleetcare.plan.exact_columns import PARTS, Column, Prices, Row, column_of
from fleetcare.plan.exact_model import PlanModel
from fleetcare.plan.search_case import Case

WHOLE = 1e-6


class LooseUnit:
    """One boat's jobs as a program that is kept, so that new prices start from the last point."""

    __slots__ = ("_model", "_rows", "case", "jobs")

    def __init__(self, case: Case, jobs: tuple[int, ...]) -> None:
        self.case, self.jobs = case, jobs
        self._model = PlanModel(case)
        self._model.add_jobs(jobs)
        self._model.add_holds(jobs)
        self._rows = self._model.uses()

    def price(
        self, prices: Prices, minutes: Sequence[int], room: Sequence[int]
    ) -> tuple[int, Column]:
        """A bound of the least cost, in parts, and the point that has it, as a column."""
        program = self._model.program
        costs = self._model.costs()
        program.recost(
            cost + sum(prices.by_row.get(row, 0) * count for row, count in uses) / PARTS
            for cost, uses in zip(costs, self._rows, strict=True)
        )
        found = program.run()
        if all(abs(value - round(value)) < WHOLE for value in found.values):
            column = column_of(self.case, self._model.days(found.values))
        else:
            column = self._mixture(costs, found.values)
        return floor((found.value - 0.01) * PARTS), column

    def _mixture(self, costs: Sequence[float], values: Sequence[float]) -> Column:
        uses: dict[Row, float] = {}
        for value, rows in zip(values, self._rows, strict=True):
            if value > WHOLE:
                for row, count in rows:
                    uses[row] = uses.get(row, 0.0) + count * value
        cost = sum(cost * value for cost, value in zip(costs, values, strict=True))
        return Column(cost, tuple(uses.items()), None)
