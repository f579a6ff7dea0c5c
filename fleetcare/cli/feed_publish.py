"""fleetcare feed publish: everyone's file, for any web server."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options


@click.command(short_help="Bring every subscriber's file in a folder up to date.")
@fleet_options
@click.argument("folder", required=False, type=click.Path(path_type=Path, file_okay=False))
@as_of
@pass_desk
def publish(desk: Desk, folder: Path | None, as_of: date) -> None:
    """Bring every subscriber's file in a folder up to date, for any web server to hand out.

    Each file is replaced in one step, and left alone when nothing in it changed. Files of
    addresses that nobody holds are removed; other files are never touched. Run it nightly, since
    time passes without anyone typing.

    Example: fleetcare feed publish feeds
    """
    from fleetcare.cli.feed_of import folder_of, look_at, quoted
    from fleetcare.errors import RefusedError
    from fleetcare.share.publishing import publish as publish_feeds
    from fleetcare.show.event_words import counted

    with desk.open() as file:
        place = folder_of(file.fleet(), folder)
        if place is None:
            raise RefusedError("no folder to publish into: fleetcare feed publish DIR")
        now = desk.now() if as_of == desk.today() else None
        done = publish_feeds(file, lambda: look_at(desk, as_of), place, now)
        known = file.fleet().settings.publish_folder
    feeds = counted(done.written + done.unchanged, "feed")
    removed = f", {done.removed} removed that nobody holds" if done.removed else ""
    click.echo(f"{place}: {feeds}, {done.written} changed{removed}.")
    where = "" if known == str(place) else f" --publish-to {quoted(str(place))}"
    for name in done.missing:
        desk.note(
            f'"{name}" has no file there, and its address is kept nowhere else. '
            f"A new one: fleetcare feed renew {quoted(name)}{where}"
        )
