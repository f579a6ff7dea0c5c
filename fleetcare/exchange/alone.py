"""A fleet of one engine alone, cut out of a larger one, to hand over with the engine.

Everything of the engine goes along, and of engines that its components came from what happened to
those components: their readings and runs, the jobs and findings that concern them, the swaps. Life
used, hours and days are then the same to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple
from uuid import NAMESPACE_URL, uuid5

from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.log import entries as kinds
from fleetcare.log.entries import Entry
from fleetcare.log.history import Exchange, history
from fleetcare.rules.rule import RuleSet
from fleetcare.usage.components import Carriage
from fleetcare.usage.places import NEVER, Berth

# What tells how much an engine ran, where, and in which water.
_USE = (kinds.Reading, kinds.Run, kinds.MeterChange, kinds.Mount, kinds.Store, kinds.LayUp,
        kinds.Launch)  # fmt: skip
_SHELF = (kinds.Delivery, kinds.Count)


@dataclass(frozen=True, slots=True)
class Alone:
    """The fleet of one engine, its log, and in words what could not go along."""

    fleet: Fleet
    entries: tuple[Entry, ...]
    left: tuple[str, ...]


class Leg(NamedTuple):
    """Days on which another engine carried a component of a kind, and the day it was handed on."""

    engine: str
    kind: str
    first: int
    last: int

    @property
    def handed_on(self) -> int:
        """The day of the swap, which takes place at its start."""
        return self.last + 1


def alone(
    fleet: Fleet, entries: Sequence[Entry], ruleset: RuleSet, name: str, as_of: date,
    withdrawn: int = 0,
) -> Alone:  # fmt: skip
    """The engine `name` alone as of a day, out of the entries that count.

    `ruleset` is the engine's own; `withdrawn` says how many of its entries were withdrawn.
    """
    past = history(entries, as_of)
    carriage = Carriage(fleet, past, as_of.toordinal())
    legs, swaps = _legs_and_swaps(carriage, past.swaps, name)
    cut = _Cut(carriage, ruleset, name, legs, swaps)
    kept = tuple(cut.entries(entry for entry in entries if entry.on <= as_of))
    return Alone(cut.fleet(fleet), kept, tuple(cut.left(entries, withdrawn)))


def _legs_and_swaps(
    carriage: Carriage, swaps: Sequence[Exchange], name: str
) -> tuple[list[Leg], set[int]]:
    """Where else the components were that the engine ever carried, and the swaps that tell it.

    Each is followed until the last day on which the engine had it.
    """
    where = {(engine, kind): (engine, kind) for engine in carriage.known for kind in COMPONENTS}
    ways: dict[tuple[str, str], list[tuple[str, int, int]]] = {}
    for swap in swaps:
        one, other = (swap.engine, swap.component), (swap.other, swap.component)
        where[one], where[other] = where[other], where[one]
        for place in (one, other):
            way = ways.setdefault(where[place], [(where[place][0], 0, 0)])
            way.append((place[0], swap.day, swap.number))
    legs: list[Leg] = []
    numbers = {swap.number for swap in swaps if name in (swap.engine, swap.other)}
    for (_, kind), way in ways.items():
        here = [at for at, (engine, _, _) in enumerate(way) if engine == name]
        for at in range(here[-1] if here else 0):
            engine, first, _ = way[at]
            _, after, number = way[at + 1]
            numbers.add(number)
            if engine != name:
                legs.append(Leg(engine, kind, first, after - 1))
    return legs, numbers


class _Cut:
    """What goes along: the engine, its donors, their boats, and which of their entries."""

    def __init__(
        self, carriage: Carriage, ruleset: RuleSet, name: str, legs: Sequence[Leg],
        swaps: set[int],
    ) -> None:  # fmt: skip
        self.carriage, self.ruleset, self.name, self.swaps = carriage, ruleset, name, swaps
        self.legs: dict[str, list[Leg]] = {}
        for leg in legs:
            self.legs.setdefault(leg.engine, []).append(leg)
        self.ends = {donor: self._end(donor) for donor in self.legs}
        self.handed_on = {
            donor: max(leg.handed_on for leg in mine) for donor, mine in self.legs.items()
        }
        self.boats = self._boats()
        self.parts = {rule.part: rule.component for rule in ruleset.rules.values() if rule.part}
        self.starters = {
            kind: frozenset(
                task
                for rule in ruleset.rules.values()
                if rule.component == kind
                for task in ruleset.restarted_by(rule.name)
            )
            for kind in COMPONENTS
        }

    def _end(self, donor: str) -> int:
        """The last day whose figures tell of a donor's hours: of the first one after it parted."""
        last = max(leg.last for leg in self.legs[donor])
        closes = self.carriage.uses[donor].closes.days
        return max(next((day for day in closes if day >= last), last), last + 1)

    def _boats(self) -> dict[str, int]:
        """The boats that any of them was on, each with the last day on which its water counts."""
        boats: dict[str, int] = {}

        def take(stays: Iterable[Berth], last: int) -> None:
            for stay in stays:
                if stay.boat is not None and stay.first <= last:
                    until = min(last, stay.last + 1 if stay.last < NEVER else NEVER)
                    boats[stay.boat] = max(boats.get(stay.boat, 0), until)

        take(self.carriage.stays[self.name], NEVER)
        for donor, day in self.ends.items():
            take(self.carriage.stays[donor], day)
        return boats

    # -- what there is ----------------------------------------------------------------------------

    def fleet(self, whole: Fleet) -> Fleet:
        """The fleet with an id of its own; settings of the workshop and its feeds stay behind."""
        own = whole.settings
        settings = Settings(
            rules=whole.engines[self.name].rules or own.rules, hemisphere=own.hemisphere,
            season=own.season, fuel_unit=own.fuel_unit, language=own.language,
        )  # fmt: skip
        first = whole.engines[self.name].first_name
        fleet_id = str(uuid5(NAMESPACE_URL, f"{whole.id}/{first}"))
        engines = {
            name: engine if name == self.name else _as_donor(engine)
            for name, engine in whole.engines.items()
            if name == self.name or name in self.legs
        }
        on_them = {engine.boat for engine in engines.values()}
        boats = {
            name: boat
            for name, boat in whole.boats.items()
            if name in self.boats or name in on_them
        }
        return Fleet(fleet_id, settings, boats, engines)

    # -- what happened ----------------------------------------------------------------------------

    def entries(self, whole: Iterable[Entry]) -> Iterator[Entry]:
        """The entries that go along, and a last one for each donor, by day and number."""
        kept = [found for entry in whole if (found := self._kept(entry)) is not None]
        last = dict(self.handed_on)
        for entry in kept:
            for donor in {getattr(entry, "engine", ""), getattr(entry, "other", "")} & set(last):
                last[donor] = max(last[donor], entry.on.toordinal())
        number = max((entry.number for entry in kept), default=0)
        for at, (donor, day) in enumerate(sorted(last.items()), start=1):
            note = f"in this fleet only for what came from it to {self.name}"
            on = date.fromordinal(day)
            kept.append(kinds.Retire(on=on, number=number + at, engine=donor, note=note))
        yield from sorted(kept, key=lambda entry: (entry.on, entry.number))

    def _kept(self, entry: Entry) -> Entry | None:
        """The entry, what of it goes along, or None."""
        day, engine = entry.on.toordinal(), getattr(entry, "engine", "")
        if isinstance(entry, kinds.Swap):
            return entry if entry.number in self.swaps else None
        if isinstance(entry, kinds.Move):
            return entry if day <= self.boats.get(entry.boat, 0) else None
        if engine == self.name:
            return entry
        if engine not in self.legs or isinstance(entry, kinds.Retire | kinds.PutOff):
            return None
        if isinstance(entry, _USE):
            return entry if day <= self.ends[engine] else None
        if self._concerns(entry, engine, day):
            return entry
        return self._figure_of(entry, engine, day)

    def _concerns(self, entry: Entry, engine: str, day: int) -> bool:
        """Whether a job, a finding or an incident is of a component that came from there."""
        for leg in self.legs[engine]:
            if not leg.first <= day <= leg.last:
                continue
            if isinstance(entry, kinds.Incident):
                return True
            part = getattr(entry, "part", "")
            if isinstance(entry, kinds.Finding) and self.parts.get(part, leg.kind) == leg.kind:
                return True
            if isinstance(entry, kinds.Job) and (
                entry.task in self.starters[leg.kind] or self.parts.get(part) == leg.kind
            ):
                return True
        return False

    def _figure_of(self, entry: Entry, engine: str, day: int) -> Entry | None:
        """The meter's figure of an entry that does not go along itself."""
        reading = getattr(entry, "reading", None)
        known = self.carriage.known[engine].since.toordinal()
        if reading is None or not known <= day <= self.ends[engine]:
            return None
        return kinds.Reading(
            on=entry.on, number=entry.number, by=entry.by, engine=engine, reading=reading
        )

    # -- what stays behind ------------------------------------------------------------------------

    def left(self, whole: Sequence[Entry], withdrawn: int) -> Iterator[str]:
        """What could not go along, a sentence each."""
        for donor in sorted(self.legs):
            told = ", ".join(dict.fromkeys(leg.kind for leg in self.legs[donor]))
            yield f"of {donor} only what tells of the {told} goes along; it is retired there"
        for kind, other in sorted(_away(self.carriage, self.name).items()):
            yield f"its own {kind} is under {other} now; what happened to it there stays behind"
        if withdrawn:
            count = (
                "1 withdrawn entry stays"
                if withdrawn == 1
                else f"{withdrawn} withdrawn entries stay"
            )
            yield f"{count} behind; --html and --pdf print them"
        if any(isinstance(entry, _SHELF) for entry in whole):
            yield "parts on the shelf stay behind"
        yield "dates may differ by some days: forecasts borrow from the other engines of a fleet"


def _as_donor(engine: Engine) -> Engine:
    """An engine that is there only for its components: no rules of its own."""
    return replace(engine, rules="", without=())


def _away(carriage: Carriage, name: str) -> Mapping[str, str]:
    """By kind, under which engine the engine's own component is now."""
    own = carriage.known[name].first_name
    return {
        kind: other
        for other in carriage.known
        if other != name and not carriage.is_alone(other)
        for kind in COMPONENTS
        if carriage.under(other, kind).component.engine == own
    }
