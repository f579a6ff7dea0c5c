"""A small fleet with the shipped rules, for the tests of uses, the shelf and what to have ready."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Count, Delivery
from fleetcare.log.history import History, history
from fleetcare.plan.items import Items, items_known
from fleetcare.plan.shelf import Stock, shelf
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.shipped import read_book
from fleetcare.usage.outlooks import Forecast
from tests.built import fleet_of
from tests.trials.example_tables import row, settings_rows

BOOK = read_book(None, {"small-petrol"})
SET = BOOK.sets["small-petrol"]
SINCE, TODAY = date(2031, 4, 1), date(2031, 7, 1)
BOATS = [
    row("boats", boat="Lapwing", use="hire", water="fresh", since=SINCE.isoformat()),
    row("boats", boat="Dunlin", use="club", water="salt", since=SINCE.isoformat()),
]
# Plover and Knot were new; Smew lies in store.
ENGINES = [
    row("engines", engine="Plover", boat="Lapwing", hp="6", stroke="4", since="2031-04-01",
        reading="0", new="yes", family="twin"),
    row("engines", engine="Knot", boat="Dunlin", hp="9.9", stroke="4", since="2031-04-01",
        reading="0", new="yes"),
    row("engines", engine="Smew", hp="6", since="2031-04-01", reading="300"),
]  # fmt: skip


def may(day: int) -> date:
    return date(2031, 5, day)


def entry(on: date, event: str, **cells: object) -> dict[str, str]:
    """A row of the log."""
    return row("log", on=on.isoformat(), event=event, **{k: str(v) for k, v in cells.items()})


def done(on: date, engine: str, *tasks: str) -> list[dict[str, str]]:
    """Jobs of one engine and day."""
    return [entry(on, "job", engine=engine, task=task) for task in tasks]


def delivered(on: date, item: str, count: int, **cells: object) -> dict[str, str]:
    return entry(on, "delivery", item=item, count=count, **cells)


def counted(on: date, item: str, count: int) -> dict[str, str]:
    return entry(on, "count", item=item, count=count)


def set_of(engine: str) -> RuleSet:
    return SET


@dataclass(frozen=True)
class Place:
    """The fleet with its log as of a day."""

    fleet: Fleet
    history: History
    items: Items
    stocks: dict[str, Stock]
    as_of: int

    @cached_property
    def forecast(self) -> Forecast:
        return Forecast(BOOK.uses)

    @cached_property
    def rows(self) -> list[Due]:
        day = date.fromordinal(self.as_of)
        return due_list(self.fleet, self.history, BOOK, day, forecast=self.forecast)

    def row(self, engine: str, task: str) -> Due:
        return next(row for row in self.rows if (row.engine, row.task) == (engine, task))


def place(*log: dict[str, str], as_of: date = TODAY, ruleset: RuleSet = SET) -> Place:
    tables = {"settings": settings_rows(), "boats": BOATS, "engines": ENGINES, "log": list(log)}
    fleet, entries = fleet_of(tables)
    shelved = [one for one in entries if isinstance(one, Delivery | Count)]
    past, today = history(entries, as_of), as_of.toordinal()
    items = items_known({ruleset.name: ruleset}, shelved, today)
    stocks = shelf(fleet, past, shelved, lambda engine: ruleset, items, today)
    return Place(fleet, past, items, stocks, today)
