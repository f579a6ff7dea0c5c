"""fleetcare found: the condition of a part."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on


@click.command(short_help="Write down the condition of a part as someone saw it.")
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("part")
@click.argument("condition")
@written_on
@click.option(
    "--count", type=click.IntRange(0, 999), metavar="N", help="How many pieces are missing."
)
@click.option("--reading", type=HOURS, metavar="FIGURE", help="What the meter showed then.")
@pass_desk
def found(
    desk: Desk, engine: str, part: str, condition: str, on: date, by: str | None, note: str,
    count: int | None, reading: int | None,
) -> None:  # fmt: skip
    """Write down the condition of a part as someone saw it; "not looked at" is an answer too.

    Example: fleetcare found OB-14 tell-tale weak --by jetty
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.log.entries import Finding
    from fleetcare.rules.words import find_condition

    with desk.open() as file:
        fleet = file.fleet()
        book = desk.book(fleet, words=True)
        seen = find_condition(book.conditions, part, condition)
        if isinstance(seen, Fault):
            raise RefusedError(str(seen))
        if seen.count and count is None:
            raise RefusedError(f"how many? --count N goes with {seen.part} {seen.word}")
        entry = Finding(
            on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(engine).name,
            part=seen.part, condition=seen.word, count=count, reading=reading,
        )  # fmt: skip
        log_and_tell(desk, file, book, [entry])
