"""Sound engines out of several: which component goes where at the least expected cost.

Exact. A component never goes from one engine that is built to another: with each left where it
is, and the donor's sent straight to where it is wanted, the same components serve at no more
opening. So what each built engine lacks comes from those that are not built, or is bought. Costs
are whole cents, so that equal sums are equal.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import comb

BOUGHT = -1
MOST_NODES = 400_000
MOST_CHOICES = 20_000
_NEVER = 1 << 60


@dataclass(frozen=True, slots=True)
class Bench:
    """What salvage may choose from, in whole cents; engines and kinds by their place.

    `risk[engine][kind]` is the expected cost of a component's disappointing, None where it cannot
    be used. `steps[kind]` are the access steps that moving one opens, as bits; `opening[engine]
    [step]` what opening a step costs on an engine, `closing[step]` what is used up where the
    engine is built again. `work[engine][kind]` is the work of moving that component, and
    `bought[kind]` the price of a new one with the work of fitting it, None where none is for sale.
    """

    engines: tuple[str, ...]
    kinds: tuple[str, ...]
    risk: tuple[tuple[int | None, ...], ...]
    steps: tuple[int, ...]
    opening: tuple[tuple[int, ...], ...]
    closing: tuple[int, ...]
    work: tuple[tuple[int, ...], ...]
    bought: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Build:
    """One engine to be built: for each kind the engine its component comes from, or BOUGHT."""

    engine: int
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """The builds, what they cost in cents, and whether nothing cheaper can be."""

    builds: tuple[Build, ...]
    cost: int
    proved: bool


def most_engines(bench: Bench) -> int:
    """How many sound engines the usable components can make at all."""
    usable = [
        len(bench.engines)
        if bench.bought[kind] is not None
        else sum(row[kind] is not None for row in bench.risk)
        for kind in range(len(bench.kinds))
    ]
    return min([len(bench.engines), *usable])


def cost_of(bench: Bench, builds: Sequence[Build]) -> int:
    """The expected cost of builds: opening, closing, work, prices and what may disappoint."""
    total, opened = 0, [0] * len(bench.engines)
    for build in builds:
        for kind, source in enumerate(build.sources):
            if source == BOUGHT:
                total += bench.bought[kind] or 0
            else:
                total += bench.risk[source][kind] or 0
            if source != build.engine:
                opened[build.engine] |= bench.steps[kind]
            if source not in (build.engine, BOUGHT):
                opened[source] |= bench.steps[kind]
                total += bench.work[source][kind]
    built = {build.engine for build in builds}
    for engine, steps in enumerate(opened):
        total += opening_cost(bench, engine, steps, engine in built)
    return total


def opening_cost(bench: Bench, engine: int, steps: int, is_built: bool) -> int:
    """What opening so many steps of an engine costs; closing too when it is built again."""
    total = 0
    for step in range(len(bench.closing)):
        if steps >> step & 1:
            total += bench.opening[engine][step] + (bench.closing[step] if is_built else 0)
    return total


def best_builds(bench: Bench, wanted: int, nodes: int = MOST_NODES) -> Answer | None:
    """The cheapest way to `wanted` sound engines, None where there is none.

    Every set of engines to build is tried in the order of the least it could cost, until that
    passes the best found. For one engine the rest is a table over the kinds to be replaced; for
    several, a search that leaves off where it can no longer win, and after so many `nodes` gives
    the best found, not proved.
    """
    count = len(bench.engines)
    if not 1 <= wanted <= most_engines(bench):
        return None
    whole = comb(count, wanted) <= MOST_CHOICES
    search = _Search(bench, wanted, nodes)
    floors = sorted((search.floor(hosts), hosts) for hosts in _hosts(bench, wanted, whole))
    for floor, hosts in floors:
        if floor >= search.best:
            break
        if wanted == 1:
            search.one(hosts[0])
        else:
            search.several(hosts)
    if not search.found:
        return None
    return Answer(search.found, search.best, whole and search.nodes > 0)


def _hosts(bench: Bench, wanted: int, whole: bool) -> Iterator[tuple[int, ...]]:
    """The sets of engines to build: all, or where they are too many those of the soundest."""
    count = len(bench.engines)
    if whole:
        yield from combinations(range(count), wanted)
        return
    lacking = sorted(
        range(count),
        key=lambda engine: (
            sum(risk is None for risk in bench.risk[engine]),
            sum(risk or 0 for risk in bench.risk[engine]), engine,
        ),
    )  # fmt: skip
    few = wanted
    while few < count and comb(few + 1, wanted) <= MOST_CHOICES:
        few += 1
    yield from combinations(sorted(lacking[:few]), wanted)


class _Search:
    """The best found so far, and the ways to look for better."""

    def __init__(self, bench: Bench, wanted: int, nodes: int) -> None:
        self.bench, self.wanted, self.nodes = bench, wanted, nodes
        self.best, self.found = _NEVER, ()  # type: int, tuple[Build, ...]
        self.kinds = range(len(bench.kinds))
        # what opening steps costs on an engine that is not built, as it was asked for
        self.opened: list[dict[int, int]] = [{} for _ in bench.engines]
        self.nearest = [
            min(opening_cost(bench, at, steps, False) for at in range(len(bench.engines)))
            for steps in bench.steps
        ]
        self.floors = [self._floor(host) for host in range(len(bench.engines))]

    def from_elsewhere(self, engine: int, kind: int) -> int:
        """The least that replacing a component could cost, its opening apart."""
        bench = self.bench
        least = bench.bought[kind]
        for other in range(len(bench.engines)):
            risk = bench.risk[other][kind]
            if other != engine and risk is not None:
                cost = risk + bench.work[other][kind]
                least = cost if least is None else min(least, cost)
        return _NEVER if least is None else least

    def floor(self, hosts: tuple[int, ...]) -> int:
        """The least that building these engines could cost.

        Each host is opened for what it lacks, and some donor for the dearest of that to reach.
        """
        floors = [self.floors[host] for host in hosts]
        return sum(own for own, _ in floors) + max(donor for _, donor in floors)

    def _floor(self, host: int) -> tuple[int, int]:
        bench = self.bench
        total = donor = 0
        for kind in self.kinds:
            own, other = bench.risk[host][kind], self.from_elsewhere(host, kind)
            total += other if own is None else min(own, other)
            if own is None and bench.bought[kind] is None:
                donor = max(donor, self.nearest[kind])
        return total + opening_cost(bench, host, self._lacking(host), True), donor

    def offer(self, builds: tuple[Build, ...], cost: int) -> None:
        """Keep builds that are better than all before."""
        if cost < self.best:
            self.best, self.found = cost, builds

    # ---- one engine: a table over subsets of the kinds that may be replaced

    def one(self, host: int) -> None:
        bench = self.bench
        own = bench.risk[host]
        may = [
            kind
            for kind in self.kinds
            if own[kind] is None or self.from_elsewhere(host, kind) < (own[kind] or 0)
        ]
        kept = sum(own[kind] or 0 for kind in self.kinds if kind not in may)
        must = sum(1 << at for at, kind in enumerate(may) if own[kind] is None)
        supply, choices = self._supplies(host, may)
        for subset in range(1 << len(may)):
            if subset & must != must or supply[-1][subset] >= _NEVER:
                continue
            steps = 0
            cost = kept + supply[-1][subset]
            for at, kind in enumerate(may):
                if subset >> at & 1:
                    steps |= bench.steps[kind]
                else:
                    cost += own[kind] or 0
            cost += opening_cost(bench, host, steps, True)
            if cost < self.best:
                self.offer((self._told(host, may, subset, choices),), cost)

    def _supplies(
        self, host: int, may: Sequence[int]
    ) -> tuple[list[list[int]], list[tuple[int, list[int]]]]:
        """The least cost of getting each subset of kinds from the donors taken up so far."""
        size = 1 << len(may)
        first = [0] + [_NEVER] * (size - 1)
        for subset in range(1, size):
            low = subset & -subset
            price, rest = self.bench.bought[may[low.bit_length() - 1]], first[subset ^ low]
            if price is not None and rest < _NEVER:
                first[subset] = price + rest
        tables, choices = [first], []  # type: list[list[int]], list[tuple[int, list[int]]]
        parts = _parts(len(may))
        for donor in range(len(self.bench.engines)):
            if donor == host:
                continue
            cost = self._from(donor, may)
            before = tables[-1]
            now, taken = list(before), [0] * size
            for part in range(1, size):
                if cost[part] >= before[part]:  # what others supply for less, alone or with more
                    continue
                for rest in parts[size - 1 ^ part]:
                    total = before[rest] + cost[part]
                    if total < now[part | rest]:
                        now[part | rest], taken[part | rest] = total, part
            tables.append(now)
            choices.append((donor, taken))
        return tables, choices

    def _from(self, donor: int, may: Sequence[int]) -> list[int]:
        """What each subset of kinds costs out of one donor, its opening shared."""
        bench = self.bench
        alone = [
            _NEVER if risk is None else risk + bench.work[donor][kind]
            for kind in may
            for risk in (bench.risk[donor][kind],)
        ]
        steps, work = [0] * (1 << len(may)), [0] * (1 << len(may))
        for subset in range(1, len(steps)):
            low = subset & -subset
            at = low.bit_length() - 1
            steps[subset] = steps[subset ^ low] | bench.steps[may[at]]
            work[subset] = work[subset ^ low] + alone[at]
        opened = self.opened[donor]
        for one in steps:
            if one not in opened:
                opened[one] = opening_cost(bench, donor, one, False)
        return [min(_NEVER, cost + opened[one]) for cost, one in zip(work, steps, strict=True)]

    def _told(
        self, host: int, may: Sequence[int], subset: int, choices: list[tuple[int, list[int]]]
    ) -> Build:
        sources = [host] * len(self.kinds)
        for donor, taken in reversed(choices):
            part = taken[subset]
            for at, kind in enumerate(may):
                if part >> at & 1:
                    sources[kind] = donor
            subset ^= part
        for at, kind in enumerate(may):
            if subset >> at & 1:
                sources[kind] = BOUGHT
        return Build(host, tuple(sources))

    # ---- several engines: kind after kind, the dearest to reach first

    def several(self, hosts: tuple[int, ...]) -> None:
        bench = self.bench
        donors = [one for one in range(len(bench.engines)) if one not in hosts]
        order = sorted(self.kinds, key=lambda kind: (-self._reach(kind), kind))
        ways = [self._ways(kind, hosts, donors) for kind in order]
        if not all(ways):
            return
        least = [min(cost for cost, *_ in options) for options in ways]
        rest = [sum(least[at:]) for at in range(len(order) + 1)]
        opened, start = self._opened_anyway(hosts)
        picked: list[tuple[int, ...]] = []

        def go(at: int, cost: int) -> None:
            if at == len(order):
                by_kind = dict(zip(order, picked, strict=True))
                builds = tuple(
                    Build(host, tuple(by_kind[kind][place] for kind in self.kinds))
                    for place, host in enumerate(hosts)
                )
                self.offer(builds, cost)
                return
            steps = bench.steps[order[at]]
            for base, sources, touched in ways[at]:
                if cost + base + rest[at + 1] >= self.best:
                    break  # the rest of the ways cost no less
                self.nodes -= 1
                if self.nodes <= 0:
                    return
                added = sum(
                    opening_cost(bench, engine, steps & ~opened[engine], engine in hosts)
                    for engine in touched
                )
                if cost + base + added + rest[at + 1] >= self.best:
                    continue
                before = [opened[engine] for engine in touched]
                for engine in touched:
                    opened[engine] |= steps
                picked.append(sources)
                go(at + 1, cost + base + added)
                picked.pop()
                for engine, was in zip(touched, before, strict=True):
                    opened[engine] = was

        go(0, start)

    def _opened_anyway(self, hosts: tuple[int, ...]) -> tuple[list[int], int]:
        """What an engine lacks opens it whatever is chosen: the steps by engine, their cost."""
        opened, cost = [0] * len(self.bench.engines), 0
        for host in hosts:
            opened[host] = self._lacking(host)
            cost += opening_cost(self.bench, host, opened[host], True)
        return opened, cost

    def _lacking(self, host: int) -> int:
        """The steps that what an engine lacks opens on it."""
        steps = 0
        for kind in self.kinds:
            if self.bench.risk[host][kind] is None:
                steps |= self.bench.steps[kind]
        return steps

    def _reach(self, kind: int) -> int:
        return opening_cost(self.bench, 0, self.bench.steps[kind], True)

    def _ways(
        self, kind: int, hosts: tuple[int, ...], donors: Sequence[int]
    ) -> list[tuple[int, tuple[int, ...], tuple[int, ...]]]:
        """Every way to give each engine one kind: cost without opening, sources, engines opened."""
        bench, found = self.bench, []

        def give(place: int, cost: int, sources: tuple[int, ...]) -> None:
            if place == len(hosts):
                moved = [
                    engine
                    for host, source in zip(hosts, sources, strict=True)
                    if source != host
                    for engine in (host, source)
                    if engine != BOUGHT
                ]
                found.append((cost, sources, tuple(moved)))
                return
            host = hosts[place]
            own, price = bench.risk[host][kind], bench.bought[kind]
            if own is not None:
                give(place + 1, cost + own, (*sources, host))
            for donor in donors:
                risk = bench.risk[donor][kind]
                total = None if risk is None else risk + bench.work[donor][kind]
                if total is not None and donor not in sources and (own is None or total < own):
                    give(place + 1, cost + total, (*sources, donor))
            if price is not None and (own is None or price < own):
                give(place + 1, cost + price, (*sources, BOUGHT))

        give(0, 0, ())
        return sorted(found, key=lambda way: (way[0], len(way[2]), way[1]))


@lru_cache(maxsize=8)
def _parts(count: int) -> Mapping[int, tuple[int, ...]]:
    """The parts of every subset of so many things, none and all of it among them."""
    parts = {}
    for subset in range(1 << count):
        found, part = [0], subset
        while part:
            found.append(part)
            part = (part - 1) & subset
        parts[subset] = tuple(found)
    return parts
