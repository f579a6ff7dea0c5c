"""fleetcare feed collect: tick-offs on a calendar server into the log."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.feed_push import server_of, server_options
from fleetcare.cli.options import DAY, dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.share.collect import Taken

SIGNED = "calendar"  # who ticked it off, where neither the server nor --by says


@click.command(short_help="Log what was ticked off on a calendar server.")
@fleet_options
@dry_run
@server_options
@click.option("--by", metavar="ROLE", help="Who, where the server does not say.")
@click.option("--on", type=DAY, metavar="DATE", help="The day, where the server tells none.")
@pass_desk
def collect(
    desk: Desk, url: str, user: str, unencrypted: bool, by: str | None, on: date | None
) -> None:
    """Log the jobs whose to-dos were ticked off on a calendar server, each once.

    The day is the tick-off's own. A deleted to-do is not a done one. Jobs the log refuses are
    told by name, and told again until they are answered. Jobs for trained hands are logged too,
    and said to be.

    Example: fleetcare feed collect https://calendar.example/jobs/ --user jetty
    """
    from fleetcare.cli.effects import changes, state
    from fleetcare.cli.naming import rules_of, zone_named
    from fleetcare.errors import PartlyTakenError
    from fleetcare.share.collect import REFUSED, Collector
    from fleetcare.show.event_words import counted

    found: list[Taken] = []
    with desk.open() as file, server_of(desk, url, user, unencrypted) as server:
        fleet = file.fleet()
        book = desk.book(fleet, words=True)
        before = state(file, book, fleet.engines, desk.today())

        def told(taken: Taken) -> None:
            found.append(taken)
            _say(desk, fleet, book, taken)

        server.check()
        Collector(
            file, server, zone_named(fleet.settings.timezone), desk.today(), desk.stamp(),
            by or SIGNED, lambda engine: frozenset(rules_of(fleet, book, engine).rules),
            on, desk.dry_run,
        ).collect(told)  # fmt: skip
        logged = [taken.job for taken in found if taken.job and taken.what == "logged"]
        if logged and not desk.dry_run:
            tasks = {job.task for job in logged}
            after = state(file, book, fleet.engines, desk.today())
            for line in changes(before, after, tasks, desk.today()):
                if any(line.strip().startswith(job.engine) for job in logged):
                    click.echo(line)
    would = "would be " if desk.dry_run else ""
    click.echo(f"{server.host}: {counted(len(logged), 'tick-off')} {would}logged.")
    refused = sum(taken.what == REFUSED for taken in found)
    if refused:
        raise PartlyTakenError(f"{counted(refused, 'tick-off')} refused, as named above")


def _say(desk: Desk, fleet: Fleet, book: RuleBook, taken: Taken) -> None:
    from fleetcare.cli.naming import rules_of
    from fleetcare.share.collect import LOGGED
    from fleetcare.show.log_text import entry_words

    if taken.what != LOGGED or taken.job is None:
        click.echo(f"{taken.what}  {taken.title}: {taken.words}")
        return
    desk.say_stored(taken.entry or 0, f"{taken.job.on} {entry_words(taken.job)}")
    rule = rules_of(fleet, book, taken.job.engine).rules[taken.job.task]
    if rule.who != "anyone":
        who = "someone trained" if rule.who == "trained" else f"a {rule.who}"
        by = taken.job.by
        click.echo(f"  {rule.name} is for {who}; ticked off by {by}. Was it done by the book?")
