"""fleetcare feed write: one feed into a file."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.feed_of import WithAudience, alarm_option, of_option
from fleetcare.cli.options import as_of, fleet_options
from fleetcare.cli.paper import STDOUT

if TYPE_CHECKING:
    from fleetcare.share.feeds import Feed


@click.command(cls=WithAudience, short_help="Write one feed into an iCalendar file.")
@fleet_options
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@of_option(required=False)
@as_of
@alarm_option
@click.option("--name", metavar="TEXT", help="What calendars show as its name.")
@pass_desk
def write(
    desk: Desk, file: Path, words: str, as_of: date, alarm: str | None, name: str | None
) -> None:
    """Write the fleet's jobs, or a part of them, as all-day events into an iCalendar file.

    Events keep their identity when they move. For today the fleet file remembers what was sent;
    with another --as-of it neither reads nor changes that. As FILE, - stands for stdout.

    Example: fleetcare feed write fleet.ics
    """
    from fleetcare.store.files import write_whole

    feed = _feed(desk, words, as_of)
    content = feed.content(name or "", alarm and alarm.replace("-", " "))
    if str(file) == STDOUT:
        sys.stdout.buffer.write(content)
        sys.stdout.flush()
        return
    changed = write_whole(file, content)
    click.echo(f"{file}: {len(feed.events)} events{'' if changed else ', unchanged'}.")


def _feed(desk: Desk, words: str, as_of: date) -> Feed:
    """The feed; for today what was sent is kept."""
    from fleetcare.cli.feed_of import audience_of, look_at
    from fleetcare.share.feeds import current, settled_feeds, unsettled_feed

    with desk.open() as file:
        audience = audience_of(desk, file.fleet(), words)
        if as_of != desk.today():
            return unsettled_feed(look_at(desk, as_of), audience)
        return current(
            file,
            lambda: look_at(desk, as_of),
            lambda connection, seen: settled_feeds(connection, seen, [audience], desk.now()),
        )[audience]
