"""Findings and incidents that still stand, where no due list is asked for."""

from __future__ import annotations

from datetime import date

from fleetcare.due.followups import FollowUps, undone_by_engine
from fleetcare.due.followups import Standing as Standing
from fleetcare.due.rows import fitting_tasks
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage


def standing(
    fleet: Fleet, history: History, book: RuleBook, as_of: date | None = None
) -> dict[str, list[Standing]]:
    """By engine, every finding and incident that still stands, those that hold first."""
    day = (as_of or date.max).toordinal()
    carriage = Carriage(fleet, history, day, undone_by_engine(history, book))
    found: dict[str, list[Standing]] = {}
    for name, engine in carriage.known.items():
        if history.of(name).retired is not None:
            continue
        ruleset = book.set_of(engine.rules or fleet.settings.rules)
        fits = fitting_tasks(ruleset, engine)
        items = FollowUps(carriage, name, ruleset, book, fits).standing()
        if items:
            found[name] = items
    return found
