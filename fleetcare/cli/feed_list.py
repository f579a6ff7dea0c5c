"""fleetcare feed list, revoke: who has a feed, and ending one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.feed_of import folder_option
from fleetcare.cli.options import fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.share.subscribers import Subscriber

KEYS = ("name", "audience", "alarm", "made", "handle")


@click.command("list", short_help="Who has a feed, and of what.")
@fleet_options
@format_option
@pass_desk
def list_(desk: Desk, form: str) -> None:
    """Who has a feed, and of what. An address is never shown again: its handle tells it apart.

    Example: fleetcare feed list
    """
    from fleetcare.cli.looking import printed
    from fleetcare.share.subscribers import subscribers

    with desk.open() as file, file.reading():
        fleet = file.fleet()
        everyone = subscribers(file.connection, fleet)
    rows = [_values(each, fleet) for each in everyone]
    if not rows and form == "table":
        click.echo("nobody has a feed yet (fleetcare feed add NAME --of fleet)")
        return
    printed(form, lambda: rows, desk.today(), KEYS, lambda: _table(rows, desk.width()))


def _values(each: Subscriber, fleet: Fleet) -> dict[str, Any]:
    from fleetcare.share.audiences import shown

    return {
        "name": each.name,
        "audience": shown(each.audience, fleet),
        "alarm": each.alarm or None,
        "made": each.made,
        "handle": each.handle,
    }


def _table(rows: list[dict[str, Any]], width: int) -> str:
    from fleetcare.show.table import table

    cells = [
        [row["name"], row["audience"], row["alarm"] or "none", row["made"][:10], row["handle"]]
        for row in rows
    ]
    return table(("Name", "Audience", "Alarm", "Made", "Handle"), cells, width, (0, 1))


@click.command(short_help="End a subscriber's feed at once.")
@fleet_options
@click.argument("name")
@folder_option
@pass_desk
def revoke(desk: Desk, name: str, folder: Path | None) -> None:
    """End a subscriber's feed at once: its address is nobody's any more, its file is removed.

    Example: fleetcare feed revoke jetty
    """
    from fleetcare.cli.feed_of import folder_of
    from fleetcare.share.publishing import revoke as revoke_subscriber

    with desk.open() as file:
        place = folder_of(file.fleet(), folder)
        gone, removed = revoke_subscriber(file, name, place)
    was = f"; its file in {place} is removed" if removed else ""
    click.echo(f"revoked {gone.name}{was}")
