"""fleetcare boat: hulls, their home water and use."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import DAY, dry_run, fleet_options, written_on

WATERS = click.Choice(["fresh", "brackish", "salt"])


@click.group()
def boat() -> None:
    """Boats: add, show, list, move to other water, retire."""


@boat.command()
@fleet_options
@dry_run
@click.argument("name")
@click.option(
    "--use", type=click.Choice(["hire", "club", "owner"]), required=True, help="What for."
)
@click.option("--water", type=WATERS, required=True, help="Where it lies.")
@click.option("--place", default="", help="Its jetty or depot.")
@click.option(
    "--since", type=DAY, default="today", show_default=True, metavar="DATE", help="From when."
)
@click.option("--also", multiple=True, metavar="NAME", help="Another name it is known by.")
@pass_desk
def add(
    desk: Desk, name: str, use: str, water: str, place: str, since: date, also: tuple[str, ...]
) -> None:
    """Add a boat.

    Example: fleetcare boat add Lapwing --use hire --water fresh
    """
    from fleetcare.fleet.boats import Boat
    from fleetcare.fleet.names import tidy
    from fleetcare.fleet.waters import Water, water_of
    from fleetcare.store.append import add_boat

    made = Boat(
        tidy(name), use, water_of(water) or Water.FRESH, since, tidy(place), tuple(map(tidy, also))
    )
    with desk.open() as file, file.writing(keep=not desk.dry_run) as connection:
        add_boat(connection, made)
    click.echo(f"{'would add' if desk.dry_run else 'added'} boat {made.name}: {use}, {water} water")


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
    from fleetcare.fleet.waters import Water, water_of
    from fleetcare.log.entries import Move

    with desk.open() as file:
        fleet = file.fleet()
        entry = Move(
            on=on, by=desk.by(fleet, by), note=note, boat=fleet.boat(name).name,
            water=water_of(water) or Water.SALT,
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
