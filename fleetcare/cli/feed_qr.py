"""The QR code of a feed's new address: in the terminal, and as a picture where one is asked for."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fleetcare.cli.context import Desk, colour_of

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet

F = TypeVar("F", bound=Callable[..., Any])


def qr_option(command: F) -> F:
    """--qr: where to write the picture."""
    return click.option(
        "--qr", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False),
        help="Write the address as a QR code there too, an SVG picture.",
    )(command)  # fmt: skip


def needs_address(fleet: Fleet, qr: Path | None) -> None:
    """Refuse a picture of an address that is not known, before anything is written."""
    from fleetcare.errors import RefusedError

    if qr is not None and not fleet.settings.feed_address:
        raise RefusedError(
            "--qr needs the feeds' address on the web: "
            "fleetcare settings feed_address https://boats.example/f/"
        )


def show_code(desk: Desk, address: str, qr: Path | None) -> None:
    """Show an address as a QR code on a terminal that has colours and room, and write it.

    A phone that reads a webcal address asks to subscribe; of an https one it takes a copy.
    """
    from fleetcare.show.qr import qr_svg, qr_text
    from fleetcare.store.files import write_whole

    if colour_of(sys.stdout.isatty()):
        code = qr_text(address)
        if len(qr_text(address, painted=False).partition("\n")[0]) <= desk.width():
            click.echo(code)
    if qr is not None:
        write_whole(qr, qr_svg(address), mode=0o600)
        click.echo(f"  {qr}: its QR code. Whoever sees it can read the feed")
