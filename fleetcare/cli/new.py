"""fleetcare new: a fleet file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options

if TYPE_CHECKING:
    from fleetcare.store.fleet_file import FleetFile
    from fleetcare.store.sent import Connection


@click.command(short_help="Make a new fleet file.")
@fleet_options
@click.option(
    "--hemisphere", type=click.Choice(["northern", "southern", "tropics"]), help="Where you are."
)
@click.option("--rules", metavar="SET", help="The rule set of engines that name none.")
@click.option("--season", metavar="MM-DD/MM-DD", help="First and last day of your season.")
@click.option("--fuel-unit", type=click.Choice(["litres", "US gallons"]), help="Unit of fuel.")
@click.option("--by", metavar="ROLE", help="How entries are signed without --by.")
@click.option("--boat", "boats", multiple=True, metavar="NAME,USE,WATER", help="A boat (repeat).")
@pass_desk
def new(desk: Desk, /, boats: tuple[str, ...], **given: str | None) -> None:
    """Make a new fleet file; on a terminal it asks, in a script it takes options and defaults.

    On a terminal it goes on to ask for the boats: name, use, home water and engine. USE is hire,
    club or owner, and tells the hours to expect until the log does.

    Example: fleetcare new --hemisphere northern --rules hire
    """
    from fleetcare.cli.boats_asked import added_words, given_boat
    from fleetcare.rules.shipped import all_texts
    from fleetcare.store.append import add_boat, set_fleet_id, set_value
    from fleetcare.store.fleet_file import FleetFile

    values = _settings(desk, given, sorted(all_texts(desk.path().parent / "intervals")))
    named = [given_boat(text, desk.today()) for text in boats]
    _refuse_twice([boat.name for boat, _ in named])

    def fill(connection: Connection) -> None:
        set_fleet_id(connection, _fresh_id())
        for name, value in values.items():
            set_value(connection, name, value)
        for boat, _ in named:
            add_boat(connection, boat)

    with FleetFile.make(desk.path(), fill) as file:
        settings = ", ".join(f"{name} {value}" for name, value in values.items())
        click.echo(f"new fleet at {desk.path()}: {settings}")
        for boat, assumed in named:
            click.echo(added_words(boat, assumed))
        _uses_assumed(desk, file, [assumed for _, assumed in named])
        count = len(named)
        if desk.is_terminal() and not named:
            count = _asked(desk, file)
    _next(desk, count, bool(named))


def _refuse_twice(names: list[str]) -> None:
    """Refuse a boat named twice, before a file is made."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import folded, wrong_with

    seen: set[str] = set()
    for name in names:
        wrong = wrong_with(name)
        if wrong:
            raise RefusedError(f'boat name "{name:.60}" {wrong}; choose another')
        if folded(name) in seen:
            raise RefusedError(f'boat "{name}" is given twice')
        seen.add(folded(name))


def _uses_assumed(desk: Desk, file: FleetFile, assumed: list[list[str]]) -> None:
    """What a use that was left out assumes."""
    from fleetcare.cli.boats_asked import ASSUMED_USE, WRONG_USE, use_words

    if any("use" in words for words in assumed):
        fleet = file.fleet()
        words = use_words(desk.book(fleet).uses[ASSUMED_USE], fleet.settings)
        desk.note(f"Assumed {words}. {WRONG_USE}")


def _asked(desk: Desk, file: FleetFile) -> int:
    """Boats and engines, asked for; how many boats were added."""
    from fleetcare.cli.boats_asked import AskingBoats

    fleet = file.fleet()
    return AskingBoats(desk, file).run(desk.book(fleet).uses, fleet.settings)


def _next(desk: Desk, boats: int, only_boats: bool) -> None:
    if not boats:
        desk.note("Next: fleetcare boat add NAME, fleetcare engine add NAME --boat BOAT")
    elif only_boats:
        desk.note("Next: fleetcare engine add NAME --boat BOAT")
    else:
        desk.note("Next: fleetcare due. What is known of the past: fleetcare done ENGINE TASK --on")


def _fresh_id() -> str:
    import uuid

    return str(uuid.uuid4())


def _settings(desk: Desk, given: dict[str, str | None], sets: list[str]) -> dict[str, str]:
    """The settings given, asked for on a terminal, or left at their defaults."""
    from fleetcare.cli.naming import known_set
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.settings import Settings, changed

    values = {name: value for name, value in given.items() if value is not None}
    if desk.is_terminal():
        if "hemisphere" not in values:
            places = click.Choice(["northern", "southern", "tropics"])
            values["hemisphere"] = click.prompt("Hemisphere", type=places, default="northern")
        if "rules" not in values:
            values["rules"] = click.prompt(
                "Rule set", type=click.Choice(sets), default="small-petrol"
            )
    values = {"hemisphere": "northern", "rules": "small-petrol", **values}
    for name, value in values.items():
        after = changed(Settings(), name, value)
        if isinstance(after, Fault):
            raise RefusedError(str(after))
    known_set(values["rules"], sets)
    return values
