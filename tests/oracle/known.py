"""What is known at the close of one day: places, waters, hours, and where each component was.

Only the entries dated up to that day are looked at. Every question is answered day by day.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple, TypeVar, cast

from tests.oracle.given import Entry, Fleet, days_between, strictest
from tests.oracle.meter import ONE_DAY, Interval, MeterLine, meter_line

MORE_FROM_FUEL = Fraction(40, 100)
NOTHING = Fraction(0)

Method = TypeVar("Method", bound=Callable[..., Any])


class Component(NamedTuple):
    """A component is called after the engine it began with."""

    of: str
    kind: str


class Share(NamedTuple):
    """Hours of a day in one water; a water of None stands for the home water of the day."""

    day: date
    water: str | None
    hours: Fraction
    likely: Fraction


def remember(method: Method) -> Method:
    """Keep each answer of a method beside its object: the same question is asked very often."""

    @functools.wraps(method)
    def asked(self: Known, *args: Any) -> Any:
        key = (method.__name__, *args)
        if key not in self.answers:
            self.answers[key] = method(self, *args)
        return self.answers[key]

    return cast(Method, asked)


class Known:
    """The fleet as the entries dated up to one day tell it."""

    def __init__(self, fleet: Fleet, day: date) -> None:
        self.fleet = fleet
        self.log = [entry for entry in fleet.log if entry.on <= day]
        self.answers: dict[Any, Any] = {}

    @remember
    def entries(self, engine: str, *events: str) -> list[Entry]:
        """An engine's own entries from its first day on, in order of date."""
        since = self.fleet.engines[engine].since
        return [
            entry
            for entry in self.log
            if entry.engine == engine and entry.event in events and entry.on >= since
        ]

    # --- where an engine is -----------------------------------------------------------------

    @remember
    def place(self, engine: str, day: date) -> tuple[str, date | None]:
        """The boat it is on ("" for none yet), or the boat it left and the day it was stored."""
        boat: str = self.fleet.engines[engine].boat
        stored: date | None = None
        # a store and a mount on one day: the store comes first
        moves = self.entries(engine, "store", "mount")
        for entry in sorted(moves, key=lambda entry: (entry.on, entry.event == "mount")):
            if entry.on <= day:
                if entry.event == "mount":
                    boat, stored = entry.boat, None
                else:
                    stored = entry.on
        return boat, stored

    def boat_under(self, engine: str, day: date) -> str | None:
        boat, stored = self.place(engine, day)
        return boat if boat and stored is None else None

    def in_store(self, engine: str, day: date) -> bool:
        return self.boat_under(engine, day) is None

    def use_of(self, engine: str, day: date) -> str:
        """The use of its boat, or of the boat it last lay on."""
        boat, _ = self.place(engine, day)
        return self.fleet.boats[boat].use if boat else "owner"

    @remember
    def laid_up(self, engine: str, day: date) -> bool:
        laid_up = False
        # a lay-up and a launch on one day: the lay-up comes first
        turns = self.entries(engine, "lay-up", "launch")
        for entry in sorted(turns, key=lambda entry: (entry.on, entry.event == "launch")):
            if entry.on <= day:
                laid_up = entry.event == "lay-up"
        return laid_up

    # --- where a component is ---------------------------------------------------------------

    @remember
    def swaps(self, component: Component) -> list[tuple[date, str, str]]:
        """Each time the component changed engines: the day, from which, to which."""
        engine, found = component.of, []
        for entry in self.log:
            pair = (entry.engine, entry.other)
            if entry.event == "swap" and entry.component == component.kind and engine in pair:
                new = entry.other if engine == entry.engine else entry.engine
                found.append((entry.on, engine, new))
                engine = new
        return found

    @remember
    def carrier(self, component: Component, day: date) -> str:
        """The engine that carries it; a swap is made at the start of its day."""
        engine = component.of
        for on, _, new in self.swaps(component):
            if on <= day:
                engine = new
        return engine

    def carried(self, engine: str, kind: str, day: date) -> Component:
        """The component of a kind that an engine carries."""
        found = [Component(name, kind) for name in self.fleet.engines]
        return next(component for component in found if self.carrier(component, day) == engine)

    # --- water ------------------------------------------------------------------------------

    @remember
    def boat_water(self, boat: str, day: date) -> str:
        water: str = self.fleet.boats[boat].water
        for entry in self.log:
            if entry.event == "move" and entry.boat == boat and entry.on <= day:
                water = entry.water
        return water

    @remember
    def home_water(self, engine: str, day: date) -> str:
        """Its boat's; in store, its boat's on the day it was stored; nothing known: salt."""
        boat, stored = self.place(engine, day)
        return self.boat_water(boat, stored or day) if boat else "salt"

    @remember
    def kept_water(self, component: Component, day: date) -> str | None:
        """The water it keeps since it was put into an engine in store; none outside one."""
        return self.kept_after([swap for swap in self.swaps(component) if swap[0] <= day], day)

    def kept_after(self, swaps: list[tuple[date, str, str]], day: date) -> str | None:
        if not swaps:
            return None
        on, old, new = swaps[-1]
        mounted_since = any(on < entry.on <= day for entry in self.entries(new, "mount"))
        if not self.in_store(new, on) or mounted_since:
            return None
        return self.kept_after(swaps[:-1], on) or self.home_water(old, on)

    @remember
    def component_home(self, component: Component, day: date) -> str:
        """The water of those of a component's hours that name none."""
        home = self.home_water(self.carrier(component, day), day)
        return self.kept_water(component, day) or home

    @remember
    def component_water(self, component: Component, day: date) -> str:
        """The strictest of home and the waters the day's runs name; before `since`, as then."""
        day = max(day, self.fleet.engines[component.of].since)
        runs = self.entries(self.carrier(component, day), "run")
        named = [run.water for run in runs if run.on == day and run.water]
        return strictest([self.component_home(component, day), *named])

    # --- hours ------------------------------------------------------------------------------

    def run_hours(self, run: Entry) -> Fraction:
        if run.hours is not None:
            return run.hours
        return (run.fuel or NOTHING) / self.fleet.engines[run.engine].litres_hour

    @remember
    def meter(self, engine: str) -> MeterLine:
        runs = self.entries(engine, "run")

        def runs_between(first: date, last: date) -> Fraction:
            return sum((self.run_hours(run) for run in runs if first <= run.on <= last), NOTHING)

        given = self.entries(engine, "reading", "job", "finding", "incident", "run", "meter")
        return meter_line(self.fleet.engines[engine], given, runs_between)

    def unexplained(self, engine: str, interval: Interval) -> Fraction:
        """The hours of an interval that its runs do not explain; below 0, runs too many."""
        runs = self.entries(engine, "run")
        explained = [self.run_hours(run) for run in runs if interval.explains(run.on)]
        return interval.hours - sum(explained, NOTHING)

    def spread_days(self, engine: str, interval: Interval) -> list[date]:
        """The days that unexplained hours are spread over."""
        days = days_between(interval.after + ONE_DAY, interval.to)
        active = [d for d in days if not (self.laid_up(engine, d) or self.in_store(engine, d))]
        return active or days

    @remember
    def hours(self, engine: str) -> list[Share]:
        """All hours of an engine, each share on its day and in its water."""
        own, line = self.fleet.engines[engine], self.meter(engine)
        shares = []
        for run in self.entries(engine, "run"):
            hours = self.run_hours(run)
            interval = next((i for i in line.intervals if i.explains(run.on)), None)
            lost, more = NOTHING, NOTHING
            if interval is not None:
                left = self.unexplained(engine, interval)
                if left < 0:  # the readings win
                    lost = hours * -left / (interval.hours - left)
            elif own.meter and run.on == own.since:
                continue  # the reading was taken at the close of this day
            elif run.hours is None:
                more = hours * MORE_FROM_FUEL
            shares.append(Share(run.on, run.water or None, hours - lost, lost + more))
        for interval in line.intervals:
            left = self.unexplained(engine, interval)
            if left > 0:
                days = self.spread_days(engine, interval)
                shares += [Share(day, None, left / len(days), NOTHING) for day in days]
        return shares

    @remember
    def component_hours(self, component: Component) -> list[Share]:
        """The hours a component ran, in whichever engines, each in its water."""
        found = []
        for engine in self.fleet.engines:
            for share in self.hours(engine):
                if self.carrier(component, share.day) == engine:
                    water = share.water or self.component_home(component, share.day)
                    found.append(share._replace(water=water))
        return found

    @remember
    def run_days(self, engine: str) -> list[date]:
        """The days it is known to have run: those of its runs, and of readings above the last."""
        days = {run.on for run in self.entries(engine, "run") if self.run_hours(run) > 0}
        days |= {interval.to for interval in self.meter(engine).intervals if interval.hours > 0}
        return sorted(days)
