"""Random numbers that are the same on every machine and under every Python.

A linear congruential generator of 64 bits (the multiplier and increment are Knuth's for MMIX,
The Art of Computer Programming, volume 2, 3.3.4), of which the upper bits are used.
"""

from __future__ import annotations

_KEEP = (1 << 64) - 1


class Dice:
    """A sequence of numbers that its seed settles."""

    __slots__ = ("state",)

    def __init__(self, seed: int) -> None:
        self.state = seed & _KEEP
        for _ in range(4):
            self.below(2)

    def below(self, limit: int) -> int:
        """A whole number from 0 to one less than the limit."""
        self.state = state = (self.state * 6364136223846793005 + 1442695040888963407) & _KEEP
        return (state >> 32) * limit >> 32

    def shuffle(self, items: list[int]) -> None:
        """Put a list in another order, in place."""
        for last in range(len(items) - 1, 0, -1):
            other = self.below(last + 1)
            items[last], items[other] = items[other], items[last]
