"""What the commands that look share: the rows, the flags, and how a list is printed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.due.records import Due
    from fleetcare.flags.flag import Flag
    from fleetcare.flags.standing import Standing
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.history import History
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile
    from fleetcare.usage.forecast import Booked
    from fleetcare.usage.outlooks import Forecast


PARTS_AT_ONCE = 40  # some twenty thousand rows of JSON
FEW = 4  # engines are read apart from the fleet where they are at most this part of it: our choice


@dataclass(frozen=True, slots=True)
class View:
    """The fleet as of a day: its rows in the order of lists, its flags, the engines held."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    flags: Mapping[str, Flag]
    held: frozenset[str]


class SomeRows(NamedTuple):
    """Rows of some engines at least, what stands by engine, and the fleet and history they need."""

    fleet: Fleet
    history: History
    rows: list[Due]
    stands: dict[str, list[Standing]]


def view(desk: Desk, as_of: date, words: bool = True, bookings: Sequence[Path] = ()) -> View:
    """Read the fleet file and work out every row; calendars of bookings inform the forecast."""
    with desk.open() as file:
        return view_of(file, desk, as_of, words, bookings)


def view_of(
    file: FleetFile, desk: Desk, as_of: date, words: bool = True, bookings: Sequence[Path] = (),
    every_job: bool = False, only: Collection[str] | None = None,
) -> View:  # fmt: skip
    """The same out of an open file; with `every_job` for what also looks back on the log.

    With `only` it may have the rows and the history of those engines and their kin alone.
    """
    from fleetcare.due.rows import due_and_standing
    from fleetcare.flags.flag import flags, held_engines, in_order
    from fleetcare.usage.outlooks import Forecast, OthersWantedError

    with file.reading():
        fleet = file.fleet()
        book = desk.book(fleet)
        some = kin_alone(file, fleet, only)
        history = file.history(as_of, not every_job, book.again_soon(), some)
        kept, entry = file.fits(as_of, some)
    if words or any(log.seen or log.incidents for log in history.engines.values()):
        book = desk.with_words(book)
    booked = _booked(fleet, bookings, as_of) if bookings else None
    forecast = Forecast(book.uses, kept, booked, whole=some is None)
    part = fleet if some is None else fleet.only(some)
    try:
        rows, stands = due_and_standing(part, history, book, as_of, None, forecast)
    except OthersWantedError:
        return view_of(file, desk, as_of, words, bookings, every_job)
    if forecast.made:
        file.keep_fits(forecast.made, kept, entry, as_of)
    held = frozenset(held_engines(stands))
    return View(fleet, history, book, in_order(rows, held), flags(rows, stands), held)


def kin_alone(
    file: FleetFile, fleet: Fleet, engines: Collection[str] | None
) -> frozenset[str] | None:
    """Engines and all they swapped with, where these are few; None when all are to be read.

    Their rows need no other engine, unless one is so new that it borrows from the fleet.
    """
    if engines is None or len(engines) * FEW > len(fleet.engines):
        return None
    kin = file.kin(engines)
    return kin if len(kin) * FEW <= len(fleet.engines) else None


def some_rows(file: FleetFile, book: RuleBook, as_of: date, engines: Collection[str]) -> SomeRows:
    """The rows of some engines and their kin, or of all, with what they were worked out from."""
    from fleetcare.due.rows import due_and_standing
    from fleetcare.usage.outlooks import Forecast, OthersWantedError

    with file.reading():
        fleet = file.fleet()
        some = kin_alone(file, fleet, engines)
    if some is not None:
        with suppress(OthersWantedError):
            part, history = fleet.only(some), file.history(as_of, engines=some)
            forecast = Forecast(book.uses, file.fits(as_of, some)[0], whole=False)
            found = due_and_standing(part, history, book, as_of, None, forecast)
            return SomeRows(part, history, *found)
    history, forecast = file.history(as_of), forecast_of(file, book, as_of)
    only = next(iter(engines)) if len(engines) == 1 else None
    return SomeRows(fleet, history, *due_and_standing(fleet, history, book, as_of, only, forecast))


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
    """Print parts; the first many are all made before, so that a list is seldom cut by a fault."""
    rest = iter(parts)
    click.echo("".join(islice(rest, PARTS_AT_ONCE)), nl=False)
    for part in rest:
        click.echo(part, nl=False)
    click.echo()
