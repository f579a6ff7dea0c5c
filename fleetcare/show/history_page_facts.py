"""What is known of one engine as of a day, gathered for its history: where it was, what it
carried, what it ran, where its log is silent.

Days are ordinals, hours hundredths.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from fleetcare.due.followups import Standing, undone_by_engine
from fleetcare.due.records import Due
from fleetcare.flags.days_held import days_held
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Entry
from fleetcare.log.history import History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage, ComponentUse
from fleetcare.usage.hours import EngineUse
from fleetcare.usage.meter import Hours
from fleetcare.usage.places import boat_water

GAP = 30  # days afloat without a figure that are named: our design choice
LATE = 7  # days after which an entry counts as written down late: our design choice


@dataclass(frozen=True, slots=True)
class Written:
    """An entry as the file keeps it: when it was written down and by whom, whether withdrawn.

    `entry` is None for a withdrawal, which names the entry that it `withdraws`.
    """

    number: int
    on: date
    by: str
    written: date
    entry: Entry | None
    withdraws: int | None = None
    withdrawn: bool = False


@dataclass(frozen=True, slots=True)
class Stay:
    """Days on one boat in one water, or in store when `boat` is None; both included."""

    first: int
    last: int
    boat: str | None
    water: int


@dataclass(frozen=True, slots=True)
class Leg:
    """Days on which one engine carried a component, and the hours it ran there."""

    engine: str
    first: int
    last: int
    hours: Hours


@dataclass(frozen=True, slots=True)
class Carried:
    """A component under the engine now: the engine it came with, and its way here."""

    kind: str
    came_with: str
    legs: tuple[Leg, ...]

    @property
    def hours(self) -> Hours:
        """Hours it ran since it is known."""
        return sum((leg.hours for leg in self.legs), 0)


@dataclass(frozen=True, slots=True)
class Past:
    """One engine's past; stretches are (first, last) days, both included."""

    fleet: Fleet
    engine: Engine
    as_of: date
    rows: tuple[Due, ...]
    standing: tuple[Standing, ...]
    entries: tuple[Written, ...]
    earlier: tuple[Written, ...]
    use: EngineUse
    last: int
    retired: int | None
    stays: tuple[Stay, ...]
    laid_up: tuple[tuple[int, int], ...]
    held: tuple[tuple[int, int], ...]
    components: tuple[Carried, ...]
    away: Mapping[str, str]
    gaps: tuple[tuple[int, int, int], ...]

    @property
    def since(self) -> int:
        """The day from which the fleet knows it."""
        return self.engine.since.toordinal()


def past_of(
    fleet: Fleet, history: History, book: RuleBook, as_of: date, name: str, rows: Sequence[Due],
    standing: Sequence[Standing], entries: Sequence[Written], others: Sequence[Written] = (),
) -> Past:  # fmt: skip
    """Gather the past of the engine `name`, known on the day; the history reaches to that day.

    `entries` are its own and `others` those of engines that carried its components before.
    """
    today = as_of.toordinal()
    carriage = Carriage(fleet, history, today, undone_by_engine(history, book))
    engine, log, use = fleet.engines[name], history.of(name), carriage.uses[name]
    last = today if log.retired is None else min(today, log.retired)
    components = tuple(_carried(carriage, name, kind, last) for kind in COMPONENTS)
    return Past(
        fleet, engine, as_of, tuple(rows), tuple(standing), tuple(entries),
        tuple(_earlier(others, components, book, fleet, engine)), use, last, log.retired,
        tuple(_stays(carriage, history, name, last)), tuple(_laid_up(history, name, last)),
        _stretches(days_held(fleet, history, book, name, engine.since.toordinal(), last)),
        components, _away(carriage, engine), tuple(_gaps(use, history, name, last)),
    )  # fmt: skip


def carriers_of(fleet: Fleet, history: History, as_of: date, name: str) -> list[str]:
    """The other engines that carried what an engine carries on the day."""
    carriage = Carriage(fleet, history, as_of.toordinal())
    found = dict.fromkeys(
        span.engine for kind in COMPONENTS for span in carriage.under(name, kind).spans
    )
    return [other for other in found if other != name]


def _stays(carriage: Carriage, history: History, name: str, last: int) -> list[Stay]:
    stays: list[Stay] = []
    for berth in carriage.stays[name]:
        first, end = berth.first, min(berth.last, last)
        if berth.boat is None and first <= end:
            stays.append(Stay(first, end, None, carriage.uses[name].home.on(first)))
        elif berth.boat is not None:
            home = boat_water(carriage.fleet.boats, history, berth.boat)
            for begin, until, water in home.stretches(first, end):
                if stays and stays[-1].boat == berth.boat and stays[-1].water == water:
                    begin = stays.pop().first
                stays.append(Stay(begin, until, berth.boat, water))
    return stays


def _laid_up(history: History, name: str, last: int) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    begun: int | None = None
    for day, what in history.of(name).seasons:
        if what == "lay-up" and begun is None:
            begun = day
        elif what == "launch" and begun is not None:
            found += [(begun, day - 1)] if day > begun else []
            begun = None
    return found if begun is None else [*found, (begun, last)]


def _stretches(days: Iterable[int]) -> tuple[tuple[int, int], ...]:
    found: list[tuple[int, int]] = []
    for day in days:
        if found and found[-1][1] == day - 1:
            found[-1] = (found[-1][0], day)
        else:
            found.append((day, day))
    return tuple(found)


def _carried(carriage: Carriage, name: str, kind: str, last: int) -> Carried:
    component: ComponentUse = carriage.under(name, kind)
    legs: list[Leg] = []
    for span in component.spans:
        end = min(span.last, last)
        if end < span.first:
            continue
        mix = component.mix(span.first, end, last)
        hours = mix[0] + mix[1] + mix[2]
        if legs and legs[-1].engine == span.engine:  # a store into which it came is one leg
            before = legs.pop()
            legs.append(Leg(span.engine, before.first, end, before.hours + hours))
        else:
            legs.append(Leg(span.engine, span.first, end, hours))
    return Carried(kind, carriage.name_of(component.component.engine), tuple(legs))


def _away(carriage: Carriage, engine: Engine) -> dict[str, str]:
    """By kind, under which other engine the engine's own component is now."""
    found: dict[str, str] = {}
    if carriage.is_alone(engine.name):
        return found
    for other in carriage.known:
        if other == engine.name or carriage.is_alone(other):
            continue
        for kind in COMPONENTS:
            if carriage.under(other, kind).component.engine == engine.first_name:
                found[kind] = other
    return found


def _gaps(use: EngineUse, history: History, name: str, last: int) -> list[tuple[int, int, int]]:
    """Stretches afloat without a figure or a run: the days around, and how many between."""
    log = history.of(name)
    told = {*use.closes.days, *log.run_days, *(day for day, _, _ in log.fuel_runs)}
    days = {use.since, *(day for day in told if use.since <= day <= last), last + 1}
    found = []
    for before, after in pairwise(sorted(days)):
        idle = sum(
            max(0, min(end, after - 1) - max(begin, before + 1) + 1) for begin, end in use.idle
        )
        silent = after - before - 1 - idle
        if silent > GAP:
            found.append((before + 1, after - 1, silent))
    return found


def _earlier(
    others: Sequence[Written], components: Sequence[Carried], book: RuleBook, fleet: Fleet,
    engine: Engine,
) -> list[Written]:  # fmt: skip
    """What was done to and found on the engine's components while other engines carried them."""
    rules = book.set_of(engine.rules or fleet.settings.rules).rules
    kinds = {rule.part: rule.component for rule in rules.values() if rule.part}
    found = []
    for item in others:
        entry = item.entry
        task, part = getattr(entry, "task", ""), getattr(entry, "part", "")
        kind = rules[task].component if task in rules else kinds.get(part)
        if kind is None and task:
            continue
        day, carrier = item.on.toordinal(), getattr(entry, "engine", "")
        if any(
            kind in (None, component.kind)
            and leg.engine == carrier
            and (leg.first if at else 0) <= day <= leg.last
            for component in components
            for at, leg in enumerate(component.legs)
            if leg.engine != engine.name
        ):
            found.append(item)
    return found
