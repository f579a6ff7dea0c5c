"""What the commands that look share: the rows, the flags, and how a list is printed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.due.records import Due
    from fleetcare.flags.flag import Flag
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.history import History
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile
    from fleetcare.usage.forecast import Booked
    from fleetcare.usage.outlooks import Forecast


@dataclass(frozen=True, slots=True)
class View:
    """The fleet as of a day: its rows in the order of lists, its flags, the engines held."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    flags: Mapping[str, Flag]
    held: frozenset[str]


def view(desk: Desk, as_of: date, words: bool = True, bookings: Sequence[Path] = ()) -> View:
    """Read the fleet file and work out every row; calendars of bookings inform the forecast."""
    with desk.open() as file:
        return view_of(file, desk, as_of, words, bookings)


def view_of(
    file: FleetFile, desk: Desk, as_of: date, words: bool = True, bookings: Sequence[Path] = (),
    every_job: bool = False,
) -> View:  # fmt: skip
    """The same out of an open file; with `every_job` for what also looks back on the log."""
    from fleetcare.due.rows import due_and_standing
    from fleetcare.flags.flag import flags, held_engines, in_order
    from fleetcare.usage.outlooks import Forecast

    with file.reading():
        fleet = file.fleet()
        book = desk.book(fleet)
        history = file.history(as_of, last_jobs=not every_job, whole=book.again_soon())
        kept, entry = file.fits(as_of)
    if words or any(log.seen or log.incidents for log in history.engines.values()):
        book = desk.with_words(book)
    booked = _booked(fleet, bookings, as_of) if bookings else None
    forecast = Forecast(book.uses, kept, booked)
    rows, stands = due_and_standing(fleet, history, book, as_of, None, forecast)
    if forecast.made:
        file.keep_fits(forecast.made, kept, entry, as_of)
    held = frozenset(held_engines(stands))
    return View(fleet, history, book, in_order(rows, held), flags(rows, stands), held)


def _booked(fleet: Fleet, files: Sequence[Path], as_of: date) -> dict[str, Booked]:
    from fleetcare.cli.bookings import read_bookings
    from fleetcare.usage.outlooks import booked_from

    year = timedelta(days=365)
    return booked_from(read_bookings(fleet, files, as_of - year, as_of + year), as_of.toordinal())


def forecast_of(file: FleetFile, book: RuleBook, as_of: date) -> Forecast:
    """The forecast with the fits that the file keeps, for a command that only looks at a few."""
    from fleetcare.usage.outlooks import Forecast

    return Forecast(book.uses, file.fits(as_of)[0])


def printed(
    form: str, rows: Callable[[], Iterable[Mapping[str, Any]]], as_of: date, head: Sequence[str],
    table: Callable[[], str], more: Callable[[], Mapping[str, Any]] = dict,
) -> None:  # fmt: skip
    """Print a list in the form asked for; JSON takes more beside the rows."""
    from fleetcare.show import values

    if form == "table":
        click.echo(table())
    elif form == "json":
        _echo_parts(values.json_parts(rows(), as_of, **more()))
    elif form == "csv":
        click.echo(values.as_csv(rows(), head))
    else:
        _echo_parts(values.ndjson_parts(rows()))


def _echo_parts(parts: Iterable[str]) -> None:
    for part in parts:
        click.echo(part, nl=False)
    click.echo()
