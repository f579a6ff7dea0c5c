"""What the commands that look share: the rows, the flags, and how a list is printed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.due.records import Due
    from fleetcare.flags.flag import Flag
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.history import History
    from fleetcare.rules.sets import RuleBook


@dataclass(frozen=True, slots=True)
class View:
    """The fleet as of a day: its rows in the order of lists, its flags, the engines held."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    flags: Mapping[str, Flag]
    held: frozenset[str]


def view(desk: Desk, as_of: date, words: bool = True) -> View:
    """Read the fleet file and work out every row."""
    from fleetcare.due.rows import due_list
    from fleetcare.flags.flag import flags, held_engines, in_order
    from fleetcare.flags.standing import standing

    with desk.open() as file:
        fleet, history = file.fleet(), file.history(as_of, last_jobs=True)
    needs_words = words or any(log.seen or log.incidents for log in history.engines.values())
    book = desk.book(fleet, words=needs_words)
    rows = due_list(fleet, history, book, as_of)
    stands = standing(fleet, history, book) if needs_words else {}
    held = frozenset(held_engines(stands))
    return View(fleet, history, book, in_order(rows, held), flags(rows, stands), held)


def printed(
    form: str, rows: Callable[[], Sequence[Mapping[str, Any]]], as_of: date, head: Sequence[str],
    table: Callable[[], str],
) -> None:  # fmt: skip
    """Print a list in the form asked for."""
    from fleetcare.show import values

    if form == "table":
        click.echo(table())
    elif form == "json":
        click.echo(values.as_json(rows(), as_of))
    elif form == "csv":
        click.echo(values.as_csv(rows(), head))
    else:
        click.echo(values.as_ndjson(rows()))
