"""fleetcare undo: withdraw an entry by a new one."""

from __future__ import annotations

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options


@click.command()
@fleet_options
@dry_run
@click.argument("entries", nargs=-1, type=click.IntRange(1), metavar="[ENTRY...]")
@click.option("--by", metavar="ROLE", help="Who takes it back.")
@pass_desk
def undo(desk: Desk, entries: tuple[int, ...], by: str | None) -> None:
    """Withdraw entries; without a number, those of the last command.

    Nothing is deleted: a new entry names the one withdrawn, and can itself be withdrawn.

    Example: fleetcare undo 17
    """
    from fleetcare.errors import RefusedError
    from fleetcare.store.append import withdraw
    from fleetcare.store.fetch import fetch_act

    with desk.open() as file:
        fleet = file.fleet()
        with file.writing(keep=not desk.dry_run) as connection:
            targets = list(entries) or [
                item.number for item in fetch_act(connection) if not item.withdrawn
            ]
            if not targets:
                raise RefusedError("nothing to take back: the log is empty, or its end withdrawn")
            numbers = withdraw(connection, targets, desk.today(), desk.by(fleet, by), desk.stamp())
    for number, target in zip(numbers, targets, strict=True):
        desk.say_stored(number, f"entry {target} withdrawn")
