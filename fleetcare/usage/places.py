"""Where an engine was: its home water over time, its days in store and laid up."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log.history import History

NEVER = 9_999_999


@dataclass(frozen=True, slots=True)
class HomeWater:
    """Home water as steps: from `days[i]` on it is `waters[i]`; before the first, the first."""

    days: tuple[int, ...]
    waters: tuple[int, ...]

    def on(self, day: int) -> int:
        """The home water of a day."""
        return self.waters[max(0, bisect_right(self.days, day) - 1)]

    def but(self, first: int, last: int, water: int) -> HomeWater:
        """The same with another water on the days from first to last."""
        steps = [(0, self.waters[0]), *zip(self.days, self.waters, strict=True)]
        before = [step for step in steps if step[0] < first]
        after = [step for step in steps if step[0] > last + 1]
        whole = [*before, (first, water), (last + 1, self.on(last + 1)), *after]
        return HomeWater(tuple(day for day, _ in whole), tuple(water for _, water in whole))

    def stretches(self, first: int, last: int) -> list[tuple[int, int, int]]:
        """(first day, last day, water) for each stretch of one water within the days given."""
        if first > last:
            return []
        out = []
        at = max(0, bisect_right(self.days, first) - 1)
        while first <= last:
            end = self.days[at + 1] - 1 if at + 1 < len(self.days) else NEVER
            out.append((first, min(end, last), self.waters[at]))
            first, at = end + 1, at + 1
        return out


@dataclass(frozen=True, slots=True)
class Berth:
    """A time on one boat, or in store when `boat` is None; both days included."""

    first: int
    last: int
    boat: str | None


def boat_water(boats: Mapping[str, Boat], history: History, boat: str) -> HomeWater:
    """A boat's home water over time."""
    moves = history.moves.get(boat, [])
    return HomeWater(
        (0, *(day for day, _ in moves)), (int(boats[boat].water), *(water for _, water in moves))
    )


def berths(engine: Engine, history: History) -> list[Berth]:
    """Where the engine was, from its `since` on, in order.

    A berth left on the day it began has its last day before its first: no day was spent there,
    but it tells which boat the engine came from.
    """
    since = engine.since.toordinal()
    steps: list[tuple[int, str | None]] = [(since, engine.boat), *history.of(engine.name).places]
    ends = [day - 1 for day, _ in steps[1:]] + [NEVER]
    return [Berth(day, end, boat) for (day, boat), end in zip(steps, ends, strict=True)]


def home_water(
    boats: Mapping[str, Boat], history: History, engine: Engine, stays: list[Berth]
) -> HomeWater:
    """The engine's home water: its boat's; in store the last it had; nothing known, salt."""
    days: list[int] = []
    waters: list[int] = []
    last = int(Water.SALT)
    boat: str | None = None
    for stay in stays:
        if stay.boat is None:
            if boat is not None:  # a move on the day it goes into store still counts
                last = boat_water(boats, history, boat).on(stay.first)
            steps = [(stay.first, stay.last, last)]
        else:
            steps = boat_water(boats, history, stay.boat).stretches(stay.first, stay.last)
        boat = stay.boat
        if stay.first > stay.last:
            continue
        for first, _, water in steps:
            if not waters or waters[-1] != water:
                days.append(first)
                waters.append(water)
        last = waters[-1]
    return HomeWater(tuple(days), tuple(waters))


def idle_stretches(
    history: History, engine: Engine, stays: list[Berth]
) -> tuple[tuple[int, int], ...]:
    """Days on which the engine was laid up or in store, as merged (first, last) pairs."""
    stretches = [
        (stay.first, stay.last) for stay in stays if stay.boat is None and stay.first <= stay.last
    ]
    laid_up: int | None = None
    for day, what in history.of(engine.name).seasons:
        if what == "lay-up" and laid_up is None:
            laid_up = day
        elif what == "launch" and laid_up is not None:
            if day > laid_up:
                stretches.append((laid_up, day - 1))
            laid_up = None
    if laid_up is not None:
        stretches.append((laid_up, NEVER))
    merged: list[tuple[int, int]] = []
    for first, last in sorted(stretches):
        if merged and first <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(merged[-1][1], last))
        else:
            merged.append((first, last))
    return tuple(merged)


def is_laid_up(history: History, engine: str) -> bool:
    """Whether the engine is laid up at the end of the history."""
    seasons = history.of(engine).seasons
    return bool(seasons) and seasons[-1][1] == "lay-up"
