"""fleetcare feed add, renew: a feed at a secret address, told once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.feed_of import WithAudience, alarm_option, folder_option, of_option
from fleetcare.cli.feed_qr import needs_address, qr_option, show_code
from fleetcare.cli.options import fleet_options

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet

ONCE = "Their address is told only now; whoever has it can read the feed:"


@click.command(cls=WithAudience, short_help="Give someone a feed at a secret address.")
@fleet_options
@click.argument("name")
@of_option(required=True)
@folder_option
@alarm_option
@qr_option
@pass_desk
def add(
    desk: Desk, name: str, words: str, folder: Path | None, alarm: str | None, qr: Path | None
) -> None:
    """Give someone a feed at a secret address, which is shown once and never kept.

    With a folder (--publish-to, or the setting publish_folder) the feed's file is written there
    at once, and fleetcare feed publish keeps it up to date.

    Example: fleetcare feed add jetty --of boat "Boat 11"
    """
    from fleetcare.cli.feed_of import audience_of, folder_of, look_at
    from fleetcare.share.audiences import shown
    from fleetcare.share.publishing import add as add_subscriber

    with desk.open() as file:
        fleet = file.fleet()
        needs_address(fleet, qr)
        audience, place = audience_of(desk, fleet, words), folder_of(fleet, folder)
        who = (name, audience, alarm.replace("-", " ") if alarm else "")
        new, token = add_subscriber(
            file, lambda: look_at(desk, desk.today()), who, place, desk.now()
        )
        fleet = file.fleet()
    click.echo(f"added {new.name}: {shown(audience, fleet)}, handle {new.handle}")
    _tell(desk, fleet, token, place, qr)


@click.command(short_help="Give a subscriber a new address; the old one ends at once.")
@fleet_options
@click.argument("name")
@folder_option
@qr_option
@pass_desk
def renew(desk: Desk, name: str, folder: Path | None, qr: Path | None) -> None:
    """Give a subscriber a new address; the old one ends at once, the others stay as they are.

    Example: fleetcare feed renew jetty
    """
    from fleetcare.cli.feed_of import folder_of, look_at
    from fleetcare.share.publishing import renew as renew_subscriber

    with desk.open() as file:
        fleet = file.fleet()
        needs_address(fleet, qr)
        place = folder_of(fleet, folder)
        new, token = renew_subscriber(
            file, lambda: look_at(desk, desk.today()), name, place, desk.now()
        )
        fleet = file.fleet()
    click.echo(f"renewed {new.name}, handle {new.handle}; the old address is gone")
    _tell(desk, fleet, token, place, qr)


def _tell(desk: Desk, fleet: Fleet, token: str, folder: Path | None, qr: Path | None) -> None:
    """Show the address, this once."""
    click.echo(ONCE)
    name, base = f"{token}.ics", fleet.settings.feed_address
    if base:
        address = f"{base.rstrip('/')}/{name}"
        subscribe = f"webcal:{address.partition(':')[2]}"
        click.echo(f"  {address}\n  {subscribe}")
        show_code(desk, subscribe, qr)
    elif folder is not None:
        click.echo(f"  {folder / name}")
        desk.note(
            "On the web it is your server's address of that folder, and that name. "
            "fleetcare settings feed_address https://… shows it whole next time"
        )
    else:
        click.echo(f"  {name}")
    if folder is None:
        desk.note(
            "It is in no folder: only fleetcare feed serve can hand it out. "
            "With --publish-to DIR any web server can"
        )
