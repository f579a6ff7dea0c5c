"""Meter figures of one engine that the others do not allow: the fewest that must be wrong.

One slip of the pen, too high, would otherwise speak against every figure after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

A_DAY = 2400  # hundredths of an hour
LOOK_AHEAD = 64
_FIXED = 1_000_000


class Mark(NamedTuple):
    """A figure on a day; `key` says which row it is, -1 one that the log holds already."""

    day: int
    figure: int
    key: int


class Slip(NamedTuple):
    """A figure left out, and the kept one that speaks against it: an earlier or a later one."""

    mark: Mark
    against: Mark
    is_low: bool


def slips(marks: Sequence[Mark]) -> list[Slip]:
    """The fewest figures to leave out so that the others rise, and by at most 24 hours a day.

    Those of one day come in any order, and none is more than 24 hours above another.
    Of several ways the one that keeps the earlier rows. None is named when those of the log do not
    stand by themselves.
    """
    ordered = sorted(marks)
    if not ordered or _stands(ordered):
        return []
    kept = _kept(ordered)
    chosen = set(kept)
    if any(mark.key < 0 for at, mark in enumerate(ordered) if at not in chosen):
        return []
    return [
        _slip(ordered, kept, at)
        for at, mark in enumerate(ordered)
        if at not in chosen and mark.key >= 0
    ]


def _fits(one: Mark, two: Mark) -> bool:
    return 0 <= two.figure - one.figure <= A_DAY * max(1, two.day - one.day)


def _stands(marks: Sequence[Mark]) -> bool:
    return all(_fits(one, two) for one, two in pairwise(marks))


def _kept(marks: Sequence[Mark]) -> list[int]:
    """The heaviest chain, found from its end; those of the log weigh more than all rows."""
    best = [0] * len(marks)
    for at in range(len(marks) - 1, -1, -1):
        after = range(at + 1, min(at + 1 + LOOK_AHEAD, len(marks)))
        tail = max((best[then] for then in after if _fits(marks[at], marks[then])), default=0)
        best[at] = tail + (_FIXED if marks[at].key < 0 else 1)
    kept: list[int] = []
    left = max(best)
    for at, mark in enumerate(marks):
        if best[at] == left and (not kept or _fits(marks[kept[-1]], mark)):
            kept.append(at)
            left -= _FIXED if mark.key < 0 else 1
    return kept


def _slip(marks: Sequence[Mark], kept: Sequence[int], at: int) -> Slip:
    mark = marks[at]
    before = next((marks[item] for item in reversed(kept) if item < at), None)
    after = next((marks[item] for item in kept if item > at), None)
    if before is not None and mark.figure < before.figure:
        return Slip(mark, before, True)
    if after is not None and (mark.figure > after.figure or before is None):
        return Slip(mark, after, False)
    if before is None:
        raise ValueError("one figure alone is no slip")
    is_steep = not _fits(before, mark)
    return Slip(mark, before if is_steep or after is None else after, False)
