"""Which engine carried a component when, and how much the component ran."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleetcare.fleet.components import COMPONENTS, Component
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.usage.hours import NO_HOURS, EngineUse, Mix, minus, plus
from fleetcare.usage.places import NEVER, Berth, HomeWater, berths, home_water, idle_stretches


@dataclass(frozen=True, slots=True)
class Span:
    """Days from `first` to `last` on which `engine` carried a component.

    `use` answers for the hours and waters of the span; it is the engine's own, save in a store
    into which the component came with the water of another engine.
    """

    engine: str
    first: int
    last: int
    use: EngineUse


@dataclass(frozen=True, slots=True)
class ComponentUse:
    """One component along the engines that carried it, from the day it is first known."""

    component: Component
    known_from: int
    spans: tuple[Span, ...]

    def span_on(self, day: int) -> Span:
        """The span that holds a day; the first for days before. The last has no end."""
        return next(span for span in self.spans if day <= span.last)

    def mix(self, first: int, last: int, known: int) -> Mix:
        """Hours by water on the days from first to last, from what was known by a day."""
        if len(self.spans) == 1:
            use = self.spans[0].use
            return minus(use.mix_to(last, known), use.mix_to(first - 1, known))
        total = NO_HOURS
        for span in self.spans:
            begin, end = max(first, span.first), min(last, span.last)
            if begin <= end:
                ran = minus(span.use.mix_to(end, known), span.use.mix_to(begin - 1, known))
                total = plus(total, ran)
        return total

    def days_by_water(self, first: int, last: int) -> list[int]:
        """How many days from first to last the component was in each water.

        Days before it was known count in the water of the day it became known.
        """
        counts = [0, 0, 0]
        if first < self.known_from:
            earlier = min(last, self.known_from - 1) - first + 1
            counts[self.water_on(self.known_from)] += max(0, earlier)
            first = self.known_from
        for span in self.spans:
            begin, end = max(first, span.first), min(last, span.last)
            if begin <= end:
                for water, days in enumerate(span.use.days_by_water(begin, end)):
                    counts[water] += days
        return counts

    def water_on(self, day: int) -> int:
        """The water of a day; of a day before it was known, that of the day it became known."""
        day = max(day, self.known_from)
        return self.span_on(day).use.water_on(day)

    def run_days_in(self, waters: frozenset[int], first: int, last: int) -> list[int]:
        """Days on which the engine that carried it ran in one of these waters."""
        days: list[int] = []
        for span in self.spans:
            begin, end = max(first, span.first), min(last, span.last)
            if begin <= end:
                days += span.use.run_days_in(waters, begin, end)
        return days

    def reading_days(self) -> list[int]:
        """Days on which a reading of an engine that carried it, at any time, told of hours."""
        return sorted({day for span in self.spans for day in span.use.closes.days})

    def has_exact_runs(self) -> bool:
        """Whether no engine's runs were scaled down, so that knowledge only ever adds hours."""
        return not any(span.use.scaled for span in self.spans)


class Carriage:
    """Who carries what: the uses of all engines and the components under each, as of a day."""

    def __init__(
        self, fleet: Fleet, history: History, as_of: int,
        undone: Mapping[str, frozenset[int]] | None = None,
    ) -> None:  # fmt: skip
        """`undone` are, by engine, the numbers of jobs that do not count as done."""
        self.fleet, self.history, self.as_of = fleet, history, as_of
        self.undone = undone or {}
        self.known = {
            name: engine
            for name, engine in fleet.engines.items()
            if engine.since.toordinal() <= as_of
        }
        self.stays: dict[str, list[Berth]] = {}
        self.uses: dict[str, EngineUse] = {}
        for name, engine in self.known.items():
            stays = self.stays[name] = berths(engine, history)
            self.uses[name] = EngineUse(
                engine,
                history.of(name),
                home_water(fleet.boats, history, engine, stays),
                idle_stretches(history, engine, stays),
            )
        self._by_first_name = {engine.first_name: name for name, engine in self.known.items()}
        self._alone = self._never_swapped()
        self._spans: dict[Component, list[Span]] = {}
        self._now: dict[tuple[str, str], Component] = {}
        if history.swaps:
            self._follow_swaps()

    def _never_swapped(self) -> set[str]:
        swapped = {name for swap in self.history.swaps for name in (swap.engine, swap.other)}
        return set(self.known) - swapped

    def under(self, engine: str, kind: str) -> ComponentUse:
        """The component of a kind that an engine carries now, with its whole way here."""
        if engine in self._alone:
            use = self.uses[engine]
            component = Component(self.known[engine].first_name, kind)
            return ComponentUse(component, use.since, (Span(engine, use.since, NEVER, use),))
        component = self._now[engine, kind]
        own = self._by_first_name[component.engine]
        return ComponentUse(component, self.uses[own].since, tuple(self._spans[component]))

    def is_alone(self, engine: str) -> bool:
        """Whether the engine never took part in a swap, so that it carries what is its own."""
        return engine in self._alone

    def name_of(self, first_name: str) -> str:
        """The name in use now of the engine first known by that name."""
        return self._by_first_name[first_name]

    def boat_of(self, engine: str) -> str | None:
        """The boat an engine is mounted on, or None in store."""
        return self.stays[engine][-1].boat

    def last_boat_of(self, engine: str) -> str | None:
        """The boat an engine is on, or was on last."""
        return next((stay.boat for stay in reversed(self.stays[engine]) if stay.boat), None)

    # -- swaps ----------------------------------------------------------------------------------

    def _follow_swaps(self) -> None:
        begun: dict[tuple[str, str], tuple[int, HomeWater | None]] = {}
        for name, engine in self.known.items():
            if name not in self._alone:
                for kind in COMPONENTS:
                    self._now[name, kind] = Component(engine.first_name, kind)
                    begun[name, kind] = (self.uses[name].since, None)
        for swap in self.history.swaps:
            here, there = (swap.engine, swap.component), (swap.other, swap.component)
            kept = {
                here: self._kept_water(swap.engine, swap.other, begun[there], swap.day),
                there: self._kept_water(swap.other, swap.engine, begun[here], swap.day),
            }
            for place in (here, there):
                self._end(place, begun[place], swap.day - 1)
                begun[place] = (swap.day, kept[place])
            self._now[here], self._now[there] = self._now[there], self._now[here]
        for place, start in begun.items():
            self._end(place, start, NEVER)

    def _kept_water(
        self, into: str, out_of: str, begun: tuple[int, HomeWater | None], day: int
    ) -> HomeWater | None:
        """The water a component brings into an engine in store; None when it is mounted."""
        if self._stay_on(into, day).boat is not None:
            return None
        came, kept = begun
        if kept is not None and self._stay_on(out_of, came) is self._stay_on(out_of, day):
            return kept
        return HomeWater((0,), (self.uses[out_of].home.on(day),))

    def _stay_on(self, engine: str, day: int) -> Berth:
        return next(
            (stay for stay in self.stays[engine] if stay.first <= day <= stay.last),
            self.stays[engine][0],
        )

    def _end(self, place: tuple[str, str], start: tuple[int, HomeWater | None], last: int) -> None:
        """Close the span that a component has spent in a place."""
        engine, _ = place
        first, kept = start
        spans = self._spans.setdefault(self._now[place], [])
        if kept is not None:
            until = min(last, self._stay_on(engine, first).last)
            if first <= until:
                home = self.uses[engine].home.but(first, until, kept.on(first))
                spans.append(Span(engine, first, until, self._with_home(engine, home)))
            first = until + 1
        if first <= last:
            spans.append(Span(engine, first, last, self.uses[engine]))

    def _with_home(self, engine: str, home: HomeWater) -> EngineUse:
        use = self.uses[engine]
        return EngineUse(use.engine, self.history.of(engine), home, use.idle)
