"""The fleet as the parts commands see it: what jobs want, what lies on the shelf, lead times."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk
from fleetcare.cli.naming import rules_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fleetcare.due.records import Due
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Count, Delivery
    from fleetcare.log.history import History
    from fleetcare.plan.called import Sight
    from fleetcare.plan.items import Items
    from fleetcare.plan.ready import Ready
    from fleetcare.plan.records import Plan
    from fleetcare.plan.shelf import Stock
    from fleetcare.plan.short import Receipt
    from fleetcare.plan.terms import Terms
    from fleetcare.plan.uses import Ahead, Use, Wanted
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.show.parts import Sheet
    from fleetcare.store.fleet_file import FleetFile


@dataclass(frozen=True, slots=True)
class Stores:
    """The shelf of a fleet as of a day, with the records it was counted out of."""

    fleet: Fleet
    book: RuleBook
    history: History
    items: Items
    stocks: Mapping[str, Stock]
    as_of: int

    def set_of(self, engine: str) -> RuleSet:
        """The rule set of an engine."""
        return rules_of(self.fleet, self.book, engine)


@dataclass(frozen=True, slots=True)
class View:
    """The jobs to come with what they use up; the engines in store that are left out."""

    stores: Stores
    rows: Sequence[Due]
    ahead: Ahead
    jobs: Sequence[Wanted]
    uses: Sequence[Use]
    in_store: Sequence[str]


def stores(desk: Desk, file: FleetFile, as_of: date) -> Stores:
    """Read the shelf; call it in a reading of the caller's where more is read."""
    from fleetcare.plan.items import items_known
    from fleetcare.plan.shelf import shelf
    from fleetcare.store.shelf import fetch_shelf

    with file.reading():
        fleet, history = file.fleet(), file.history(as_of)
        entries: list[Delivery | Count] = fetch_shelf(file.connection, as_of)
    book = desk.book(fleet, words=True)
    items = items_known(book.sets, entries, as_of.toordinal())

    def set_of(engine: str) -> RuleSet:
        return rules_of(fleet, book, engine)

    stocks = shelf(fleet, history, entries, set_of, items, as_of.toordinal())
    return Stores(fleet, book, history, items, stocks, as_of.toordinal())


def look(desk: Desk, as_of: date, days: int, in_store: bool) -> View:
    """What the fleet's jobs use up from a day on, for so many days."""
    from fleetcare.due.followups import undone_by_engine
    from fleetcare.due.rows import due_list
    from fleetcare.plan.uses import (
        Ahead,
        coming_round,
        left_in_store,
        uses_of,
        wanted_jobs,
        winters,
    )
    from fleetcare.usage.components import Carriage
    from fleetcare.usage.outlooks import Forecast

    with desk.open() as file:
        with file.reading():
            seen = stores(desk, file, as_of)
            plan = _kept_plan(desk, file, seen.as_of)
            kept, entry = file.fits(as_of)
        fleet, history, book = seen.fleet, seen.history, seen.book
        forecast = Forecast(book.uses, kept)
        rows = due_list(fleet, history, book, as_of, forecast=forecast)
        if forecast.made:
            file.keep_fits(forecast.made, kept, entry, as_of)
    carriage = Carriage(fleet, history, seen.as_of, undone_by_engine(history, book))
    ahead = Ahead(
        seen.as_of, seen.as_of + days, plan, winters(rows, fleet, history, book.uses),
        in_store, coming_round(carriage, forecast),
    )  # fmt: skip
    jobs = wanted_jobs(rows, ahead)
    uses = uses_of(jobs, seen.set_of, seen.items.name)
    return View(seen, rows, ahead, jobs, uses, left_in_store(rows, ahead))


def _kept_plan(desk: Desk, file: FleetFile, as_of: int) -> Plan | None:
    """The plan that is kept; none where it was made after the day or cannot be read."""
    from fleetcare.plan.kept import from_text
    from fleetcare.store.plans import fetch_plan

    found = fetch_plan(file.connection)
    if found is None or found[0] > as_of:
        return None
    try:
        return from_text(found[1])
    except (ValueError, TypeError, KeyError, AttributeError):
        desk.note("The kept plan cannot be read; days are those the jobs are due on.")
        return None


def sheet_of(
    view: View, terms: Terms, receipts: Sequence[Receipt], weeks: int, order_cost: float,
    with_ready: bool,
) -> Sheet:  # fmt: skip
    """Everything that the list of orders tells; what to have ready only where it is shown."""
    from fleetcare.fleet.names import natural
    from fleetcare.plan.orders import Asked, orders
    from fleetcare.show.parts import Sheet

    seen = view.stores
    found = orders(
        Asked(view.uses, seen.stocks, receipts, terms, seen.items, seen.as_of, weeks)
    )  # fmt: skip
    used = sorted({use.item for use in view.uses}, key=natural)
    ready = what_to_have_ready(view, terms, receipts, order_cost) if with_ready else []
    return Sheet(
        date.fromordinal(seen.as_of), date.fromordinal(view.ahead.last), found,
        ready, seen.stocks, seen.fleet.engines, terms, view.ahead.plan, view.in_store, used,
        seen.fleet.settings.money,
    )  # fmt: skip


def what_to_have_ready(
    view: View, terms: Terms, receipts: Sequence[Receipt], order_cost: float
) -> list[Ready]:
    """Items that a likely finding or event would call for before an order of today comes."""
    from fleetcare.plan.called import called_by_chance, called_by_looks
    from fleetcare.plan.ready import Asked, Rates, looked_at_until, ready
    from fleetcare.repair.chances import Chances

    seen = view.stores
    chances = Chances(seen.fleet, seen.history, seen.book, view.rows, seen.as_of)
    sight = _sight(seen)
    afloat = {row.engine for row in view.rows if row.boat is not None}
    last = looked_at_until(terms, seen.as_of)
    jobs = [job for job in view.jobs if job.engine in afloat and job.day <= last]
    looks = called_by_looks(jobs, sight, chances.worn)
    settings = seen.fleet.settings
    rates = Rates(float(settings.hourly_rate), float(settings.boat_day_cost), order_cost)
    asked = Asked(view.uses, seen.stocks, receipts, terms, seen.items, rates, seen.as_of)
    return ready([*looks, *called_by_chance(_days_afloat(seen, view.rows), sight)], asked)


def _sight(seen: Stores) -> Sight:
    from fleetcare.due.rows import fitting_tasks
    from fleetcare.plan.called import Sight

    fits: dict[str, frozenset[str]] = {}

    def fitting(engine: str) -> frozenset[str]:
        if engine not in fits:
            fits[engine] = fitting_tasks(seen.set_of(engine), seen.fleet.engines[engine])
        return fits[engine]

    return Sight(
        seen.set_of, fitting, seen.book.conditions, seen.book.incidents, seen.history, seen.as_of
    )


def _days_afloat(seen: Stores, rows: Iterable[Due]) -> dict[str, int]:
    """By engine that runs now, its days of the year before on a boat and not laid up."""
    from fleetcare.plan.called import LOOKED_BACK
    from fleetcare.usage.places import berths, idle_stretches

    last = seen.as_of
    found: dict[str, int] = {}
    for row in rows:
        if row.engine in found or row.boat is None or row.laid_up:
            continue
        engine = seen.fleet.engines[row.engine]
        first = max(engine.since.toordinal(), last - LOOKED_BACK + 1)
        idle = idle_stretches(seen.history, engine, berths(engine, seen.history))
        away = sum(max(0, min(end, last) - max(begin, first) + 1) for begin, end in idle)
        found[row.engine] = max(0, last - first + 1 - away)
    return found
