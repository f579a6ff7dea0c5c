"""fleetcare backup and fleetcare restore: a safe copy, and putting it back."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.store.restore import Restored, Since

MOST_NAMED = 12


@click.command()
@fleet_options
@click.argument("file", type=click.Path(path_type=Path))
@pass_desk
def backup(desk: Desk, file: Path) -> None:
    """Write a safe copy of the fleet file, read it back, and say so.

    Example: fleetcare backup fleet-copy.db
    """
    from fleetcare.store.backup import back_up, doubts_of

    with desk.open() as source:
        count = back_up(source.connection, file)
        click.echo(f"{file}: {_entries(count)}, read back and whole.")
        for fault in doubts_of(source.connection):
            desk.note(f"But worth a look: {fault}")


@click.command(short_help="Put a copy back in the fleet file's place.")
@fleet_options
@dry_run
@click.argument("backup_file", metavar="BACKUP", type=click.Path(path_type=Path))
@click.option("--overwrite", is_flag=True, help="Put it in place of the file that is there.")
@pass_desk
def restore(desk: Desk, backup_file: Path, overwrite: bool) -> None:
    """Put a copy back in the fleet file's place; the file there is kept beside it.

    It says what day the copy is from and what was written since, and how to bring that back.

    Example: fleetcare restore fleet-copy.db --overwrite
    """
    from fleetcare.store.restore import restore as put_back

    done = put_back(backup_file, desk.path(), overwrite, keep=not desk.dry_run)
    would = "would hold " if desk.dry_run else ""
    held = f"{_entries(done.entries)}, as they were in {backup_file}"
    click.echo(f"{desk.path()}: {would}{held}; {_from(desk, done)}.")
    for line in _missing(done, desk.dry_run):
        click.echo(line)


def _entries(count: int) -> str:
    return f"{count} {'entry' if count == 1 else 'entries'}"


def _from(desk: Desk, done: Restored) -> str:
    """What day the copy is from: that of the last entry it holds."""
    if not done.written:
        return "it holds no entry yet"
    try:
        written = datetime.fromisoformat(done.written).astimezone().date()
    except ValueError:
        return f'the last was written at "{done.written:.40}", which is no time'
    ago = (desk.today() - written).days
    since = {0: "today", 1: "yesterday"}.get(ago, f"{ago} days ago")
    return f"the last was written on {written}, {since}"


def _missing(done: Restored, dry: bool) -> list[str]:
    """What was written since, and how to bring it back."""
    if done.aside is None:
        return ["What was written after that is not in it: write it down again."]
    kept = f"The file that {'is there would be' if dry else 'was there is'} kept as {done.aside}"
    if done.since is None:
        return [f"{kept}; it cannot be read, so what was written since is not known."]
    if done.since.another_fleet:
        return [f"{kept}. It is another fleet's."]
    lines = [f"{kept}. {_since(done.since)}"]
    if done.since.entries or done.since.others:
        aside = f'"{done.aside}"' if " " in str(done.aside) else done.aside
        lines.append(
            f"To bring that back: fleetcare export DIR --fleet {aside}, "
            f"then fleetcare import DIR, which adds what is not there."
        )
    if done.since.withdrawn:
        numbers = done.since.withdrawn[:MOST_NAMED]
        more = ", …" if len(done.since.withdrawn) > MOST_NAMED else ""
        lines.append(
            f"Taken back since, and in the copy not: {', '.join(map(str, numbers))}{more}. That no "
            f"table brings along: fleetcare undo {numbers[0]} takes it back again."
        )
    return lines


def _since(since: Since) -> str:
    many = since.entries != 1
    others = f" Other {', '.join(since.others)} stand in it." if since.others else ""
    if not since.entries:
        return f"Nothing was written since that is not in the copy.{others}"
    return f"{_entries(since.entries)} in it {'are' if many else 'is'} not in the copy.{others}"
