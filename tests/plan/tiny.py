"""Tiny problems: a maker with everyday defaults, and a generator of varied ones."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

from fleetcare.plan.problem import Bench, Job, Place, Problem, Supply


def job(
    engine: int,
    days: int,
    due: int,
    *,
    minutes: int = 15,
    access: int = 0,
    cost: Callable[[int], int] = abs,
    allowed: Iterable[int] | None = None,
    precursor: bool = False,
    unplaced: int = 20_000,
    first: bool = False,
    uses: tuple[tuple[int, int], ...] = (),
    task: str = "",
) -> Job:
    """A job that costs `cost(day - due)` on a day."""
    return Job(
        engine=engine,
        task=task or f"due {due}, {minutes} min, {access}",
        minutes=minutes,
        access=access,
        precursor=precursor,
        due=max(0, due) if due < days else None,
        allowed=tuple(range(days) if allowed is None else allowed),
        costs=tuple(cost(day - due) for day in range(days)),
        unplaced=unplaced,
        first=first,
        uses=uses,
    )


def one_engine(
    days: int,
    jobs: Iterable[Job],
    *,
    minutes: int | Iterable[int] = 240,
    busy: Iterable[int] = (),
    boat_day: int = 2500,
    steps: tuple[int, ...] = (21, 3),
) -> Problem:
    """One engine on one boat at one place."""
    by_day = (minutes,) * days if isinstance(minutes, int) else tuple(minutes)
    return Problem(
        days=days,
        places=(Place("Slip", by_day, 1),),
        boats=("Plover",),
        busy=(frozenset(busy),),
        benches=(Bench("Plover", 0, 0, steps),),
        jobs=tuple(jobs),
        boat_day=boat_day,
    )


def varied(seed: int, jobs: int = 5) -> Problem:
    """A small problem with some of everything that limits a plan."""
    dice = random.Random(seed)
    days = dice.randint(3, 5)
    places = tuple(
        Place(name, _minutes(dice, days), dice.randint(1, 2))
        for name in ("Slip", "Quay")[: 1 + (dice.random() < 0.25)]
    )
    boats = tuple(f"boat {number}" for number in range(dice.randint(1, 3)))
    at = [dice.randrange(len(places)) for _ in boats]
    busy = tuple(frozenset(day for day in range(days) if dice.random() < 0.2) for _ in boats)
    benches = [
        Bench(f"engine {number}", number, at[number], _steps(dice)) for number in range(len(boats))
    ]
    if dice.random() < 0.3:
        benches.append(Bench("second engine", 0, at[0], _steps(dice)))
    if dice.random() < 0.2:
        benches.append(Bench("spare", None, 0, _steps(dice)))
    supplies = _supplies(dice, days)
    made = _jobs(dice, jobs, days, places, busy, benches, supplies)
    opening = tuple(
        tuple(
            ((0, 1),) if supplies and bench.place == 0 and dice.random() < 0.3 else ()
            for _ in bench.steps
        )
        for bench in benches
    )
    keep = dice.random() < 0.35
    kept = tuple(
        dice.choice((None, *one.allowed)) if keep and dice.random() < 0.7 else None for one in made
    )
    return Problem(
        days=days,
        places=places,
        boats=boats,
        busy=busy,
        benches=tuple(benches),
        jobs=tuple(made),
        boat_day=dice.choice((0, 300, 2500)),
        supplies=supplies,
        opening=opening if supplies else (),
        kept=kept if keep else (),
        frozen=dice.randint(0, 2) if keep else 0,
        moving=dice.choice((0, 150)) if keep else 0,
    )


def _minutes(dice: random.Random, days: int) -> tuple[int, ...]:
    whole = dice.choice((30, 45, 60, 90))
    return tuple(0 if dice.random() < 0.2 else whole for _ in range(days))


def _steps(dice: random.Random) -> tuple[int, ...]:
    return tuple(dice.choice((5, 10, 20)) for _ in range(3))


def _supplies(dice: random.Random, days: int) -> tuple[Supply, ...]:
    if dice.random() < 0.5:
        return ()
    found = []
    for item in ("impeller", "gasket"):
        there, more, comes = dice.randint(0, 2), dice.randint(0, 2), dice.randrange(days)
        by_day = tuple(there + (more if day >= comes else 0) for day in range(days))
        found.append(Supply(item, by_day))
    return tuple(found)


def _jobs(
    dice: random.Random,
    count: int,
    days: int,
    places: tuple[Place, ...],
    busy: tuple[frozenset[int], ...],
    benches: list[Bench],
    supplies: tuple[Supply, ...],
) -> list[Job]:
    found = []
    held = dice.randrange(len(benches)) if dice.random() < 0.3 else -1
    for number in range(count):
        engine = dice.randrange(len(benches))
        bench = benches[engine]
        access = dice.choice((0, 1, 3, 4, 5))
        minutes = dice.choice((5, 10, 15))
        alone = minutes + sum(m for bit, m in enumerate(bench.steps) if access >> bit & 1)
        uses = ()
        if supplies and bench.place == 0 and dice.random() < 0.4:
            uses = ((dice.randrange(len(supplies)), 1),)
        allowed = [
            day
            for day in range(days)
            if places[bench.place].minutes[day] >= max(alone, 1)
            and (bench.boat is None or day not in busy[bench.boat])
            and all(supplies[item].by_day[day] >= use for item, use in uses)
        ]
        due = dice.randint(-1, days)
        early, late = dice.randint(0, 60), dice.randint(0, 400)
        found.append(
            job(
                engine,
                days,
                due,
                minutes=minutes,
                access=access,
                cost=lambda away, early=early, late=late: (
                    late * away if away > 0 else -early * away
                ),
                allowed=allowed,
                precursor=dice.random() < 0.5,
                unplaced=late * (days - due) + dice.choice((100, 2000)),
                first=engine == held and bool(allowed) and dice.random() < 0.6,
                uses=uses,
                task=f"task {number}",
            )
        )
    return found
