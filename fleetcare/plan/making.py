"""From a fleet to the problem of its plan: every job that is due, every limit it must hold to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from fleetcare.due.coming import Coming
from fleetcare.due.followups import Standing, undone_by_engine
from fleetcare.due.joints import STUCK_MINUTES, stuck_joints
from fleetcare.due.records import Due
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import History
from fleetcare.plan.current import is_fulfilled
from fleetcare.plan.jobs import Demand, held_for, is_put_off, is_wanted
from fleetcare.plan.life import life_by_day
from fleetcare.plan.placing import Ground, job_of, parts_of
from fleetcare.plan.problem import Bench, Problem, Supply
from fleetcare.plan.records import Plan
from fleetcare.plan.supplies import Arrival, supplies_of
from fleetcare.plan.workshop import HUNDREDTHS, Calendar, place_named, places_of, rates_of
from fleetcare.rules.bench import access_steps, parts_of_visit
from fleetcare.rules.rule import Access, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.outlooks import Forecast

FROZEN_DAYS = 7  # days in which a kept plan is not moved without need: our design choice
MOVING_MINUTES = 20  # what moving a job that was planned costs: our design choice


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a plan is asked for beside the fleet: days, calendars, parts, the plan that is kept.

    `shelf` is what is on the shelf of items that are counted; other items are taken to be there.
    """

    calendar: Calendar
    shelf: Mapping[str, int] = field(default_factory=dict)
    arrivals: tuple[Arrival, ...] = ()
    kept: Plan | None = None
    frozen: int = FROZEN_DAYS


@dataclass(frozen=True, slots=True)
class Opened:
    """One engine's access steps in working order, a bit for each, and those that may be stuck."""

    engine: str
    boat: str | None
    ruleset: RuleSet
    steps: tuple[Access, ...]
    stuck: frozenset[str]

    def bits(self, task: str) -> int:
        """The steps that a task needs, those included in others too."""
        needed = access_steps(self.ruleset, (task,))
        return sum(1 << at for at, step in enumerate(self.steps) if step.name in needed)

    def chosen(self, access: int) -> tuple[Access, ...]:
        """Steps by their bits, in working order."""
        return tuple(step for at, step in enumerate(self.steps) if access >> at & 1)

    def minutes(self) -> tuple[int, ...]:
        """The minutes of each step, with what a joint long unopened may take."""
        return tuple(
            step.minutes + (STUCK_MINUTES if step.name in self.stuck else 0) for step in self.steps
        )


@dataclass(frozen=True, slots=True)
class Made:
    """The problem, and what its numbers stand for: demands in the order of its jobs.

    `put_off` are the rows that were put off, which a plan leaves until they come back.
    """

    problem: Problem
    calendar: Calendar
    demands: tuple[Demand, ...]
    benches: tuple[Opened, ...]
    put_off: tuple[Due, ...] = ()


def problem_of(
    fleet: Fleet, history: History, book: RuleBook, rows: Iterable[Due],
    stands: Mapping[str, Sequence[Standing]], forecast: Forecast, wishes: Wishes,
) -> Made:  # fmt: skip
    """The problem of planning a fleet's jobs over the days of a calendar."""
    calendar, everything = wishes.calendar, list(rows)
    carriage = Carriage(fleet, history, calendar.first, undone_by_engine(history, book))
    shop = _Shop(fleet, book, carriage)
    demands = shop.demands(
        [row for row in everything if is_wanted(row, calendar.first, calendar.last)],
        held_for(stands), forecast,
    )  # fmt: skip
    benches = shop.benches(demands)
    return Made(
        _problem(shop, demands, benches, wishes), calendar, tuple(demands), tuple(benches),
        tuple(row for row in everything if is_put_off(row, calendar.first)),
    )  # fmt: skip


class _Shop:
    """What is asked of the fleet: an engine's rules, its steps, its place."""

    def __init__(self, fleet: Fleet, book: RuleBook, carriage: Carriage) -> None:
        self.fleet, self.book, self.carriage = fleet, book, carriage

    def rules(self, engine: str) -> RuleSet:
        known = self.carriage.known[engine]
        return self.book.set_of(known.rules or self.fleet.settings.rules)

    def demands(
        self, wanted: list[Due], holds: frozenset[tuple[str, str]], forecast: Forecast
    ) -> list[Demand]:
        """Demands engine by engine, in the order of its rule set."""
        by_engine: dict[str, list[Due]] = {}
        for row in wanted:
            by_engine.setdefault(row.engine, []).append(row)
        found = []
        for engine in sorted(by_engine, key=natural):
            ruleset = self.rules(engine)
            order = {task: at for at, task in enumerate(ruleset.rules)}
            outlook = forecast.of(self.carriage, engine)
            coming = Coming(outlook, self.carriage.uses[engine], self.carriage.as_of)
            for row in sorted(by_engine[engine], key=lambda row: order[row.task]):
                held = (engine, row.task) in holds
                life = life_by_day(row, self.carriage, coming, ruleset, held)
                found.append(Demand(row, life, held))
        return found

    def benches(self, demands: Iterable[Demand]) -> list[Opened]:
        tasks: dict[str, list[str]] = {}
        for demand in demands:
            tasks.setdefault(demand.row.engine, []).append(demand.row.task)
        return [self._opened(engine, named) for engine, named in tasks.items()]

    def _opened(self, engine: str, tasks: Sequence[str]) -> Opened:
        ruleset = self.rules(engine)
        steps = tuple(access_steps(ruleset, tasks).values())
        stuck = stuck_joints(self.carriage, ruleset, (engine,))
        at_risk = frozenset(step.name for step in steps if stuck.get((engine, step.name)))
        return Opened(engine, self.carriage.boat_of(engine), ruleset, steps, at_risk)

    def place(self, engine: str) -> str:
        boat = self.carriage.last_boat_of(engine)
        return place_named(self.fleet.settings, self.fleet.boats[boat].place if boat else "")


def _problem(
    shop: _Shop, demands: Sequence[Demand], benches: Sequence[Opened], wishes: Wishes
) -> Problem:
    settings, calendar = shop.fleet.settings, wishes.calendar
    rates, places = rates_of(settings), places_of(settings, calendar)
    boats = sorted({one.boat for one in benches if one.boat is not None}, key=natural)
    busy = tuple(calendar.busy(boat) for boat in boats)
    names = [place.name for place in places]
    on_bench = tuple(
        Bench(
            one.engine, None if one.boat is None else boats.index(one.boat),
            names.index(shop.place(one.engine)), one.minutes(),
        )
        for one in benches
    )  # fmt: skip
    supplies = _supplies(demands, benches, wishes, int(settings.lead_days))
    items = {supply.item: at for at, supply in enumerate(supplies)}
    opening = tuple(tuple(parts_of(step.consumes, items) for step in one.steps) for one in benches)
    ground = Ground(calendar, rates, places, busy, on_bench, supplies, opening, items)
    engines = {one.engine: at for at, one in enumerate(benches)}
    jobs = tuple(
        job_of(demand, engines[demand.row.engine], access, ground)
        for demand, access in _with_access(demands, benches, engines)
    )
    return Problem(
        calendar.days, places, tuple(boats), busy, on_bench, jobs,
        round(rates.boat_day * HUNDREDTHS), supplies, opening, _kept(demands, wishes, shop.fleet),
        min(wishes.frozen, calendar.days), MOVING_MINUTES * HUNDREDTHS,
    )  # fmt: skip


def _with_access(
    demands: Sequence[Demand], benches: Sequence[Opened], engines: Mapping[str, int]
) -> Iterable[tuple[Demand, int]]:
    for demand in demands:
        yield demand, benches[engines[demand.row.engine]].bits(demand.row.task)


def _supplies(
    demands: Iterable[Demand], benches: Iterable[Opened], wishes: Wishes, lead: int
) -> tuple[Supply, ...]:
    """What limits the jobs; wanted at the most is what they use up when each stands alone."""
    if not wishes.shelf and not wishes.arrivals:
        return ()
    rules = {one.engine: one.ruleset for one in benches}
    wanted: Counter[str] = Counter()
    for demand in demands:
        wanted += parts_of_visit(rules[demand.row.engine], (demand.row.task,))
    return supplies_of(
        wishes.shelf, wishes.arrivals, wanted, wishes.calendar.first, wishes.calendar.days, lead
    )


def _kept(demands: Iterable[Demand], wishes: Wishes, fleet: Fleet) -> tuple[int | None, ...]:
    """The day from 0 that the kept plan has for each job; one gone by is none."""
    plan, calendar = wishes.kept, wishes.calendar
    if plan is None:
        return ()
    kept = days_kept(plan, fleet)
    found: list[int | None] = []
    for demand in demands:
        on = kept.get(demand.key)
        if on is None or is_fulfilled(demand.row, plan.first, on):
            found.append(None)
        else:
            found.append(on - calendar.first if calendar.first <= on <= calendar.last else None)
    return tuple(found)


def days_kept(kept: Plan | None, fleet: Fleet) -> dict[tuple[str, str], int]:
    """The day of each job of a kept plan, by the engine's name of today and the task."""
    found: dict[tuple[str, str], int] = {}
    for day in kept.days if kept else ():
        for visit in day.visits:
            known = fleet.has_engine(visit.engine)
            engine = fleet.engine(visit.engine).name if known else visit.engine
            for job in visit.jobs:
                found[engine, job.task] = day.on
    return found
