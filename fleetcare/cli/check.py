"""fleetcare check, backup, restore: is the fleet file whole, a safe copy, putting it back."""

from __future__ import annotations

from pathlib import Path

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options


@click.command(short_help="Look whether the file is whole and its log plausible.")
@fleet_options
@pass_desk
def check(desk: Desk) -> None:
    """Look whether the file is whole and its log plausible; says what to do about each find.

    Example: fleetcare check
    """
    from fleetcare.errors import FaultsError
    from fleetcare.log.faults import faults
    from fleetcare.store.integrity import file_faults
    from fleetcare.usage.doubts import doubts

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
        found = [*file_faults(file.connection), *faults(fleet, history)]
    odd = doubts(fleet, history, desk.book(fleet))
    for item in odd:
        click.echo(f"worth a look: {item}")
    if found:
        raise FaultsError(found)
    click.echo(f"{desk.path()} is whole; {len(odd)} worth a look.")


@click.command()
@fleet_options
@click.argument("file", type=click.Path(path_type=Path))
@pass_desk
def backup(desk: Desk, file: Path) -> None:
    """Write a safe copy of the fleet file, read it back, and say so.

    Example: fleetcare backup fleet-copy.db
    """
    from fleetcare.store.backup import back_up

    with desk.open() as source:
        count = back_up(source.connection, file)
    click.echo(f"{file}: {count} entries, read back and whole.")


@click.command(short_help="Put a copy back in the fleet file's place.")
@fleet_options
@click.argument("backup_file", metavar="BACKUP", type=click.Path(path_type=Path))
@click.option("--overwrite", is_flag=True, help="Put it in place of the file that is there.")
@pass_desk
def restore(desk: Desk, backup_file: Path, overwrite: bool) -> None:
    """Put a copy back in the fleet file's place; the file there is kept beside it.

    Example: fleetcare restore fleet-copy.db --overwrite
    """
    from fleetcare.store.backup import restore as put_back

    count = put_back(backup_file, desk.path(), overwrite)
    click.echo(f"{desk.path()}: {count} entries, as they were in {backup_file}.")
