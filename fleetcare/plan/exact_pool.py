"""Plans of single boats, mixed so that together they keep the limits: a bound, and better plans.

Column generation. A program without whole numbers mixes the plans known of each boat; what it
would pay for more of a limit becomes that limit's price; at these prices each boat's cheapest
plan is found and added. The sum of those cheapest, less what the limits are worth at their
prices, is below the cost of every plan, whatever the prices are: it is reckoned in whole numbers,
so no rounding of the program enters the bound.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fleetcare.plan.exact_columns import PARTS, Column, Limits, Prices, Row, column_of
from fleetcare.plan.exact_loose import LooseUnit
from fleetcare.plan.exact_program import ENDLESS, Program
from fleetcare.plan.exact_unit import MOST_JOBS, Unit
from fleetcare.plan.search_case import NEVER, Case

Planner = Unit | LooseUnit
KEPT = 4  # of five parts of the best prices in the next ones: they swing less, and end sooner
OWN = 8  # every so many turns the program's own prices are asked


def planners(case: Case) -> list[Planner]:
    """One for each boat, and for each engine that needs none."""
    found: dict[tuple[int, int], list[int]] = {}
    for job, engine in enumerate(case.engine):
        boat = case.boat[engine]
        found.setdefault((0, boat) if boat >= 0 else (1, engine), []).append(job)
    return [
        Unit(case, tuple(jobs)) if len(jobs) <= MOST_JOBS else LooseUnit(case, tuple(jobs))
        for jobs in found.values()
    ]


@dataclass(slots=True)
class Pool:
    """The plans known of some boats, and the best bound of their cost together.

    `values` and `prices` are those of the bound: each boat's least at its prices.
    """

    case: Case
    units: Sequence[Planner]
    limits: Limits
    columns: list[tuple[int, Column]] = field(default_factory=list)
    bound: int = 0
    values: list[int] = field(default_factory=list)
    prices: Mapping[Row, int] = field(default_factory=dict)
    _known: set[tuple[int, Column]] = field(default_factory=set)

    def start(self, days: Sequence[int]) -> None:
        """Take in a plan that keeps the limits."""
        for number, unit in enumerate(self.units):
            self.add(number, column_of(self.case, {job: days[job] for job in unit.jobs}))

    def add(self, unit: int, column: Column) -> bool:
        """Take in a plan of one boat; False when it is known."""
        if (unit, column) in self._known:
            return False
        self._known.add((unit, column))
        self.columns.append((unit, column))
        return True

    def grow(self, turns: int) -> bool:
        """Add plans and raise the bound until there is nothing to add, or the turns are over.

        True when the bound is the program's own value.
        """
        rows = self.limits.rows()
        mix = _Mix(len(self.units), rows)
        best: dict[Row, float] = {}
        taken = 0
        for turn in range(turns):
            taken = mix.take(self.columns, taken)
            value, duals = mix.run()
            if value - self.bound < max(1.0, value * 1e-6) and turn:
                return True
            own = turn % OWN == 0 or not best
            asked = (
                duals
                if own
                else {
                    row: (KEPT * best.get(row, 0.0) + duals.get(row, 0.0)) / (KEPT + 1)
                    for row in {**best, **duals}
                }
            )
            better, new = self._ask(asked, rows)
            if better:
                best = asked
            elif not new:
                if own:
                    return True
                best = duals
        return False

    def _ask(self, asked: Mapping[Row, float], rows: Mapping[Row, int]) -> tuple[bool, int]:
        """Each boat's cheapest plan at these prices: whether the bound rose, how many are new."""
        by_row = {row: round(price * PARTS) for row, price in asked.items()}
        prices = Prices(by_row, self.case)
        new, values = 0, []
        for number, unit in enumerate(self.units):
            value, column = unit.price(prices, self.limits.minutes, self.limits.room)
            values.append(value)
            new += self.add(number, column)
        total = sum(values) - sum(price * rows[row] for row, price in by_row.items())
        bound = -(-total // PARTS)
        if bound <= self.bound and self.values:
            return False, new
        self.bound, self.values, self.prices = bound, values, by_row
        return True, new

    def choose(self, under: int, nodes: int) -> dict[int, int] | None:
        """The cheapest whole mix of known plans that costs less than `under`, or None."""
        program = Program()
        rows = self.limits.rows()
        picks: list[list[tuple[int, float]]] = [[] for _ in self.units]
        uses: dict[Row, list[tuple[int, float]]] = {row: [] for row in rows}
        chosen = []
        for unit, column in self.columns:
            if column.days is None or not self._worth_trying(unit, column, under):
                continue
            number = program.column(column.cost)
            chosen.append(column)
            picks[unit].append((number, 1))
            for row, count in column.uses:
                if row in uses:
                    uses[row].append((number, count))
        if not all(picks):
            return None
        for entries in picks:
            program.row(1.0, 1.0, entries)
        for row, entries in uses.items():
            if entries:
                program.row(-ENDLESS, rows[row], entries)
        found = program.run(whole=True, nodes=nodes, above=0.99)
        if not found.values or found.value > under - 0.5:
            return None
        return {
            job: day
            for value, column in zip(found.values, chosen, strict=True)
            if value > 0.5
            for job, day in column.days or ()
        }

    def _worth_trying(self, unit: int, column: Column, under: int) -> bool:
        """Whether a plan with this column can cost less, going by the bound's prices."""
        if not holds(self.case, column):
            return False
        paid = column.cost * PARTS
        paid += sum(self.prices.get(row, 0) * count for row, count in column.uses)
        return paid - self.values[unit] < (under - self.bound) * PARTS


def holds(case: Case, column: Column) -> bool:
    """Whether what holds each engine comes no later than its other jobs."""
    days = dict(column.days or ())
    for job, day in days.items():
        firsts = case.first[case.engine[job]]
        if day != NEVER and job not in firsts:
            for first in firsts:
                if days[first] == NEVER or days[first] > day:
                    return False
    return True


class _Mix:
    """The program that mixes known plans, to which columns come turn by turn."""

    def __init__(self, units: int, rows: Mapping[Row, int]) -> None:
        self.program = Program()
        for _ in range(units):
            self.program.row(1.0, 1.0, ())
        self.rows = {row: self.program.row(-ENDLESS, most, ()) for row, most in rows.items()}

    def take(self, columns: Sequence[tuple[int, Column]], taken: int) -> int:
        """Take in the columns from the `taken`th on; how many there are."""
        for unit, column in columns[taken:]:
            entries = [(self.rows[row], count) for row, count in column.uses if row in self.rows]
            self.program.column(column.cost, ENDLESS, [(unit, 1), *entries])
        return len(columns)

    def run(self) -> tuple[float, dict[Row, float]]:
        """The value of the best mixture, and what more of each limit would save."""
        found = self.program.run()
        prices = {row: max(0.0, -found.duals[number]) for row, number in self.rows.items()}
        return found.value, {row: price for row, price in prices.items() if price > 0}
