"""fleetcare new: a fleet file."""

from __future__ import annotations

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options


@click.command(short_help="Make a new fleet file.")
@fleet_options
@click.option(
    "--hemisphere", type=click.Choice(["northern", "southern", "tropics"]), help="Where you are."
)
@click.option("--rules", metavar="SET", help="The rule set of engines that name none.")
@click.option("--season", metavar="MM-DD/MM-DD", help="First and last day of your season.")
@click.option("--fuel-unit", type=click.Choice(["litres", "US gallons"]), help="Unit of fuel.")
@click.option("--by", metavar="ROLE", help="How entries are signed without --by.")
@pass_desk
def new(desk: Desk, /, **given: str | None) -> None:
    """Make a new fleet file; on a terminal it asks, in a script it takes options and defaults.

    Example: fleetcare new --hemisphere northern --rules hire
    """
    from fleetcare.rules.shipped import all_texts
    from fleetcare.store.append import set_fleet_id, set_value
    from fleetcare.store.fleet_file import FleetFile

    values = _settings(desk, given, sorted(all_texts(desk.path().parent / "intervals")))
    with FleetFile.make(desk.path()) as file, file.writing() as connection:
        set_fleet_id(connection, _fresh_id())
        for name, value in values.items():
            set_value(connection, name, value)
    click.echo(f"new fleet at {desk.path()}: {', '.join(f'{k} {v}' for k, v in values.items())}")
    desk.note("Next: fleetcare boat add NAME, fleetcare engine add NAME --boat BOAT")


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
