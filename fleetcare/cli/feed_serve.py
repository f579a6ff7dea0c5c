"""fleetcare feed serve: the small feed server, for one house or behind a web server."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from pathlib import Path

    from fleetcare.share.serve import Feeds

TLS = (
    "Reachable from other machines: addresses are secrets and go over the wire as they are, so "
    "put a web server with TLS in front, and let it cut them from its own log"
)


@click.command(short_help="Hand feeds out from here, while it runs.")
@fleet_options
@dry_run
@click.option("--host", default="127.0.0.1", show_default=True, help="Where to listen.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8008, show_default=True,
    help="At which port; 0 takes any that is free.",
)  # fmt: skip
@click.option("--beyond-this-machine", "beyond", is_flag=True, help="Let other machines reach it.")
@pass_desk
def serve(desk: Desk, host: str, port: int, beyond: bool) -> None:
    """Hand feeds out from here, while it runs: Ctrl-C ends it.

    Everyone's feed is at /f/ and the secret they were given. A revoked address is gone at the
    next request, and so is what was due before the last entry. It has no TLS of its own.

    Example: fleetcare feed serve --dry-run
    """
    from fleetcare.errors import RefusedError
    from fleetcare.share.serve import App, address_of, is_loopback, make_server

    if not is_loopback(host) and not beyond:
        raise RefusedError(
            f"{host} can be reached from other machines. If that is meant: --beyond-this-machine"
        )
    feeds = _feeds(desk)
    if desk.dry_run:
        click.echo(f"would serve {_count(len(feeds.current()))} at {host}, port {port}")
        return
    server = make_server(App(feeds, desk.now, desk.note), host, port)
    try:
        count = _count(len(feeds.current()))
        _take_a_managers_word()
        if not is_loopback(host):
            desk.note(TLS)
        _serve(server, f"serving {count} at {address_of(server)}/f/ until Ctrl-C")
    finally:
        server.close()
    click.echo("stopped")


def _take_a_managers_word() -> None:
    """Let a service manager end it as Ctrl-C does."""
    import signal

    signal.signal(signal.SIGTERM, signal.default_int_handler)


def _serve(server: Any, words: str) -> None:
    """Say that it serves, and serve until someone ends it."""
    import contextlib
    import gc
    import sys

    gc.enable()  # it rests for short commands, and this one may run for months
    with contextlib.suppress(KeyboardInterrupt):
        click.echo(words)
        sys.stdout.flush()
        server.run()


def _feeds(desk: Desk) -> Feeds:
    """The fleet's feeds, made again when the file, the rules or the day are others."""
    from fleetcare.cli.feed_of import look_at
    from fleetcare.share.serve import Feeds
    from fleetcare.share.subscribers import live_contents
    from fleetcare.store.watch import Watch

    with desk.open() as file:
        watch, rules = Watch(file.path), desk.own_rules(file.fleet())

    def make() -> Mapping[str, bytes]:
        with desk.open() as file:
            return live_contents(file, lambda: look_at(desk, desk.today()), desk.now())

    return Feeds(make, lambda: (desk.today(), watch.mark(), _stamps(rules)), desk.now)


def _stamps(folder: Path) -> list[tuple[str, int, int]]:
    """The rule files of one's own, with what tells one state of them from another."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        status = path.stat()
        found.append((path.name, status.st_mtime_ns, status.st_size))
    return found


def _count(number: int) -> str:
    return f"{number} {'feed' if number == 1 else 'feeds'}"
