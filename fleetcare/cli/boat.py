"""fleetcare boat: hulls, their home water and use."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import DAY, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.store.fleet_file import FleetFile

WATERS = click.Choice(["fresh", "brackish", "salt"])


@click.group()
def boat() -> None:
    """Boats: add, show, list, move to other water, retire."""


@boat.command()
@fleet_options
@dry_run
@click.argument("name")
@click.option("--use", type=click.Choice(["hire", "club", "owner"]), help="What for.")
@click.option("--water", type=WATERS, required=True, help="Where it lies.")
@click.option("--place", default="", help="Its jetty or depot.")
@click.option(
    "--since", type=DAY, default="today", show_default=True, metavar="DATE", help="From when."
)
@click.option("--also", multiple=True, metavar="NAME", help="Another name it is known by.")
@pass_desk
def add(
    desk: Desk, name: str, use: str | None, water: str, place: str, since: date,
    also: tuple[str, ...],
) -> None:  # fmt: skip
    """Add a boat. Its use tells the hours to expect until its log does.

    Example: fleetcare boat add Lapwing --use hire --water fresh
    """
    from fleetcare.fleet.boats import Boat
    from fleetcare.fleet.names import tidy
    from fleetcare.fleet.waters import Water
    from fleetcare.store.append import add_boat

    with desk.open() as file:
        kind = use or _use(desk, file)
        made = Boat(
            tidy(name), kind, Water[water.upper()], since, tidy(place),
            tuple(map(tidy, also)),
        )  # fmt: skip
        with file.writing(keep=not desk.dry_run) as connection:
            add_boat(connection, made)
    guess = "" if use or desk.is_terminal() else " (assumed: --use hire, club or owner says it)"
    verb = "would add" if desk.dry_run else "added"
    click.echo(f"{verb} boat {made.name}: {kind}{guess}, {water} water")


def _use(desk: Desk, file: FleetFile) -> str:
    """The use of a boat: asked for on a terminal, in a script the one with the most hours."""
    from fleetcare.cli.boats_asked import ASSUMED_USE, asked_use, tell_uses, use_words

    fleet = file.fleet()
    uses = desk.book(fleet).uses
    if desk.is_terminal():
        tell_uses(desk, uses, fleet.settings)
        return asked_use(None)
    desk.note(f"Assumed {use_words(uses[ASSUMED_USE], fleet.settings)}.")
    return ASSUMED_USE


@boat.command("list")
@fleet_options
@pass_desk
def list_boats(desk: Desk) -> None:
    """List the boats.

    Example: fleetcare boat list
    """
    from fleetcare.show.table import table
    from fleetcare.usage.places import berths, boat_water

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
    today = desk.today().toordinal()
    on: dict[str | None, list[str]] = {}
    for engine in fleet.engines.values():
        on.setdefault(berths(engine, history)[-1].boat, []).append(engine.name)
    words = ("fresh", "brackish", "salt")
    rows = [
        [item.name, item.use, words[boat_water(fleet.boats, history, item.name).on(today)],
         item.place, ", ".join(on.get(item.name, []))]
        for item in fleet.boats.values()
        if item.name not in history.boats_retired
    ]  # fmt: skip
    click.echo(table(("Boat", "Use", "Water", "Place", "Engines"), rows, desk.width(), (4, 0)))


@boat.command()
@fleet_options
@click.argument("name")
@pass_desk
def show(desk: Desk, name: str) -> None:
    """Show one boat: its waters over time, the engines that were on it.

    Example: fleetcare boat show "Boat 11"
    """
    from fleetcare.usage.places import NEVER, berths, boat_water

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
    item = fleet.boat(name)
    click.echo(f"{item.name}: {item.use}, {item.place or 'no place given'}, since {item.since}")
    waters = boat_water(fleet.boats, history, item.name)
    for day, water in zip(waters.days, waters.waters, strict=True):
        start = date.fromordinal(day) if day else item.since
        click.echo(f"  {('fresh', 'brackish', 'salt')[water]} water from {start}")
    for engine in fleet.engines.values():
        for stay in berths(engine, history):
            if stay.boat == item.name:
                end = "now" if stay.last == NEVER else date.fromordinal(stay.last)
                click.echo(f"  {engine.name} from {date.fromordinal(stay.first)} to {end}")


@boat.command()
@fleet_options
@dry_run
@click.argument("name")
@click.argument("water", type=WATERS)
@written_on
@pass_desk
def move(desk: Desk, name: str, water: str, on: date, by: str | None, note: str) -> None:
    """Move a boat to another water, from a day on.

    Example: fleetcare boat move "Boat 11" brackish
    """
    from fleetcare.fleet.waters import Water
    from fleetcare.log.entries import Move

    with desk.open() as file:
        fleet = file.fleet()
        entry = Move(
            on=on, by=desk.by(fleet, by), note=note, boat=fleet.boat(name).name,
            water=Water[water.upper()],
        )  # fmt: skip
        desk.store(file, [entry])


@boat.command()
@fleet_options
@dry_run
@click.argument("name")
@written_on
@pass_desk
def retire(desk: Desk, name: str, on: date, by: str | None, note: str) -> None:
    """Take a boat out of the fleet; its history stays.

    Example: fleetcare boat retire Lapwing
    """
    from fleetcare.errors import RefusedError
    from fleetcare.log.entries import Retire
    from fleetcare.usage.places import berths

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
        item = fleet.boat(name)
        for engine in fleet.engines.values():
            on_it = berths(engine, history)[-1].boat == item.name
            if on_it and history.of(engine.name).retired is None:
                raise RefusedError(
                    f'"{engine.name}" is mounted on "{item.name}". First: fleetcare engine '
                    f'into-store "{engine.name}", or engine retire'
                )
        desk.store(file, [Retire(on=on, by=desk.by(fleet, by), note=note, boat=item.name)])
