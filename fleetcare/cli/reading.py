"""fleetcare reading: what the hour meters show, one or many at once."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.many import file_options
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.errors import Fault
    from fleetcare.log.entries import Entry

FORM = "ENGINE FIGURE ENGINE FIGURE"


@click.command(short_help="Write down what the hour meter shows.")
@fleet_options
@dry_run
@click.argument("words", nargs=-1, metavar="ENGINE FIGURE...")
@written_on
@file_options
@click.option(
    "--old-meter",
    type=HOURS,
    metavar="FIGURE",
    help="The meter was replaced; this was the old one's last.",
)
@click.option(
    "--rolled-over", is_flag=True, help="The meter passed its last figure and began at 0."
)
@click.option("--stopped", is_flag=True, help="FIGURE is the last: the meter has stopped or gone.")
@click.option("--fitted", is_flag=True, help="A meter was fitted; FIGURE is its first.")
@pass_desk
def reading(
    desk: Desk, /, words: tuple[str, ...], on: date, by: str | None, note: str, source: Path | None,
    keep_good: bool, **meter: Any,
) -> None:  # fmt: skip
    """Write down what the hour meter shows.

    Many at once: on the line, ENGINE FIGURE ENGINE FIGURE, or from a file or a pipe (-), a line
    an engine: its name, the figure and perhaps a date. All are stored or none.

    Example: fleetcare reading OB-08 62.4 --on yesterday
    """
    from fleetcare.cli.many import is_many, refuse_with_many

    if is_many(words, source):
        refuse_with_many(meter)
        _many(desk, words, source, (on, by, note), keep_good)
    else:
        _one(desk, words, (on, by, note), **meter)


def _one(
    desk: Desk, words: tuple[str, ...], written: tuple[date, str | None, str],
    old_meter: int | None, rolled_over: bool, stopped: bool, fitted: bool,
) -> None:  # fmt: skip
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import RefusedError

    if not words:
        raise click.UsageError("which engine, and what does its meter show? ENGINE FIGURE")
    if len(words) < 2:
        raise RefusedError(f"what does the meter show? fleetcare reading {words[0]} FIGURE")
    figure = HOURS.convert(words[1], None, None)
    if sum((old_meter is not None, rolled_over, stopped, fitted)) > 1:
        raise RefusedError("a meter was replaced, rolled over, stopped or fitted: one of them")
    on, by, note = written
    with desk.open() as file:
        fleet = file.fleet()
        known = fleet.engine(words[0])
        base = {"on": on, "by": desk.by(fleet, by), "note": note, "engine": known.name}
        if rolled_over and (known.digits or 4) > 7:
            raise RefusedError(f"a meter of {known.digits} figures does not roll over")
        old = 10 ** (known.digits or 4) * 100 if rolled_over else old_meter
        entries = _entries(base, figure, old, rolled_over, stopped, fitted)
        log_and_tell(desk, file, desk.book(fleet, words=True), entries)


def _many(
    desk: Desk, words: tuple[str, ...], source: Path | None,
    written: tuple[date, str | None, str], keep_good: bool,
) -> None:  # fmt: skip
    """Readings of many engines, stored in one go."""
    from fleetcare.cli.many import ending, given_by, read, take_many
    from fleetcare.errors import Fault
    from fleetcare.fleet.figures import hours
    from fleetcare.log.entries import Reading

    on, by, note = written
    with desk.open() as file:
        fleet = file.fleet()
        who = desk.by(fleet, by)

        def made(engine: str, figure: str, day: date | None) -> Entry | Fault:
            name, value = fleet.engine(engine).name, hours(figure, "figure")
            if isinstance(value, Fault):
                return value
            return Reading(on=day or on, by=who, note=note, engine=name, reading=value)

        given = given_by(words, source, FORM, fleet, desk.today())
        ending(take_many(desk, file, read(*given, made), keep_good).found)


def _entries(
    base: dict[str, object], figure: int, old: int | None, rolled_over: bool, stopped: bool,
    fitted: bool,
) -> list[Entry]:  # fmt: skip
    """One reading, or a meter entry with the new meter's figure."""
    from fleetcare.log.entries import MeterChange, Reading

    if stopped:
        return [MeterChange(**base, old=figure)]  # type: ignore[arg-type]  # as written_on gave
    if fitted or (old is not None and not rolled_over):
        return [MeterChange(**base, old=old, new=figure)]  # type: ignore[arg-type]  # as above
    line = Reading(**base, reading=figure)  # type: ignore[arg-type]  # as written_on gave
    if rolled_over:
        return [MeterChange(**base, old=old, new=0), line]  # type: ignore[arg-type]  # as above
    return [line]
