"""fleetcare swap: two engines exchange a component."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options, written_on


@click.command(short_help="Two engines exchange components, history and all.")
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("other")
@click.argument("components", nargs=-1, required=True, metavar="COMPONENT...")
@written_on
@pass_desk
def swap(
    desk: Desk, engine: str, other: str, components: tuple[str, ...], on: date, by: str | None,
    note: str,
) -> None:  # fmt: skip
    """Two engines exchange components; wear and history go with the part.

    COMPONENT is powerhead, mid-section, gearcase, carburettor, ignition, fuel pump or lower
    cowling. A loose spare is an engine in store.

    Example: fleetcare swap OB-19 "Spare B" gearcase
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.components import COMPONENTS
    from fleetcare.fleet.names import did_you_mean
    from fleetcare.log.entries import Entry, Swap

    for component in components:
        if component not in COMPONENTS:
            hint = did_you_mean(component, COMPONENTS) or f"One of: {', '.join(COMPONENTS)}."
            raise RefusedError(f'"{component}" is no component. {hint}')
    with desk.open() as file:
        fleet = file.fleet()
        names = fleet.engine(engine).name, fleet.engine(other).name
        entries: list[Entry] = [
            Swap(
                on=on, by=desk.by(fleet, by), note=note, engine=names[0], other=names[1],
                component=component,
            )
            for component in components
        ]  # fmt: skip
        log_and_tell(desk, file, desk.book(fleet, words=True), entries)
