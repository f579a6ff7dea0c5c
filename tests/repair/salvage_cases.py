"""Random benches to salvage from, and scipy's assignment where no access is shared."""

from __future__ import annotations

import random
from itertools import combinations

import numpy
from scipy.optimize import linear_sum_assignment

from fleetcare.repair.salvage import BOUGHT, Bench

STEPS = 4  # cowl, leg, powerhead, transom: as bits, the powerhead's includes the leg's
PATTERNS = (0b0001, 0b0010, 0b0111, 0b1111, 0b0001, 0b0001, 0b0111)
KINDS = ("gearcase", "powerhead", "mid-section", "ignition", "carburettor", "pump", "cowling")


def bench(
    dice: random.Random, engines: int, kinds: int, shared: bool = True, bad: float = 0.25,
    sold: float = 0.2,
) -> Bench:  # fmt: skip
    patterns = [dice.choice(PATTERNS) for _ in range(kinds)]
    if not shared:  # every kind has a step of its own, and opening costs the same everywhere
        patterns = [1 << kind for kind in range(kinds)]
    steps = STEPS if shared else kinds
    dear = dice.random() < 0.5
    return Bench(
        tuple(f"E{at}" for at in range(engines)),
        KINDS[:kinds],
        tuple(
            tuple(
                None if dice.random() < bad else dice.choice((500, 1500, 3000, 9000))
                for _ in range(kinds)
            )
            for _ in range(engines)
        ),
        tuple(patterns),
        tuple(
            tuple(dice.choice((100, 1500, 6000)) if dear else 700 for _ in range(steps))
            for _ in range(engines)
        ),
        tuple(dice.choice((0, 300, 1200)) for _ in range(steps)),
        tuple(tuple(dice.choice((500, 900, 2000)) for _ in range(kinds)) for _ in range(engines)),
        tuple(dice.choice((4000, 20_000)) if dice.random() < sold else None for _ in range(kinds)),
    )


def assigned(given: Bench, wanted: int) -> int | None:
    """The least cost with scipy's assignment: right where no two kinds share a step."""
    best = None
    engines = range(len(given.engines))
    never = 10**9
    for hosts in combinations(engines, wanted):
        total = 0
        for kind in range(len(given.kinds)):
            step, price = kind, given.bought[kind]
            columns = [*engines, *(BOUGHT for _ in hosts)]
            table = numpy.full((len(hosts), len(columns)), never, dtype=numpy.int64)
            for row, host in enumerate(hosts):
                shut = given.opening[host][step] + given.closing[step]
                for column, source in enumerate(columns):
                    if source == BOUGHT:
                        if price is not None:
                            table[row, column] = shut + price
                        continue
                    risk = given.risk[source][kind]
                    if risk is None or (source in hosts and source != host):
                        continue
                    table[row, column] = risk if source == host else (
                        shut + given.opening[source][step] + given.work[source][kind] + risk
                    )  # fmt: skip
            rows, picked = linear_sum_assignment(table)
            total += int(table[rows, picked].sum())
        if total < never and (best is None or total < best):
            best = total
    return best
