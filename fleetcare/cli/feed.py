"""fleetcare feed: the due list as a calendar."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options


@click.group()
def feed() -> None:
    """Calendar feeds: the due list where people already look."""


@feed.command()
@fleet_options
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@as_of
@click.option(
    "--alarm",
    is_flag=False,
    flag_value="day-before",
    type=click.Choice(["day-before", "same-day"]),
    help="Ring at 09:00, the day before or the same day.",
)
@click.option("--name", metavar="TEXT", help="What calendars show as its name.")
@pass_desk
def write(desk: Desk, file: Path, as_of: date, alarm: str | None, name: str | None) -> None:
    """Write the fleet's jobs as all-day events into an iCalendar file.

    Events keep their identity when they move. For today the fleet file remembers what was sent;
    with another --as-of it neither reads nor changes that.

    Example: fleetcare feed write fleet.ics
    """
    from fleetcare.store.files import write_whole

    content, count = _content(desk, as_of, alarm, name)
    changed = write_whole(file, content)
    click.echo(f"{file}: {count} events{'' if changed else ', unchanged'}.")


def _content(desk: Desk, as_of: date, alarm: str | None, name: str | None) -> tuple[bytes, int]:
    """The feed's bytes and how many events it holds; for today what was sent is kept."""
    from fleetcare.cli.looking import view
    from fleetcare.share.feeds import settle
    from fleetcare.show.calendar import calendar
    from fleetcare.show.events import calendar_note, event_uid, events_of, unsettled

    seen = view(desk, as_of, words=False)
    rules = {
        engine.name: seen.book.set_of(engine.rules or seen.fleet.settings.rules)
        for engine in seen.fleet.engines.values()
    }
    events = events_of(seen.rows, seen.fleet.id, as_of, rules=rules)
    if as_of == desk.today():
        with desk.open() as file:
            events = settle(file, events, as_of, desk.now())
    else:
        events = unsettled(events, as_of)
    title = name or seen.fleet.settings.calendar_name or "Outboard jobs"
    uid = event_uid(seen.fleet.id, "calendar")
    note = calendar_note(seen.rows, as_of)
    return calendar(
        events, title, note, as_of, alarm=alarm and alarm.replace("-", " "), uid=uid
    ), len(events)
