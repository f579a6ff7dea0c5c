"""What boats compete for, as rows with prices, and the plan of one boat as a column of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleetcare.plan.search_case import NEVER, Case, Worth

PARTS = 256  # of a hundredth of a minute: prices are whole numbers of these

Row = tuple[str, int, int]


@dataclass(frozen=True, slots=True)
class Limits:
    """What a group of boats may use: by day minutes and boat places, supplies, and the aims.

    `late`, `days` and `left_out` are at most so many over the group, None without a limit.
    """

    minutes: Sequence[int]
    room: Sequence[int]
    slack: Sequence[Sequence[int]]
    late: int | None = None
    days: int | None = None
    left_out: int | None = None

    @classmethod
    def of(cls, case: Case) -> Limits:
        """All that a case has, without aims."""
        return cls(case.capacity, [case.room] * case.days, case.slack)

    def rows(self) -> dict[Row, int]:
        """Every limit as a row."""
        found: dict[Row, int] = {("minutes", day, 0): left for day, left in enumerate(self.minutes)}
        found |= {("room", day, 0): left for day, left in enumerate(self.room)}
        for item, by_day in enumerate(self.slack):
            found |= {("item", item, last): by_day[last] for last in receipts(by_day)}
        if self.late is not None:
            found["late", 0, 0] = self.late
        if self.days is not None:
            found["days", 0, 0] = self.days
        if self.left_out is not None:
            found["left_out", 0, 0] = self.left_out
        return found


class Prices:
    """What a unit of each limit costs those who use it, in parts; by day where that differs."""

    __slots__ = ("by_row", "days", "items", "late", "left_out", "minutes", "room")

    def __init__(self, by_row: Mapping[Row, int], case: Case) -> None:
        import numpy as np

        self.by_row = by_row
        self.minutes, self.room = (
            np.array([by_row.get((kind, day, 0), 0) for day in range(case.days)], np.int64)
            for kind in ("minutes", "room")
        )
        self.late = by_row.get(("late", 0, 0), 0)
        self.days = by_row.get(("days", 0, 0), 0)
        self.left_out = by_row.get(("left_out", 0, 0), 0)
        self.items = np.zeros((len(case.slack), case.days), np.int64)
        for (kind, item, last), price in by_row.items():
            if kind == "item":
                self.items[item, : last + 1] += price

    def worth(self, worth: Worth) -> int:
        """What a job of this worth costs, in parts."""
        paid = worth.cost * PARTS + worth.late * self.late + worth.days * self.days
        return paid + worth.left_out * self.left_out

    def step(self, case: Case, engine: int, bit: int) -> Any:
        """What opening a step of an engine costs, in parts, by day."""
        minutes = case.opening[engine][1 << bit]
        paid = minutes * (case.minute // case.weights.cost * PARTS + self.minutes)
        for item, count in opens(case, engine, bit):
            paid = paid + count * self.items[item]
        return paid

    def boat(self, case: Case) -> Any:
        """What having a boat in costs, in parts, by day."""
        return case.boat_day // case.weights.cost * PARTS + self.room


@dataclass(frozen=True, slots=True)
class Column:
    """A plan of one boat: its cost in hundredths, what it uses of each row, its jobs' days.

    `days` are None where it is a mixture of plans.
    """

    cost: float
    uses: tuple[tuple[Row, float], ...]
    days: tuple[tuple[int, int], ...] | None


def worth_rows(worth: Worth) -> list[tuple[Row, int]]:
    """What a job of this worth uses of the rows of the aims."""
    counts = (("late", worth.late), ("days", worth.days), ("left_out", worth.left_out))
    return [((kind, 0, 0), count) for kind, count in counts if count]


def receipts(slack: Sequence[int], first: int = 0) -> list[int]:
    """The days from the first on before each on which more comes, and the last."""
    last = len(slack) - 1
    return [day for day in range(first, last + 1) if day == last or slack[day] < slack[day + 1]]


def opened_items(case: Case, engine: int, access: int) -> list[tuple[int, int]]:
    """The scarce items that opening these steps of an engine uses up."""
    bits = range(access.bit_length())
    return [pair for bit in bits if access >> bit & 1 for pair in opens(case, engine, bit)]


def opens(case: Case, engine: int, bit: int) -> tuple[tuple[int, int], ...]:
    """The scarce items that opening a step of an engine uses up."""
    steps = case.opens[engine]
    return steps[bit] if bit < len(steps) else ()


def column_of(case: Case, days: Mapping[int, int]) -> Column:
    """What one boat's plan, the days of all its jobs, costs and uses."""
    cost = 0
    uses: dict[Row, float] = {}
    opened: dict[tuple[int, int], int] = {}
    taken: list[tuple[int, int, int]] = []
    for job, day in days.items():
        folded = case.leaving[job] if day == NEVER else case.at[job][day]
        worth = case.weights.unfold(folded)
        cost += worth.cost
        for row, count in worth_rows(worth):
            uses[row] = uses.get(row, 0) + count
        if day != NEVER:
            at = (case.engine[job], day)
            opened[at] = opened.get(at, 0) | case.access[job]
            uses["minutes", day, 0] = uses.get(("minutes", day, 0), 0) + case.minutes[job]
            taken += [(item, day, count) for item, count in case.uses[job]]
    for (engine, day), access in opened.items():
        minutes = case.opening[engine][access]
        uses["minutes", day, 0] += minutes
        cost += minutes * case.minute // case.weights.cost
        if case.boat[engine] >= 0 and ("room", day, 0) not in uses:
            uses["room", day, 0] = 1
            cost += case.boat_day // case.weights.cost
        taken += [(item, day, count) for item, count in opened_items(case, engine, access)]
    for item, day, count in taken:
        for last in receipts(case.slack[item], day):
            uses["item", item, last] = uses.get(("item", item, last), 0) + count
    return Column(cost, tuple(uses.items()), tuple(days.items()))
