"""fleetcare reading: the hour meter's figure."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.log.entries import Entry


@click.command()
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("figure", type=HOURS, required=False)
@written_on
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
    desk: Desk, engine: str, figure: int | None, on: date, by: str | None, note: str,
    old_meter: int | None, rolled_over: bool, stopped: bool, fitted: bool,
) -> None:  # fmt: skip
    """Write down what the hour meter shows.

    Example: fleetcare reading OB-08 62.4 --on yesterday
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import RefusedError

    if figure is None:
        raise RefusedError(f"what does the meter show? fleetcare reading {engine} FIGURE")
    if sum((old_meter is not None, rolled_over, stopped, fitted)) > 1:
        raise RefusedError("a meter was replaced, rolled over, stopped or fitted: one of them")
    with desk.open() as file:
        fleet = file.fleet()
        known = fleet.engine(engine)
        base = {"on": on, "by": desk.by(fleet, by), "note": note, "engine": known.name}
        if rolled_over and (known.digits or 4) > 7:
            raise RefusedError(f"a meter of {known.digits} figures does not roll over")
        old = 10 ** (known.digits or 4) * 100 if rolled_over else old_meter
        entries = _entries(base, figure, old, rolled_over, stopped, fitted)
        log_and_tell(desk, file, desk.book(fleet, words=True), entries)


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
