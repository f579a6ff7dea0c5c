"""A linear or whole-number program, and the solver of the extra `plan` that solves it.

One thread, a fixed seed and counted nodes, never a clock, so that the same program has the same
solution. The solver's class that prints a banner is not used; nothing goes to stdout.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

Entries = Sequence[tuple[int, float]]
ENDLESS = float("inf")


def available() -> bool:
    """Whether the solver of the extra is installed."""
    try:
        from highspy import _core

        return hasattr(_core, "_Highs")
    except ImportError:
        return False


def version() -> str:
    """The name and version of the solver."""
    from highspy import _core

    return f"HiGHS {_core._Highs().version()}"


@dataclass(frozen=True, slots=True)
class Found:
    """What a run found: the value of the best point, a bound below all, the point, the duals.

    `values` are empty where no point was found; `proved` says that none is better.
    """

    value: float
    bound: float
    values: Sequence[float]
    duals: Sequence[float]
    proved: bool


class Program:
    """Make the cost of columns least, within rows; columns lie between 0 and an upper limit."""

    __slots__ = ("_entries", "_highs", "_rows", "_whole", "costs", "uppers")

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.uppers: list[float] = []
        self._rows: list[tuple[float, float]] = []
        self._entries: list[list[tuple[int, float]]] = []
        self._highs: Any = None
        self._whole = False

    def column(self, cost: float, upper: float = 1.0, entries: Entries = ()) -> int:
        """One more column, in rows that are there already; its number."""
        self.costs.append(cost)
        self.uppers.append(upper)
        number = len(self.costs) - 1
        if self._highs is not None:
            rows, values = [row for row, _ in entries], [float(value) for _, value in entries]
            self._highs.addCol(cost, 0.0, upper, len(rows), rows, values)
        for row, value in entries:
            self._entries[row].append((number, value))
        return number

    def row(self, low: float, high: float, entries: Entries) -> int:
        """One more row, before the first run; its number."""
        self._rows.append((low, high))
        self._entries.append(list(entries))
        return len(self._rows) - 1

    def recost(self, costs: Iterable[float]) -> None:
        """Give every column another cost."""
        self.costs = list(costs)
        if self._highs is not None:
            self._highs.changeColsCost(len(self.costs), list(range(len(self.costs))), self.costs)

    def run(self, *, whole: bool = False, nodes: int | None = None, above: float = 0.0) -> Found:
        """Solve it, in whole numbers where asked, with so many nodes at most.

        `above` is a gap that counts as proved, for values that are whole.
        """
        highs = self._ready(whole)
        if whole:
            highs.setOptionValue("mip_abs_gap", above)
            if nodes is not None:
                highs.setOptionValue("mip_max_nodes", nodes)
        highs.run()
        return self._found(highs, whole)

    def _found(self, highs: Any, whole: bool) -> Found:
        from highspy import HighsModelStatus

        info, solution = highs.getInfo(), highs.getSolution()
        there = info.primal_solution_status == 2
        proved = highs.getModelStatus() == HighsModelStatus.kOptimal
        value = info.objective_function_value if there else ENDLESS
        bound = info.mip_dual_bound if whole else value
        if highs.getModelStatus() == HighsModelStatus.kInfeasible:
            proved, bound = True, ENDLESS
        values = list(solution.col_value) if there else []
        return Found(value, bound, values, [] if whole else list(solution.row_dual), proved)

    def _ready(self, whole: bool) -> Any:
        if self._highs is not None and self._whole == whole:
            return self._highs
        from highspy import _core

        highs = _core._Highs()
        for name, setting in (("output_flag", False), ("threads", 1), ("random_seed", 1),
                              ("mip_rel_gap", 0.0)):  # fmt: skip
            highs.setOptionValue(name, setting)
        highs.passModel(self._lp(whole))
        self._highs, self._whole = highs, whole
        return highs

    def _lp(self, whole: bool) -> Any:
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.costs), len(self._rows)
        lp.col_cost_, lp.col_lower_ = self.costs, [0.0] * len(self.costs)
        lp.col_upper_ = self.uppers
        lp.row_lower_ = [low for low, _ in self._rows]
        lp.row_upper_ = [high for _, high in self._rows]
        starts = [0]
        for entries in self._entries:
            starts.append(starts[-1] + len(entries))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = starts
        lp.a_matrix_.index_ = [column for entries in self._entries for column, _ in entries]
        lp.a_matrix_.value_ = [float(value) for entries in self._entries for _, value in entries]
        if whole:
            lp.integrality_ = [highspy.HighsVarType.kInteger] * len(self.costs)
        return lp
