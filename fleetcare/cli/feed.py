"""fleetcare feed: the due list as calendars, and who gets them."""

from __future__ import annotations

import click

from fleetcare.cli.commands import Commands

# Name, module.attribute, summary, in the order of use; loaded when asked for.
SUBCOMMANDS: tuple[tuple[str, str, str], ...] = (
    ("write", "feed_write.write", "Write one feed into an iCalendar file."),
    ("add", "feed_add.add", "Give someone a feed at a secret address."),
    ("list", "feed_list.list_", "Who has a feed, and of what."),
    ("renew", "feed_add.renew", "Give a subscriber a new address; the old one ends at once."),
    ("revoke", "feed_list.revoke", "End a subscriber's feed at once."),
    ("publish", "feed_publish.publish", "Bring every subscriber's file in a folder up to date."),
    ("serve", "feed_serve.serve", "Hand feeds out from here, while it runs."),
    ("push", "feed_push.push", "Put jobs as to-dos on a calendar server (CalDAV)."),
    ("collect", "feed_collect.collect", "Log what was ticked off on a calendar server."),
)


class Feeds(click.Group):
    """The group of the feed commands, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The subcommands, in the order of use."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the subcommands out of the table, without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, _, summary in SUBCOMMANDS])


@click.group(cls=Feeds, commands=Commands(SUBCOMMANDS))
def feed() -> None:
    """Calendar feeds: the due list where people already look."""
