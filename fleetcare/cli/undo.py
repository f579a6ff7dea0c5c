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
    from fleetcare.cli.effects import changes, state

    with desk.open() as file:
        fleet = file.fleet()
        targets = list(dict.fromkeys(entries)) or _last_command(desk, file, yes)
        if desk.dry_run or len(targets) > MANY:
            _say(desk, _withdrawn(desk, file, targets, by), targets)
            return
        book, today = desk.book(fleet, words=True), desk.today()
        engines, tasks = _touched(file, targets)
        engines = file.kin(engines)
        before = state(file, book, engines, today)
        _say(desk, _withdrawn(desk, file, targets, by), targets)
        # a swap taken back may join others to them, or part them
        after = state(file, book, engines | file.kin(engines), today)
        for line in changes(before, after, tasks, today):
            click.echo(line)


def _withdrawn(desk: Desk, file: FleetFile, targets: list[int], by: str | None) -> list[int]:
    from fleetcare.store.append import withdraw

    who = desk.by(file.fleet(), by)
    with file.writing(keep=not desk.dry_run) as connection:
        return withdraw(connection, targets, desk.today(), who, desk.stamp())


def _touched(file: FleetFile, targets: list[int]) -> tuple[frozenset[str], set[str]]:
    """The engines and tasks of what is taken back, or comes back."""
    from fleetcare.log.entries import Job
    from fleetcare.store.append import concerned, meant_by
    from fleetcare.store.fetch import fetch_entries

    with file.reading():
        found = fetch_entries(file.connection, targets).values()
        meant = [meant_by(file.connection, item).entry for item in found]
    told = [entry for entry in meant if entry is not None]
    return frozenset(concerned(told)), {entry.task for entry in told if isinstance(entry, Job)}


def _say(desk: Desk, numbers: list[int], targets: list[int]) -> None:
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
