"""fleetcare check: is the fleet file whole, is its log plausible, and what to do if not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, no_fleet, pass_desk
from fleetcare.cli.options import dry_run, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.errors import Fault
    from fleetcare.store.fleet_file import FleetFile

KEYS = ("kind", "where", "what", "mend")
WRONG, ODD = "wrong", "worth a look"


@click.command(short_help="Look whether the file is whole and its log plausible.")
@fleet_options
@dry_run
@format_option
@click.option("--mend", is_flag=True, help="Set right what can be without guessing: indexes, ….")
@click.option("--accept", is_flag=True, help="Take for written what was changed outside.")
@pass_desk
def check(desk: Desk, form: str, mend: bool, accept: bool) -> None:
    """Look whether the file is whole and its log plausible; says what to do about each find.

    Looked at: every page and index, the guards of the log, whether everything is as fleetcare
    wrote it, entries and names that cannot be, meters, swaps and withdrawals, and what is kept of
    forecasts, feeds and plans. The exit code is 4 for the file itself, 1 for what stands in it.

    Example: fleetcare check
    """
    from fleetcare.cli.looking import printed

    with _to_look(desk) as file:
        _set_right(desk, file, mend, accept, beside=form != "table")
        found, of_file = _found(desk, file)
        odd = [] if found else _odd(desk, file)
    if form != "table":
        rows = [
            _values(kind, item) for kind, items in ((WRONG, found), (ODD, odd)) for item in items
        ]
        printed(form, lambda: rows, desk.today(), KEYS, lambda: "")
        click.get_current_context().exit(4 if of_file else 1 if found else 0)
    for item in odd:
        click.echo(f"{ODD}: {item}")
    if found:
        raise _error(found, of_file)
    click.echo(f"{desk.path()} is whole; {len(odd)} {ODD}.")


def found_in(desk: Desk) -> list[Fault]:
    """What is wrong with the fleet file, if there is one."""
    if not desk.path().exists():
        return []
    with _to_look(desk) as file:
        return _found(desk, file)[0]


def _to_look(desk: Desk) -> FleetFile:
    """The fleet file, open even when it has lost its guards."""
    from fleetcare.store.fleet_file import FleetFile

    if not desk.path().exists():
        raise no_fleet(desk.path())
    return FleetFile(desk.path(), verified=False)


def _set_right(desk: Desk, file: FleetFile, mend: bool, accept: bool, beside: bool) -> None:
    """What was asked to be mended or accepted, done before looking; told beside the rows."""
    from fleetcare.store import mending

    would = "would have " if desk.dry_run else ""
    if mend:
        with file.writing(keep=not desk.dry_run) as connection:
            lines = mending.mend(connection)
        for line in lines:
            click.echo(f"{would}{line}", err=beside)
        if not lines:
            click.echo("nothing here can be set right without guessing, or needs to be", err=beside)
    if accept:
        with file.writing(keep=not desk.dry_run) as connection:
            mending.accept(connection)
        click.echo(f"{would}taken the file as it is for what was written", err=beside)


def _found(desk: Desk, file: FleetFile) -> tuple[list[Fault], bool]:
    """What is wrong, and whether it is the file itself."""
    from fleetcare.errors import UnusableFileError
    from fleetcare.log.faults import faults
    from fleetcare.store.integrity import file_faults, is_legible
    from fleetcare.store.looks import row_faults
    from fleetcare.store.telling import legible, words_for

    with words_for(desk.path()):
        found = file_faults(file.connection)
    of_file = bool(found)
    if not is_legible(found):
        return found, of_file
    try:
        with words_for(desk.path()), legible(desk.path()), file.reading():
            found += row_faults(file.connection, desk.today())
            found += faults(file.fleet(), file.history())
    except UnusableFileError:
        if not found:  # what is told already may be why
            raise
    return found, of_file


def _odd(desk: Desk, file: FleetFile) -> list[Fault]:
    """What can be and is worth a look."""
    from fleetcare.store.beside import copies_beside
    from fleetcare.store.looks import clock_doubts
    from fleetcare.usage.doubts import doubts

    with file.reading():
        fleet = file.fleet()
        odd = doubts(fleet, file.history(), desk.book(fleet))
        beside = copies_beside(desk.path(), file.connection)
        return [*clock_doubts(file.connection), *beside, *odd]


def _values(kind: str, item: Fault) -> dict[str, str]:
    return {"kind": kind, "where": item.where, "what": item.what, "mend": item.mend}


def _error(found: list[Fault], of_file: bool) -> Exception:
    from fleetcare.errors import FaultsError
    from fleetcare.store.integrity import DamagedError

    return DamagedError(found) if of_file else FaultsError(found)
