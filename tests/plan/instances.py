"""Invented fleets for the planner: n engines with ten jobs each over 120 days.

The shape is that of a hire season: hires in spells of days, Sundays closed, about four jobs in
ten leading to overheating or a seized swivel, and a workshop that is short of boat places.
"""

from __future__ import annotations

import random

from fleetcare.plan.problem import Bench, Job, Place, Problem

COWL, PROPELLER, LEG, POWERHEAD = 1, 2, 4, 8
STEPS = (5, 5, 35, 30)
# minutes, access, whether it is a precursor, value of its parts in minutes, interval in days
TASKS = (
    (15, LEG | PROPELLER, True, 50, 365),
    (10, COWL, True, 30, 365),
    (5, 0, True, 5, 60),
    (5, 0, True, 0, 30),
    (10, PROPELLER, False, 20, 365),
    (15, COWL, False, 45, 180),
    (5, COWL, False, 25, 180),
    (25, POWERHEAD | LEG | COWL, False, 90, 1095),
    (5, PROPELLER, False, 5, 90),
    (12, LEG | PROPELLER, False, 40, 540),
)


def fleet(
    engines: int, seed: int, *, days: int = 120, windows: bool = True, most: int = 1000
) -> Problem:
    """A fleet of so many engines in places of at most `most`; with windows jobs have fewer days."""
    dice = random.Random(seed)
    count = -(-engines // most)
    sizes = [engines // count + (place < engines % count) for place in range(count)]
    places = tuple(_place(f"Pier {at + 1}", size, days) for at, size in enumerate(sizes))
    busy, benches, jobs = [], [], []
    for place, size in enumerate(sizes):
        for _ in range(size):
            engine = len(benches)
            busy.append(_hires(dice, days))
            benches.append(Bench(f"engine {engine:04}", engine, place, STEPS))
            free = [
                day for day in range(days) if places[place].minutes[day] and day not in busy[-1]
            ]
            jobs += [_job(dice, engine, number, free, days, windows) for number in range(10)]
    boats = tuple(f"boat {number:04}" for number in range(engines))
    return Problem(days, places, boats, tuple(busy), tuple(benches), tuple(jobs), 6000)


def _place(name: str, size: int, days: int) -> Place:
    minutes = max(240, size * 3153 // 1000)
    open_days = tuple(0 if day % 7 == 6 else minutes for day in range(days))
    return Place(name, open_days, max(1, round(size / 14)))


def _hires(dice: random.Random, days: int) -> frozenset[int]:
    found: set[int] = set()
    day = dice.randrange(8)
    while day < days:
        out = dice.choice((2, 3, 4, 5, 7, 7, 10))
        found.update(range(day, min(days, day + out)))
        day += out + dice.choice((1, 2, 3, 5, 7, 9, 14))
    return frozenset(found)


def _job(
    dice: random.Random, engine: int, number: int, free: list[int], days: int, windows: bool
) -> Job:
    minutes, access, precursor, parts, interval = TASKS[number]
    due = dice.randrange(-12, days + 10)
    value = (minutes + parts) * 100
    weight = 20 if precursor else 4
    costs = tuple(
        value * (due - day) // interval if day <= due else value * weight * (day - due) // interval
        for day in range(days)
    )
    left_out = value * weight * max(0, days - due) // interval + 60000
    allowed = tuple(day for day in free if not windows or due - 40 <= day <= due + 30)
    if due < 0:
        allowed = tuple(day for day in free if not windows or day <= 40)
    return Job(
        engine=engine,
        task=f"task {number}",
        minutes=minutes,
        access=access,
        precursor=precursor,
        due=max(0, due) if due < days else None,
        allowed=allowed,
        costs=costs,
        unplaced=left_out,
    )
