"""fleetcare bookings: busy days of boats out of other people's calendars."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.feed_push import server_of, sign_in_options
from fleetcare.cli.options import ANY_DAY, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.fleet.booked import Bookings
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.share.caldav_server import Server

AHEAD_DAYS = 60
DAY = timedelta(days=1)
EMPTY = b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"  # what a server without events comes to


@click.command()
@fleet_options
@click.argument("sources", nargs=-1, required=True, metavar="FILE.ics|URL...")
@click.option(
    "--from", "first", type=ANY_DAY, default="today", show_default=True, metavar="DATE",
    help="The first day to look at.",
)  # fmt: skip
@click.option(
    "--to", "last", type=ANY_DAY, metavar="DATE", help="The last day (default: 60 days on)."
)
@sign_in_options
@format_option
@pass_desk
def bookings(
    desk: Desk, sources: tuple[str, ...], first: date, last: date | None, user: str,
    unencrypted: bool, form: str,
) -> None:  # fmt: skip
    """What other calendars say of the boats' days.

    Shows what was understood, by boat, and what was not. A calendar is an .ics file, or the
    address of one on a CalDAV server. An event books every boat that its title, place, categories
    or resources name; where it names none, the one in the calendar's own name. What cannot be
    read or reached is unknown, never free.

    Example: fleetcare bookings hires.ics --to 2026-12-31
    """
    from fleetcare.cli.looking import printed
    from fleetcare.show.booked import booked_rows, booked_table, misread_lines, misread_values

    last = first + timedelta(days=AHEAD_DAYS) if last is None else last
    with desk.open() as file:
        fleet = file.fleet()
    found = read_bookings(
        fleet, sources, first, last, lambda url: server_of(desk, url, user, unencrypted)
    )
    if form == "json":
        from fleetcare.show.values import as_json

        more = {"from": first.isoformat(), "to": last.isoformat()}
        misread = [misread_values(item) for item in found.misread]
        click.echo(as_json(booked_rows(found), desk.today(), **more, misread=misread))
        return
    head = ("boat", "booked", "tentative", "unknown")
    printed(
        form, lambda: booked_rows(found), desk.today(), head,
        lambda: booked_table(found, desk.width()),
    )  # fmt: skip
    for line in misread_lines(found, desk.width()):
        click.echo(line, err=form != "table")


def read_bookings(
    fleet: Fleet, sources: Iterable[Path | str], first: date, last: date,
    server: Callable[[str], Server] | None = None,
) -> Bookings:  # fmt: skip
    """The busy days that several calendars tell together; refused when a file is not there.

    `server` opens a calendar on a server; one that cannot be reached leaves every boat unknown.
    """
    from fleetcare.cli.naming import zone_named
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.booked import merged
    from fleetcare.share.bookings import MOST_DAYS, busy_days, lost

    if last < first or (last - first).days >= MOST_DAYS:
        raise RefusedError(
            f"bookings from {first} to {last}: takes 1 to {MOST_DAYS} days, the first day first"
        )
    zone = zone_named(fleet.settings.timezone)
    names = [str(source) for source in sources]
    online = [name for name in names if server and name.startswith(("https://", "http://"))]
    missing = [name for name in names if name not in online and not Path(name).is_file()]
    if missing:
        raise RefusedError(f"there is no file {', '.join(missing)}")
    parts = []
    for name in names:
        if server is None or name not in online:
            parts.append(busy_days(Path(name), fleet, first, last, zone))
            continue
        with server(name) as calendar:
            try:
                calendar.check("VEVENT")
                content = calendar.events(first - DAY, last + 2 * DAY)
                parts.append(busy_days(content or EMPTY, fleet, first, last, zone, calendar.url))
            except RefusedError as error:
                parts.append(lost(fleet, first, last, zone, calendar.url, str(error)))
    return merged(parts, first.toordinal(), last.toordinal())
