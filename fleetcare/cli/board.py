"""fleetcare board: one page for the wall, the phone or a USB stick."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options, language_option

NAME = "board.html"
HEAVY = 20_000_000  # octets, from which on a page is slow on a phone: our choice
Which = tuple[str | None, str | None]  # in which language, of which place


@click.command(short_help="One page of the whole fleet, for the wall or a USB stick.")
@fleet_options
@as_of
@language_option
@click.option("--place", metavar="NAME", help="Only the boats that lie there.")
@click.option(
    "--html", type=click.Path(path_type=Path), metavar="FILE",
    help=f"Where to write it; - for stdout.  [default: {NAME}]",
)  # fmt: skip
@click.option(
    "--watch", type=click.Path(path_type=Path, file_okay=False), metavar="DIR",
    help="Keep it up to date in a folder until Ctrl-C.",
)  # fmt: skip
@pass_desk
def board(
    desk: Desk, as_of: date, language: str | None, place: str | None, html: Path | None,
    watch: Path | None,
) -> None:  # fmt: skip
    """One page of the whole fleet: what must not go out, every engine, what comes.

    It needs no network and no other file: put it on a screen, a phone or a USB stick. Without
    --as-of a board that is watched turns with the day.

    Example: fleetcare board --html board.html
    """
    from fleetcare.cli.board_facts import page_of

    if watch is not None:
        if html is not None:
            raise click.UsageError(
                "give either --html or --watch: a watched board is DIR/board.html"
            )
        _watch(desk, as_of, (language, place), watch)
    elif str(html) == "-":
        click.echo(page_of(desk, as_of, language, place), nl=False)
    else:
        _write(desk, as_of, (language, place), html or Path(NAME))


def _write(desk: Desk, as_of: date, which: Which, path: Path) -> None:
    from fleetcare.cli.board_facts import page_of
    from fleetcare.store.files import write_whole

    content = page_of(desk, as_of, *which)
    changed = write_whole(path, content)
    size = (
        f"{len(content) / 1_000_000:.1f} MB" if len(content) > 100_000 else f"{len(content)} bytes"
    )
    click.echo(f"{path}: board of {as_of}, {size}{'' if changed else ', unchanged'}.")
    if len(content) > HEAVY:
        desk.note("Phones may not open a page as large. Of one place: fleetcare board --place NAME")


def _watch(desk: Desk, as_of: date, which: Which, folder: Path) -> None:
    from fleetcare.cli.board_watch import watch

    given = click.get_current_context().get_parameter_source("as_of")
    default = given is click.core.ParameterSource.DEFAULT
    watch(desk, folder / NAME, None if default else as_of, *which)
