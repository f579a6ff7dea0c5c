"""The plan of salvage: which components make sound engines, what it takes, what is not known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.due.joints import OPENED_WITHIN, STUCK_MINUTES
from fleetcare.due.records import CLEAR, Due
from fleetcare.fleet.components import COMPONENTS
from fleetcare.repair.costs import Rates
from fleetcare.repair.donors import (
    BAD,
    FAIR,
    GOOD,
    MISSING,
    NEW,
    UNKNOWN,
    State,
)
from fleetcare.repair.salvage import BOUGHT, Answer, Bench, best_builds
from fleetcare.rules.moving import Moving, Test
from fleetcare.rules.rule import Access, Part, RuleSet

# The chance that a component disappoints once it is fitted: our judgement, not data.
CHANCES: Mapping[str, Fraction | None] = {
    GOOD: Fraction(5, 100), FAIR: Fraction(15, 100), UNKNOWN: Fraction(30, 100), BAD: None,
    MISSING: None, NEW: Fraction(0),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Yard:
    """The engines there are to choose from, what is known of them, and what work costs."""

    engines: tuple[str, ...]
    states: Mapping[tuple[str, str], State]
    ruleset: RuleSet
    moving: Mapping[str, Moving]
    rows: Mapping[tuple[str, str], Due]
    stuck: Mapping[tuple[str, str], bool]
    prices: Mapping[str, Fraction]
    rates: Rates


@dataclass(frozen=True, slots=True)
class Chosen:
    """One component of a build: where it comes from, None when bought, and how it is."""

    kind: str
    source: str | None
    state: State
    moved: bool


@dataclass(frozen=True, slots=True)
class Unknown:
    """What is not known of an engine's component or joint, and what to try before the spanner."""

    engine: str
    what: str
    tests: tuple[Test, ...]


@dataclass(frozen=True, slots=True)
class Salvage:
    """The plan: builds by engine, the work, what to order first, what is left, what is unknown."""

    builds: tuple[tuple[str, tuple[Chosen, ...]], ...]
    minutes: int
    cost: Fraction
    proved: bool
    opened: tuple[tuple[str, tuple[str, ...]], ...]
    order_first: tuple[tuple[str, int], ...]
    renew: tuple[tuple[str, str], ...]
    spares: tuple[tuple[str, str, State], ...]
    unknowns: tuple[Unknown, ...]
    cautions: tuple[str, ...]

    def swaps(self) -> list[tuple[str, str, str]]:
        """The exchanges that make it so: engine, donor, component."""
        return [
            (engine, item.source, item.kind)
            for engine, chosen in self.builds
            for item in chosen
            if item.moved and item.source is not None
        ]


def steps_of(ruleset: RuleSet, names: Iterable[str]) -> dict[str, Access]:
    """Access steps with all that they include."""
    found: dict[str, Access] = {}
    ahead = list(names)
    while ahead:
        name = ahead.pop(0)
        if name not in found and name in ruleset.access:
            found[name] = ruleset.access[name]
            ahead += ruleset.access[name].includes
    return found


def _cents(money: Fraction | float | int) -> int:
    return round(Fraction(money) * 100)


def _price(parts: Iterable[Part]) -> Fraction:
    return sum((part.price * part.count for part in parts if part.price), Fraction(0))


def minutes_to_open(yard: Yard, engine: str, step: str) -> int:
    """Minutes of an access step on an engine, with what a stuck joint may take."""
    more = STUCK_MINUTES if yard.stuck.get((engine, step)) else 0
    return yard.ruleset.access[step].minutes + more


def renewals(yard: Yard, engine: str, kind: str) -> list[str]:
    """The jobs that a component gets while it is moved: those the record does not show as clear."""
    found = []
    for task in yard.moving[kind].renew:
        row = yard.rows.get((engine, task))
        if task in yard.ruleset.rules and (row is None or row.status != CLEAR):
            found.append(task)
    return found


def _renewal_steps(yard: Yard, kind: str, task: str) -> list[Access]:
    """The steps a renewal opens beyond those the move opens anyway."""
    opened = steps_of(yard.ruleset, yard.moving[kind].access)
    needed = steps_of(yard.ruleset, yard.ruleset.rules[task].access)
    return [step for name, step in needed.items() if name not in opened]


def work_minutes(yard: Yard, engine: str, kind: str) -> int:
    """Minutes of moving a component from an engine, its renewals with it, its opening apart."""
    total = yard.moving[kind].minutes
    for task in renewals(yard, engine, kind):
        total += yard.ruleset.rules[task].minutes
        total += sum(step.minutes for step in _renewal_steps(yard, kind, task))
    return total


def _renewal_parts(yard: Yard, engine: str, kind: str) -> list[Part]:
    parts: list[Part] = []
    for task in renewals(yard, engine, kind):
        parts += yard.ruleset.rules[task].parts
        parts += [part for step in _renewal_steps(yard, kind, task) for part in step.consumes]
    return parts


def bench_of(yard: Yard) -> Bench:
    """The choice in whole cents."""
    rate = Fraction(yard.rates.hour) / 60
    names = list(steps_of(yard.ruleset, [n for k in COMPONENTS for n in yard.moving[k].access]))
    masks = []
    for kind in COMPONENTS:
        opened = steps_of(yard.ruleset, yard.moving[kind].access)
        masks.append(sum(1 << at for at, name in enumerate(names) if name in opened))
    return Bench(
        yard.engines, COMPONENTS,
        tuple(tuple(_risk(yard, one, kind, rate) for kind in COMPONENTS) for one in yard.engines),
        tuple(masks),
        tuple(
            tuple(_cents(minutes_to_open(yard, one, name) * rate) for name in names)
            for one in yard.engines
        ),
        tuple(_cents(_price(yard.ruleset.access[name].consumes)) for name in names),
        tuple(
            tuple(
                _cents(
                    work_minutes(yard, one, kind) * rate + _price(_renewal_parts(yard, one, kind))
                )
                for kind in COMPONENTS
            )
            for one in yard.engines
        ),
        tuple(
            _cents(yard.prices[kind] + yard.moving[kind].minutes * rate)
            if kind in yard.prices
            else None
            for kind in COMPONENTS
        ),
    )  # fmt: skip


def _risk(yard: Yard, engine: str, kind: str, rate: Fraction) -> int | None:
    """The chance that a component disappoints, times doing it again and a boat's day lost."""
    chance = CHANCES[yard.states[engine, kind].word]
    if chance is None:
        return None
    steps = steps_of(yard.ruleset, yard.moving[kind].access).values()
    again = sum(step.minutes for step in steps) + yard.moving[kind].minutes
    used = _price(part for step in steps for part in step.consumes)
    return _cents(chance * (again * rate + used + Fraction(yard.rates.boat_day)))


def salvage(yard: Yard, wanted: int) -> Salvage | None:
    """The cheapest way to so many sound engines, told in full; None where there is none."""
    answer = best_builds(bench_of(yard), wanted)
    return None if answer is None else _told(yard, answer)


def _told(yard: Yard, answer: Answer) -> Salvage:
    builds = []
    for build in answer.builds:
        host = yard.engines[build.engine]
        chosen = []
        for kind, source in zip(COMPONENTS, build.sources, strict=True):
            name = None if source == BOUGHT else yard.engines[source]
            state = State(NEW, "bought") if name is None else yard.states[name, kind]
            chosen.append(Chosen(kind, name, state, name != host))
        builds.append((host, tuple(chosen)))
    opened = _opened(yard, builds)
    minutes = sum(minutes_to_open(yard, one, step) for one, steps in opened for step in steps)
    renew = []
    for _, chosen_ones in builds:
        for item in chosen_ones:
            if item.moved and item.source is None:
                minutes += yard.moving[item.kind].minutes
            elif item.moved and item.source is not None:
                minutes += work_minutes(yard, item.source, item.kind)
                renew += [(item.source, task) for task in renewals(yard, item.source, item.kind)]
    return Salvage(
        tuple(builds), minutes, Fraction(answer.cost, 100), answer.proved, opened,
        _orders(yard, builds, opened), tuple(renew), _spares(yard, builds),
        _unknowns(yard, builds, opened), _cautions(yard, builds, opened),
    )  # fmt: skip


Builds = Sequence[tuple[str, tuple[Chosen, ...]]]
Opened = tuple[tuple[str, tuple[str, ...]], ...]


def _moves(builds: Builds) -> list[tuple[str, Chosen]]:
    return [(host, item) for host, chosen in builds for item in chosen if item.moved]


def _opened(yard: Yard, builds: Builds) -> Opened:
    """The steps opened on each engine, in the order of the engines given."""
    by_engine: dict[str, dict[str, None]] = {}
    for host, item in _moves(builds):
        for engine in (host, item.source):
            if engine is not None:
                steps = steps_of(yard.ruleset, yard.moving[item.kind].access)
                by_engine.setdefault(engine, {}).update(dict.fromkeys(steps))
    return tuple((one, tuple(by_engine[one])) for one in yard.engines if one in by_engine)


def _orders(yard: Yard, builds: Builds, opened: Opened) -> tuple[tuple[str, int], ...]:
    """What to have before the first bolt: gaskets of every joint closed again, renewals, buys."""
    wanted: Counter[str] = Counter()
    hosts = {host for host, _ in builds}
    for engine, steps in opened:
        if engine in hosts:
            for step in steps:
                for part in yard.ruleset.access[step].consumes:
                    wanted[part.item] += part.count
    for _, item in _moves(builds):
        if item.source is None:
            wanted[item.kind] += 1
            continue
        for part in _renewal_parts(yard, item.source, item.kind):
            wanted[part.item] += part.count
    return tuple(sorted(wanted.items()))


def _spares(yard: Yard, builds: Builds) -> tuple[tuple[str, str, State], ...]:
    """What is left over, by the engine it came with."""
    used = {(item.source, item.kind) for _, chosen in builds for item in chosen}
    return tuple(
        (engine, kind, yard.states[engine, kind])
        for engine in yard.engines
        for kind in COMPONENTS
        if (engine, kind) not in used and yard.states[engine, kind].word != MISSING
    )


def _unknowns(yard: Yard, builds: Builds, opened: Opened) -> tuple[Unknown, ...]:
    """What to try first, of components that are not known and of those that move.

    A test is left out where the record has its part fine of late. Joints long unopened are among
    them: they may not come.
    """
    found = []
    for _, chosen in builds:
        for item in chosen:
            if item.source is None or not (item.moved or item.state.word == UNKNOWN):
                continue
            tests = yard.moving[item.kind].tests
            untold = tuple(test for test in tests if test.part not in item.state.fine)
            if untold:
                found.append(Unknown(item.source, item.kind, untold))
    for engine, steps in opened:
        for step in steps:
            if yard.stuck.get((engine, step)):
                leg = [test for test in yard.moving["gearcase"].tests if test.part == "leg removal"]
                found.append(
                    Unknown(engine, f"{step}: not known to have been opened in "
                            f"{OPENED_WITHIN} months", tuple(leg if step == "leg off" else ()))
                )  # fmt: skip
    return tuple(found)


def _cautions(yard: Yard, builds: Builds, opened: Opened) -> tuple[str, ...]:
    told: dict[str, None] = {}
    for _, steps in opened:
        for step in steps:
            told.update(dict.fromkeys(yard.ruleset.access[step].cautions))
    for _, item in _moves(builds):
        told.update(dict.fromkeys(yard.moving[item.kind].cautions))
    return tuple(told)
