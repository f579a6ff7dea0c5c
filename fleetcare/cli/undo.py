"""fleetcare undo: withdraw an entry by a new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.store.fleet_file import FleetFile

MANY = 50


@click.command(short_help="Take entries back; those of the last command without a number.")
@fleet_options
@dry_run
@click.argument("entries", nargs=-1, type=click.IntRange(1), metavar="[ENTRY...]")
@click.option("--by", metavar="ROLE", help="Who takes it back.")
@click.option("--yes", is_flag=True, help="Do not ask, however many they are.")
@pass_desk
def undo(desk: Desk, entries: tuple[int, ...], by: str | None, yes: bool) -> None:
    """Withdraw entries; without a number, those of the last command.

    Nothing is deleted: a new entry names the one withdrawn, and can itself be withdrawn.

    Example: fleetcare undo 17
    """
    from fleetcare.store.append import withdraw

    with desk.open() as file:
        fleet = file.fleet()
        targets = list(dict.fromkeys(entries)) or _last_command(desk, file, yes)
        with file.writing(keep=not desk.dry_run) as connection:
            numbers = withdraw(connection, targets, desk.today(), desk.by(fleet, by), desk.stamp())
    if len(targets) > MANY:
        ends = f"{numbers[0]} to {numbers[-1]}"
        said = "would withdraw" if desk.dry_run else f"stored entries {ends}:"
        click.echo(f"{said} entries {targets[0]} to {targets[-1]}, {len(targets)} of them")
        return
    for number, target in zip(numbers, targets, strict=True):
        desk.say_stored(number, f"entry {target} withdrawn")


def _last_command(desk: Desk, file: FleetFile, yes: bool) -> list[int]:
    """The entries of the last command that count; asked about when they are many."""
    from fleetcare.errors import RefusedError
    from fleetcare.store.fetch import fetch_act

    targets = [item.number for item in fetch_act(file.connection) if not item.withdrawn]
    if not targets:
        raise RefusedError("nothing to take back: the log is empty, or its end withdrawn")
    if len(targets) > MANY and not (yes or desk.dry_run):
        text = f"the last command stored {len(targets)} entries"
        if not desk.is_terminal():
            raise RefusedError(f"{text}; --yes takes all of them back")
        if not click.confirm(f"{text[0].upper()}{text[1:]}. Take all of them back?"):
            raise RefusedError("nothing was taken back")
    return targets
