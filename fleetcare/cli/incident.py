"""fleetcare incident: something that happened to an engine."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on


@click.command(short_help="Write down what happened: overheated, ran dry, swamped.")
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("kind")
@written_on
@click.option("--reading", type=HOURS, metavar="FIGURE", help="What the meter showed then.")
@pass_desk
def incident(
    desk: Desk, engine: str, kind: str, on: date, by: str | None, note: str, reading: int | None
) -> None:
    """Write down what happened to an engine: overheated, ran dry, swamped, grounded.

    Example: fleetcare incident OB-14 overheated --on "2 days ago"
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean
    from fleetcare.log.entries import Incident

    with desk.open() as file:
        fleet = file.fleet()
        book = desk.book(fleet, words=True)
        known = book.incidents.get(kind.strip().lower())
        if known is None:
            hint = did_you_mean(kind, book.incidents) or f"One of: {', '.join(book.incidents)}."
            raise RefusedError(f'"{kind}" is no incident. {hint}')
        entry = Incident(
            on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(engine).name,
            kind=known.name, reading=reading,
        )  # fmt: skip
        log_and_tell(desk, file, book, [entry])
        if known.caution:
            desk.note(f"Caution: {known.caution}")
