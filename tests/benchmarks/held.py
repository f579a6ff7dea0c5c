"""How well the dates hold, through the whole program: logs of invented fleets, the shipped rules.

The fleets are those of tests/benchmarks/trials, with seeds that nothing was chosen on. Meters are
read as their people read them, jobs done somewhat before or after their limits, and `judge` looks
back on all of it as `fleetcare forecast held` does.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path

from fleetcare.due.held import Asked, Group, Judgement, Shares, groups, shares
from fleetcare.due.judging import judge
from fleetcare.exchange import cells
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.log.entries import Entry, Job, Reading
from fleetcare.log.history import history
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.shipped import read_book
from fleetcare.show.held import verdict_line
from tests.benchmarks.trials.people import FIRST, Boat, fleet
from tests.built import good
from tests.trials.example_tables import row

SEEDS = {"hire": (501, 502), "club": (501, 502), "owner": (501, 502, 503, 504)}
YEARS = 4
# Tasks of the shipped set that hours end, with about how many hours apart each is done.
TASKS = {"impeller": 100, "gear oil": 100, "engine oil": 100, "plugs": 100, "swivel grease": 25}


def report() -> str:
    """The figures on fresh fleets of every use, a line each."""
    seen = {use: [looked_back(use, seed, YEARS) for seed in seeds] for use, seeds in SEEDS.items()}
    lines = [f"dates held, fleets of 6 engines, {YEARS} years each:"]
    for use, judgements in seen.items():
        lines.append(f"  {use} ({len(judgements)}): {_line(_together(judgements))}")
    whole = _together([item for judgements in seen.values() for item in judgements])
    lines.append(f"  all: {verdict_line(shares(whole.dates))}")
    lines += [f"  {line}" for line in _losses(groups(whole)[-1])]
    return "\n".join(lines)


def looked_back(use: str, seed: int, years: int, last: date | None = None) -> Judgement:
    """What `judge` makes of one fleet's log of so many years, at origins up to a day."""
    known, entries = logged(use, seed, years)
    as_of = FIRST + timedelta(365 * years)
    asked = Asked(last=last.toordinal() if last else None)
    return judge(known, history(entries, as_of), book(), as_of, asked)


def book() -> RuleBook:
    """The shipped rules."""
    return read_book(Path("none of one's own"), {"small-petrol"})


def logged(use: str, seed: int, years: int) -> tuple[Fleet, list[Entry]]:
    """A fleet and its log: readings as its people take them, jobs about when they are due."""
    boats, engines, entries = {}, {}, []
    end = FIRST + timedelta(365 * years)
    for number, boat in enumerate(fleet(use, seed), 1):
        if boat.first >= end:
            continue
        name, hull, since = f"E{number}", f"Hull {number}", boat.first.isoformat()
        boats[hull] = good(cells.boat(row("boats", boat=hull, use=use, water="salt", since=since)))
        engines[name] = good(
            cells.engine(
                row("engines", engine=name, boat=hull, hp="6", stroke="4", meter="yes", new="yes",
                    since=since, reading="0")
            )
        )  # fmt: skip
        dice = random.Random(f"jobs {use} {seed} {number}")
        entries += [entry for entry in _entries(name, boat, dice) if entry.on <= end]
    entries.sort(key=lambda entry: (entry.on, entry.engine))
    return Fleet("00000000-0000-4000-8000-000000000000", Settings(), boats, engines), entries


def _entries(engine: str, boat: Boat, dice: random.Random) -> Iterator[Reading | Job]:
    read, ran = set(boat.read), 0.0
    done = {task: (0.0, hours * dice.uniform(0.8, 1.1)) for task, hours in TASKS.items()}
    for at, hours in enumerate(boat.hours):
        ran += hours
        on, figure = boat.first + timedelta(at), round(ran * 100)
        if at in read and at:
            yield Reading(on=on, engine=engine, reading=figure)
        for task, (last, wait) in done.items():
            if at and ran - last >= wait:
                yield Job(on=on, engine=engine, task=task, reading=figure)
                done[task] = (ran, TASKS[task] * dice.uniform(0.8, 1.1))


def _together(parts: Sequence[Judgement]) -> Judgement:
    """Several judgements as one; engines of two fleets may share a name."""
    first = parts[0]
    return Judgement(
        tuple(item for part in parts for item in part.dates),
        tuple(item for part in parts for item in part.hours),
        first.left_out, first.every, first.first, first.last,
    )  # fmt: skip


def _line(seen: Judgement) -> str:
    return f"{verdict_line(shares(seen.dates))} {_off(shares(seen.dates))}"


def _off(part: Shares) -> str:
    return f"Middle day off by {part.off:g} days, {part.open} open." if part.off is not None else ""


def _losses(group: Group) -> Iterator[str]:
    for loss in group.losses:
        if loss.below is not None:
            yield (
                f"hours of the next {loss.days} days: pinball loss {loss.below:.0%} below that of "
                f"the {loss.against} ({loss.looks} looks)"
            )
