"""The plan that is kept, for the commands that only look at it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from fleetcare.plan.records import Plan
    from fleetcare.store.fleet_file import FleetFile

UNREADABLE = (
    "The plan that was kept cannot be read by this version; it counts as none. "
    "A new one: fleetcare plan --fix"
)


def kept_plan(file: FleetFile) -> Plan | None:
    """The kept plan of an open fleet file, or None; one of a broken form is said so on stderr."""
    from fleetcare.plan.kept import from_text
    from fleetcare.store.plans import fetch_plan

    with file.reading():
        found = fetch_plan(file.connection)
    if found is None:
        return None
    try:
        return from_text(found[1])
    except (ValueError, TypeError, KeyError, AttributeError):
        click.echo(UNREADABLE, err=True)
        return None
