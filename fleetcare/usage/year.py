"""How much each engine ran in a span of days, boat by boat: the looking back.

A `Stay` is one engine on one boat, or in store, within the span. The hours of its days are a
difference of the engine's running sums, so the stays of an engine add up to its engine hours, and
years to the span they make, to the last fraction.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import EngineUse, Mix, minus
from fleetcare.usage.places import NEVER


@dataclass(frozen=True, slots=True)
class Stay:
    """The days from `first` to `last` of one engine on `boat`, or in store when that is None.

    `mix` is what it ran in hundredths of an hour, `run_days` the days it is known to have run.
    `known_from` is the day the fleet first knew the engine, when that was within these days and
    the engine was not new; `figures_to` the last of these days that its figures reach, or the day
    before them all.
    """

    engine: str
    boat: str | None
    first: int
    last: int
    mix: Mix
    run_days: tuple[int, ...]
    known_from: int | None
    figures_to: int

    @property
    def is_whole(self) -> bool:
        """Whether nothing of these days is unknown."""
        return self.known_from is None and self.figures_to >= self.last


def stays(carriage: Carriage, first: int, last: int) -> list[Stay]:
    """Every stay with a day from `first` to `last`, engine by engine; none after `as_of`."""
    last = min(last, carriage.as_of)
    found: list[Stay] = []
    for name, use in carriage.uses.items():
        ran = use.days_known_to_have_run()
        retired = carriage.history.of(name).retired
        to = figures_to(use, retired)
        for berth in carriage.stays[name]:
            begin, end = max(first, berth.first), min(last, berth.last)
            if begin > end or (retired is not None and retired < begin):
                continue
            at_first = begin == use.since and not use.engine.new
            found.append(
                Stay(
                    name, berth.boat, begin, end, mix_of(use, begin, end, carriage.as_of),
                    tuple(ran[bisect_left(ran, begin) : bisect_right(ran, end)]),
                    begin if at_first else None, max(begin - 1, min(end, to)),
                )
            )  # fmt: skip
    return found


def mix_of(use: EngineUse, first: int, last: int, known: int) -> Mix:
    """Hours by water on the days from first to last, from what was known by a day."""
    return minus(use.mix_to(last, known), use.mix_to(first - 1, known))


def figures_to(use: EngineUse, retired: int | None) -> int:
    """The last day through which the engine's hours are known.

    That of its last figure, and the days after it that it was laid up, in store or retired; an
    engine that has no meter now has its runs, and they are taken to be logged.
    """
    closes = use.closes
    if closes.unmetered and closes.unmetered[-1][1] >= NEVER:
        return NEVER
    reached = closes.days[-1]
    quiet = [*use.idle, (retired, NEVER)] if retired is not None else use.idle
    for begin, end in sorted(quiet):
        if begin <= reached + 1:
            reached = max(reached, end)
    return reached
