"""fleetcare lay-up and fleetcare launch: the season's end and start."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.log.history import History


@click.command("lay-up")
@fleet_options
@dry_run
@click.argument("engines", nargs=-1, metavar="ENGINE...")
@click.option("--all", "whole", is_flag=True, help="Every engine that is not laid up.")
@written_on
@pass_desk
def lay_up(
    desk: Desk, engines: tuple[str, ...], whole: bool, on: date, by: str | None, note: str
) -> None:
    """Lay engines up for the winter. They keep ageing by the calendar.

    Example: fleetcare lay-up OB-01 OB-02
    """
    _log_season(desk, "lay-up", engines, whole, on, by, note)


@click.command()
@fleet_options
@dry_run
@click.argument("engines", nargs=-1, metavar="ENGINE...")
@click.option("--all", "whole", is_flag=True, help="Every engine that is laid up.")
@written_on
@pass_desk
def launch(
    desk: Desk, engines: tuple[str, ...], whole: bool, on: date, by: str | None, note: str
) -> None:
    """Launch engines for the season.

    Example: fleetcare launch --all
    """
    _log_season(desk, "launch", engines, whole, on, by, note)


def _log_season(
    desk: Desk, what: str, engines: tuple[str, ...], whole: bool, on: date, by: str | None,
    note: str,
) -> None:  # fmt: skip
    from fleetcare.cli.effects import season_list, state
    from fleetcare.errors import RefusedError
    from fleetcare.log.entries import Launch, LayUp
    from fleetcare.show.table import wrapped

    kind = LayUp if what == "lay-up" else Launch
    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
        names = _chosen(fleet, history, engines, whole, laid_up=what == "launch")
        if not names:
            raise RefusedError(f"no engine to {what.replace('-', ' ')}: name some, or --all")
        entries: list[Entry] = [
            kind(on=on, by=desk.by(fleet, by), note=note, engine=name) for name in names
        ]
        book, today = desk.book(fleet, words=True), desk.today()
        before = state(file, book, names, today)
        desk.store(file, entries)
        after = before if desk.dry_run else state(file, book, names, today)
        for line in season_list(before, after, what):
            click.echo(wrapped(line, desk.width()))
    done = "laid up" if what == "lay-up" else "launched"
    would = "would be " if desk.dry_run else ""
    desk.note(f"{len(names)} {'engine' if len(names) == 1 else 'engines'} {would}{done} on {on}.")


def _chosen(
    fleet: Fleet, history: History, engines: tuple[str, ...], whole: bool, laid_up: bool
) -> list[str]:
    """The engines named, refused when already so; or all that are not yet."""
    from fleetcare.errors import RefusedError
    from fleetcare.usage.places import is_laid_up

    if whole:
        return [
            name for name in fleet.engines
            if is_laid_up(history, name) is laid_up and history.of(name).retired is None
        ]  # fmt: skip
    names = list(dict.fromkeys(fleet.engine(engine).name for engine in engines))
    for name in names:
        if is_laid_up(history, name) is not laid_up:
            state = "is not laid up" if laid_up else "is laid up already"
            raise RefusedError(f'engine "{name}" {state}; nothing was stored')
    return names
