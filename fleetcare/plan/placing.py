"""One job in the problem's terms: its minutes, its steps, the days on which it may stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fleetcare.plan.jobs import (
    Demand,
    cost_by_day,
    cost_unplaced,
    due_day,
    earliest_day,
    presses,
)
from fleetcare.plan.problem import Bench, Job, Place, Supply
from fleetcare.plan.workshop import Calendar, Rates
from fleetcare.rules.rule import Part

Counts = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Ground:
    """What the problem rests on beside its jobs; `items` gives each counted item its supply."""

    calendar: Calendar
    rates: Rates
    places: tuple[Place, ...]
    busy: tuple[frozenset[int], ...]
    benches: tuple[Bench, ...]
    supplies: tuple[Supply, ...]
    opening: tuple[tuple[Counts, ...], ...]
    items: Mapping[str, int]


def parts_of(parts: Iterable[Part], items: Mapping[str, int]) -> Counts:
    """Counts by supply, of the items that are counted at all."""
    counts: dict[int, int] = {}
    for part in parts:
        if part.item in items:
            counts[items[part.item]] = counts.get(items[part.item], 0) + part.count
    return tuple(sorted(counts.items()))


def job_of(demand: Demand, engine: int, access: int, ground: Ground) -> Job:
    """The job of a demand on the bench of its engine."""
    rule, calendar = demand.row.rule, ground.calendar
    uses = parts_of(rule.parts, ground.items)
    allowed = _allowed(demand, engine, access, uses, ground)
    return Job(
        engine, rule.name, rule.minutes, access, presses(demand.row),
        due_day(demand.row, calendar), allowed, cost_by_day(demand, ground.rates, calendar),
        cost_unplaced(demand, ground.rates, calendar), demand.holds and bool(allowed), uses,
    )  # fmt: skip


def _allowed(
    demand: Demand, engine: int, access: int, uses: Counts, ground: Ground
) -> tuple[int, ...]:
    """Days open, not booked, long enough for the job alone with its access, its parts there."""
    bench = ground.benches[engine]
    place = ground.places[bench.place]
    if bench.boat is not None and not place.boats_out:
        return ()
    needed = demand.row.rule.minutes + minutes_of(access, bench)
    taken = ground.busy[bench.boat] if bench.boat is not None else frozenset()
    counts = _alone(uses, access, ground.opening[engine])
    first = earliest_day(demand.row, ground.calendar)
    return tuple(
        day
        for day in range(first, ground.calendar.days)
        if 0 < place.minutes[day] >= needed
        and day not in taken
        and all(ground.supplies[at].by_day[day] >= count for at, count in counts.items())
    )


def minutes_of(access: int, bench: Bench) -> int:
    """The minutes of steps by their bits."""
    return sum(minutes for at, minutes in enumerate(bench.steps) if access >> at & 1)


def _alone(uses: Counts, access: int, opening: tuple[Counts, ...]) -> dict[int, int]:
    """What a job uses up of each supply when its visit has no other."""
    counts = dict(uses)
    for bit, used in enumerate(opening):
        if access >> bit & 1:
            for at, count in used:
                counts[at] = counts.get(at, 0) + count
    return counts
