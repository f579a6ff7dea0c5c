"""The plan that is kept, for the commands that only look at it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from datetime import date

    from fleetcare.plan.records import Plan
    from fleetcare.store.fleet_file import FleetFile

UNREADABLE = (
    "The plan that was kept cannot be read by this version; it counts as none. "
    "A new one: fleetcare plan --fix"
)


def kept_plan(file: FleetFile, as_of: date | None = None) -> Plan | None:
    """The kept plan of an open fleet file, or None; one of a broken form is said so on stderr.

    One made after the day that is looked at is not known then.
    """
    from fleetcare.plan.kept import from_text
    from fleetcare.store.plans import fetch_plan

    with file.reading():
        found = fetch_plan(file.connection)
    if found is None or (as_of is not None and found[0] > as_of.toordinal()):
        return None
    try:
        return from_text(found[1])
    except (ValueError, TypeError, KeyError, AttributeError):
        click.echo(UNREADABLE, err=True)
        return None
