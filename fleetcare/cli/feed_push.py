"""fleetcare feed push: jobs as to-dos on a calendar server."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.share.caldav_server import Server

PASSWORD = "FLEETCARE_CALDAV_PASSWORD"
F = TypeVar("F", bound=Callable[..., Any])


def sign_in_options(command: F) -> F:
    """--user, --unencrypted: who asks a calendar server, and how."""
    command = click.option(
        "--unencrypted", is_flag=True, help="Allow http:// to another machine than this one."
    )(command)
    return click.option("--user", metavar="NAME", default="", help="The server's user.")(command)


def server_options(command: F) -> F:
    """URL, --user, --unencrypted: which calendar, and who asks."""
    return click.argument("url")(sign_in_options(command))


def server_of(desk: Desk, url: str, user: str, unencrypted: bool) -> Server:
    """The calendar; its password comes from the environment or is asked for, and kept nowhere."""
    import os

    from fleetcare.errors import RefusedError
    from fleetcare.share.caldav_server import Server, address

    place = address(url, unencrypted)
    password = os.environ.get(PASSWORD, "") if user else ""
    if user and not password:
        if not desk.is_terminal():
            raise RefusedError(f"no password: set {PASSWORD}, or run it on a terminal to be asked")
        password = click.prompt(f"Password of {user}", hide_input=True)
    return Server(place, user, password)


@click.command(short_help="Put jobs as to-dos on a calendar server (CalDAV).")
@fleet_options
@dry_run
@server_options
@click.option(
    "--within", type=click.IntRange(0, 365), default=30, show_default=True, metavar="DAYS",
    help="Jobs due within so many days.",
)  # fmt: skip
@click.option("--restore", is_flag=True, help="Put deleted to-dos there again.")
@pass_desk
def push(desk: Desk, url: str, user: str, unencrypted: bool, within: int, restore: bool) -> None:
    """Put jobs as to-dos on a calendar that a CalDAV server already has, and keep them right.

    Overdue and due jobs, those without record and those due within some days become to-dos, one
    for each occurrence. A job logged here is completed there; what others changed or deleted
    there stays as they left it. The password is asked for, or comes from the environment's
    FLEETCARE_CALDAV_PASSWORD.

    Example: fleetcare feed push https://calendar.example/jobs/ --user jetty
    """
    from fleetcare.cli.looking import view
    from fleetcare.cli.naming import rules_of, zone_named
    from fleetcare.share.push import Outcome, Pusher, counts
    from fleetcare.share.sight import last_known
    from fleetcare.show.todos import todos_of

    today = desk.today()
    seen = view(desk, today, words=False)
    fleet, names = seen.fleet, {row.engine for row in seen.rows}
    rules = {name: rules_of(fleet, seen.book, name) for name in names}
    known = {name: last_known(fleet.engines[name], seen.history.of(name)) for name in names}
    todos = todos_of(seen.rows, fleet.id, today, within, rules, known)
    done = {
        (row.first_name, row.task): row.clock_start if row.last_done_on is not None else None
        for row in seen.rows
    }
    outcomes: list[Outcome] = []

    def told(outcome: Outcome) -> None:
        outcomes.append(outcome)
        _say(desk, outcome)

    zone = zone_named(fleet.settings.timezone)
    with desk.open() as file, server_of(desk, url, user, unencrypted) as server:
        server.check()
        pusher = Pusher(file, server, zone, today, desk.now(), desk.dry_run, restore)
        pusher.push(todos, done, told)
    click.echo(_summary(counts(outcomes), server.host, desk.dry_run))


def _say(desk: Desk, outcome: object) -> None:
    from fleetcare.share.push import KEPT, STANDING, Outcome

    assert isinstance(outcome, Outcome)
    if outcome.what == KEPT:
        return
    lead = "would be " if desk.dry_run and outcome.what not in STANDING else ""
    tail = f": {outcome.words}" if outcome.words else ""
    click.echo(f"{lead}{outcome.what}  {outcome.title}{tail}")


def _summary(found: dict[str, int], host: str, dry: bool) -> str:
    words = ", ".join(f"{number} {what}" for what, number in found.items()) or "nothing to do"
    return f"{host}: {words}{' (dry run: nothing was changed)' if dry else ''}."
