"""How many to have of what may be wanted: chances of each number, and what too few or many cost.

One period is looked at, the time until an order of today and of the next look arrive. What is
left over costs `holding` a piece, what is lacking costs `penalty` a piece; the number that costs
least is the smallest whose chance of being enough reaches the critical ratio (the newsvendor's
problem: L. V. Snyder and Z.-J. M. Shen, Fundamentals of Supply Chain Theory, Wiley, ch. 4).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

TAIL = 1e-13  # of a distribution without an end, what lies beyond this is left out
NEAR = 1e-12  # rounding must not ask for one piece more

Chances = Sequence[float]  # of 0, 1, 2, … pieces


def poisson(mean: float) -> list[float]:
    """The chances of each number of rare events that come by themselves, given their mean."""
    if mean <= 0.0:
        return [1.0]
    chances: list[float] = []
    while len(chances) <= mean or chances[-1] >= TAIL:
        number = len(chances)
        chances.append(math.exp(number * math.log(mean) - mean - math.lgamma(number + 1)))
    return chances


def together(one: Chances, other: Chances) -> list[float]:
    """The chances of the sum of two numbers that know nothing of each other."""
    total = [0.0] * (len(one) + len(other) - 1)
    for at, here in enumerate(one):
        if here:
            for more, there in enumerate(other):
                total[at + more] += here * there
    while len(total) > 1 and total[-1] < TAIL:
        total.pop()
    return total


def in_lots(chances: Chances, lot: int) -> list[float]:
    """The chances of the pieces, where each event wants a lot of them."""
    pieces = [0.0] * ((len(chances) - 1) * lot + 1)
    for number, chance in enumerate(chances):
        pieces[number * lot] = chance
    return pieces


def critical_ratio(holding: float, penalty: float) -> float:
    """The chance of being enough that costs least to have."""
    return penalty / (holding + penalty)


def enough(chances: Chances, level: float) -> int:
    """The smallest number whose chance of being enough is at least `level`."""
    total = 0.0
    for number, chance in enumerate(chances):
        total += chance
        if total >= level - NEAR:
            return number
    return len(chances) - 1


def expected_cost(chances: Chances, stock: int, holding: float, penalty: float) -> float:
    """What having this many costs on average; a stock below nothing is owed already."""
    return math.fsum(
        chance * (holding * (stock - wanted) if wanted < stock else penalty * (wanted - stock))
        for wanted, chance in enumerate(chances)
    )


def reorder(
    chances: Chances, holding: float, penalty: float, order_cost: float
) -> tuple[int, int, float]:
    """(s, S, cost a period): fetch up to S when s or fewer are left and an order costs something.

    Chances are those of a period's demand. The exact search of Y.-S. Zheng and A. Federgruen,
    Finding optimal (s, S) policies is about as simple as evaluating a single policy, Operations
    Research 39 (1991).
    """
    best = enough(chances, critical_ratio(holding, penalty))
    if 1.0 - chances[0] < TAIL:
        return best - 1, best, 0.0
    policy = _Policy(chances, holding, penalty, order_cost)
    low = best - 1
    while policy.cost(low, best) > policy.period(low):
        low -= 1
    cost, high = policy.cost(low, best), best + 1
    while policy.period(high) <= cost:
        if policy.cost(low, high) < cost:
            best = high
            while policy.cost(low, best) <= policy.period(low + 1):
                low += 1
            cost = policy.cost(low, best)
        high += 1
    return low, best, cost


class _Policy:
    """What a pair of levels costs a period, the renewals between orders kept."""

    def __init__(self, chances: Chances, holding: float, penalty: float, order_cost: float) -> None:
        self.chances, self.holding, self.penalty = chances, holding, penalty
        self.order_cost = order_cost
        self._visits = [1.0 / (1.0 - chances[0])]
        self._periods: dict[int, float] = {}

    def period(self, stock: int) -> float:
        """The cost of one period begun with so many."""
        if stock not in self._periods:
            cost = expected_cost(self.chances, stock, self.holding, self.penalty)
            self._periods[stock] = cost
        return self._periods[stock]

    def cost(self, low: int, high: int) -> float:
        """The cost a period in the long run."""
        span = high - low
        total = self.order_cost + math.fsum(
            self._visit(at) * self.period(high - at) for at in range(span)
        )
        return total / math.fsum(self._visit(at) for at in range(span))

    def _visit(self, at: int) -> float:
        """How often on average the stock stands `at` pieces below the top between two orders."""
        while len(self._visits) <= at:
            here = len(self._visits)
            reached = math.fsum(
                self.chances[step] * self._visits[here - step]
                for step in range(1, min(here, len(self.chances) - 1) + 1)
            )
            self._visits.append(reached / (1.0 - self.chances[0]))
        return self._visits[at]
