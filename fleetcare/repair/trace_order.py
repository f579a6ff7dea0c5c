"""Which look next: the one after which the cause is found with the least work to be expected.

The work ends when the cause is proved. An outcome that proves another one by mistake costs
nothing but goes on: it was put right, and was not it. Looks that prove are best put in an order
found over all sets of them, with access steps paid once. A look that only tells causes apart is
worth its minutes when the order after each of its outcomes is so much shorter. Where few looks
are left, every way through them is weighed, and the answer is exact; where many are, each look
is weighed as the next one before the best order of the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.rules.rule import Access
from fleetcare.rules.symptoms import Look

MOST_WORK = 40_000  # sets weighed for one answer, some tenths of a second
CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Choice:
    """The look to make next: its minutes with the access still to open, and of that the access.

    `expected` are the minutes of work until the cause is found, this look among them; None for a
    look that comes first whatever the chances.
    """

    look: Look
    minutes: int
    opens: tuple[str, ...]
    expected: float | None


def with_included(names: Iterable[str], steps: Mapping[str, Access]) -> set[str]:
    """Access steps with all that come with them; names the set does not know cost nothing."""
    found: set[str] = set()
    ahead = [name for name in names if name in steps]
    while ahead:
        name = ahead.pop()
        if name not in found:
            found.add(name)
            ahead += [item for item in steps[name].includes if item in steps]
    return found


def next_look(
    looks: Sequence[Look],
    now: Mapping[str, Fraction],
    opened: Iterable[str],
    steps: Mapping[str, Access],
) -> Choice | None:
    """The best of the looks that are left, or None where none of them could prove anything.

    `now` are the chances of the causes, `opened` the access steps open already. Of looks equally
    good it is the first.
    """
    if not looks:
        return None
    search = _Search(looks, list(now), steps)
    begun = search.mask(with_included(opened, steps))
    shares = [float(chance) for chance in now.values()]
    left = tuple(range(len(looks)))
    expected, at = search.least(shares, left, begun, search.depth(left))
    if at is None:
        return None
    need = search.names(search.needs[at] & ~begun)
    return Choice(looks[at], search.minutes(at, begun), need, expected)


class _Search:
    """The looks as numbers: minutes, access steps as bits, chances by outcome and cause."""

    def __init__(
        self, looks: Sequence[Look], causes: Sequence[str], steps: Mapping[str, Access]
    ) -> None:
        self.steps = sorted(with_included([name for look in looks for name in look.access], steps))
        self.of_bit = [steps[name].minutes for name in self.steps]
        self.work = [look.minutes for look in looks]
        self.needs = [self.mask(with_included(look.access, steps)) for look in looks]
        # by look and outcome: each cause's chance of it, 0 for the one that it proves
        self.onward = [
            [
                [
                    0.0 if cause == outcome.proves else float(look.chances(cause)[at])
                    for cause in causes
                ]
                for at, outcome in enumerate(look.outcomes)
            ]
            for look in looks
        ]
        self.proves = [any(outcome.proves for outcome in look.outcomes) for look in looks]
        self.missed = [[sum(column) for column in zip(*rows, strict=True)] for rows in self.onward]
        named = {look.name: at for at, look in enumerate(looks)}
        self.after = [[named[name] for name in look.after if name in named] for look in looks]
        self._minutes: dict[int, int] = {}

    def mask(self, names: Iterable[str]) -> int:
        """Access steps as bits."""
        return sum(1 << self.steps.index(name) for name in set(names) & set(self.steps))

    def names(self, mask: int) -> tuple[str, ...]:
        """The access steps of a mask."""
        return tuple(name for at, name in enumerate(self.steps) if mask >> at & 1)

    def minutes(self, at: int, opened: int) -> int:
        """The minutes of a look with the access that is still to open."""
        closed = self.needs[at] & ~opened
        if closed not in self._minutes:
            bits = [minutes for bit, minutes in enumerate(self.of_bit) if closed >> bit & 1]
            self._minutes[closed] = sum(bits)
        return self.work[at] + self._minutes[closed]

    def ready(self, left: tuple[int, ...]) -> list[int]:
        """The looks whose turn it may be: those to be made before them are made."""
        return [at for at in left if not set(self.after[at]) & set(left)]

    def depth(self, left: tuple[int, ...]) -> int:
        """How many looks ahead every way can be weighed."""
        wide = sum(len(self.onward[at]) for at in left) / len(left)
        proving = sum(self.proves[at] for at in left)
        ways, depth = 1.0, 0
        while depth < len(left):
            ways *= (len(left) - depth) * wide
            if ways * 2 ** max(0, proving - depth - 1) > MOST_WORK:
                break
            depth += 1
        return max(1, depth)

    def least(
        self, shares: list[float], left: tuple[int, ...], opened: int, depth: int
    ) -> tuple[float, int | None]:
        """The least work to be expected, and the look it begins with; shares of any total."""
        if not any(self.proves[at] for at in left):
            return 0.0, None
        if depth == 0:
            return self.in_order(shares, left, opened), None
        best, first = float("inf"), None
        for at in self.ready(left):
            work = self.minutes(at, opened) * sum(shares)
            rest = tuple(item for item in left if item != at)
            for row in self.onward[at]:
                if work >= best:
                    break
                then = [share * chance for share, chance in zip(shares, row, strict=True)]
                work += self.least(then, rest, opened | self.needs[at], depth - 1)[0]
            if work < best - CLOSE:
                best, first = work, at
        return best, first

    def in_order(self, shares: list[float], left: tuple[int, ...], opened: int) -> float:
        """The work to be expected in the best order of the looks that prove, over all sets."""
        proving = [at for at in left if self.proves[at]]
        bit = {at: 1 << place for place, at in enumerate(proving)}
        before = [sum(bit.get(item, 0) for item in self.after[at]) for at in proving]
        size = 1 << len(proving)
        still, open_at = [shares], [opened]
        for mask in range(1, size):
            low = (mask & -mask).bit_length() - 1
            missed, rest = self.missed[proving[low]], mask & (mask - 1)
            still.append([a * b for a, b in zip(still[rest], missed, strict=True)])
            open_at.append(open_at[rest] | self.needs[proving[low]])
        work = [0.0] * size
        for mask in range(size - 2, -1, -1):
            unfound = sum(still[mask])
            work[mask] = min(
                unfound * self.minutes(at, open_at[mask]) + work[mask | 1 << place]
                for place, at in enumerate(proving)
                if not mask >> place & 1 and before[place] & ~mask == 0
            )
        return work[0]
