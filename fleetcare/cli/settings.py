"""fleetcare settings: what holds for the whole fleet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.fleet.settings import Settings


@click.command()
@fleet_options
@dry_run
@click.argument("name", required=False)
@click.argument("value", required=False)
@pass_desk
def settings(desk: Desk, name: str | None, value: str | None) -> None:
    """Show the fleet's settings, or set one.

    Example: fleetcare settings season 04-04/10-11
    """
    from fleetcare.cli.naming import known_set, zone_named
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.settings import MEANINGS, changed
    from fleetcare.rules.sets import read_set
    from fleetcare.rules.shipped import all_texts
    from fleetcare.store.append import set_value

    with desk.open() as file:
        fleet = file.fleet()
        after = changed(fleet.settings, name or "by", value or "")
        if isinstance(after, Fault) and (value is not None or name not in MEANINGS):
            known = "" if name in MEANINGS or after.mend else f". There are {', '.join(MEANINGS)}"
            raise RefusedError(f"{after}{known}")
        if value is None:
            click.echo(_shown(fleet.settings, name, desk.width()))
            return
        if name == "rules":
            texts = all_texts(desk.own_rules(fleet))
            read_set(known_set(value, texts), texts)
        if name == "timezone":
            zone_named(value)
        with file.writing(keep=not desk.dry_run) as connection:
            set_value(connection, name or "", value)
    click.echo(f"{'would set ' if desk.dry_run else ''}{name} = {value}")


def _shown(settings: Settings, name: str | None, width: int) -> str:
    """The settings and what they mean, or one of them."""
    from fleetcare.fleet.settings import MEANINGS, as_pairs
    from fleetcare.show.table import table

    rows = [
        [key, now or "(not set)", MEANINGS[key]]
        for key, now in as_pairs(settings)
        if name in (None, key)
    ]
    return table(("Setting", "Value", "Meaning"), rows, width, (2, 1))
