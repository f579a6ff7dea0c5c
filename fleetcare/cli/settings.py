"""fleetcare settings: what holds for the whole fleet."""

from __future__ import annotations

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options


@click.command()
@fleet_options
@click.argument("name", required=False)
@click.argument("value", required=False)
@pass_desk
def settings(desk: Desk, name: str | None, value: str | None) -> None:
    """Show the fleet's settings, or set one.

    Example: fleetcare settings season 04-04/10-11
    """
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.settings import Settings, changed
    from fleetcare.store.append import set_value

    with desk.open() as file:
        fleet = file.fleet()
        if value is None:
            for key, now in as_pairs(fleet.settings):
                if name in (None, key):
                    click.echo(f"{key} = {now or '(not set)'}    {MEANINGS[key]}")
            return
        after = changed(fleet.settings, name or "", value)
        if isinstance(after, Fault):
            raise RefusedError(str(after))
        if name == "rules":
            _known(desk, value)
        with file.writing() as connection:
            set_value(connection, name or "", value)
    click.echo(f"{name} = {value}")


def _known(desk: Desk, name: str) -> None:
    """Refuse a rule set that is not there."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean
    from fleetcare.rules.shipped import all_texts

    with desk.open() as file:
        texts = all_texts(desk.own_rules(file.fleet()))
    if name not in texts:
        hint = did_you_mean(name, texts) or f"There are {', '.join(sorted(texts))}."
        raise RefusedError(f'no rule set "{name}". {hint}')
