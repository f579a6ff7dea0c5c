"""fleetcare forecast: how well the dates have held on this fleet's own log."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import ANY_DAY, as_of, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.due.held import Judgement

SOON = 1.0  # seconds before progress is shown


@click.group()
def forecast() -> None:
    """How well the dates have held on your own log."""


@forecast.command(short_help="How well the dates have held on this fleet's own log.")
@fleet_options
@as_of
@format_option
@click.option("--from", "first", type=ANY_DAY, metavar="DATE", help="Look from this day on.")
@click.option("--to", "last", type=ANY_DAY, metavar="DATE", help="Look until this day.")
@click.option("--boat", metavar="NAME", help="Only engines while on this boat.")
@click.option("--engine", metavar="NAME", help="Only this engine.")
@click.option(
    "--every", type=click.IntRange(1, 120), metavar="MONTHS",
    help="Look at each engine so often; else every month, less often in a large fleet.",
)  # fmt: skip
@click.option(
    "--svg", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Draw it into a picture too.",
)  # fmt: skip
@pass_desk
def held(
    desk: Desk, as_of: date, form: str, first: date | None, last: date | None, boat: str | None,
    engine: str | None, every: int | None, svg: Path | None,
) -> None:  # fmt: skip
    """How well the dates have held on this fleet's own log.

    On the first of each month gone by, the dates are worked out again from the log as it stood
    then, and held against the day on which the hours truly ran out. Four in five should lie
    between the early and the late day.

    Example: fleetcare forecast held --svg held.svg
    """
    from fleetcare.cli.looking import printed
    from fleetcare.show.held import HEAD, held_more, held_rows, held_text

    seen = _judged(desk, as_of, first, last, boat, engine, every)
    printed(
        form, lambda: held_rows(seen.dates), as_of, HEAD,
        lambda: held_text(seen, desk.width()), lambda: held_more(seen),
    )  # fmt: skip
    if svg is not None:
        from fleetcare.show.held_svg import held_svg
        from fleetcare.store.files import write_whole

        write_whole(svg, held_svg(seen))
        desk.note(f"{svg}: the picture.")


def _judged(
    desk: Desk, as_of: date, first: date | None, last: date | None, boat: str | None,
    engine: str | None, every: int | None,
) -> Judgement:  # fmt: skip
    from fleetcare.due.held import Asked
    from fleetcare.due.judging import judge
    from fleetcare.errors import RefusedError

    if first is not None and last is not None and last < first:
        raise RefusedError(f"--from {first} lies after --to {last}")
    with desk.open() as file, file.reading():
        fleet, history = file.fleet(), file.history(as_of)
    asked = Asked(
        first.toordinal() if first else None, last.toordinal() if last else None,
        fleet.boat(boat).name if boat else None, fleet.engine(engine).name if engine else None,
        every,
    )  # fmt: skip
    with _progress(desk) as told:
        return judge(fleet, history, desk.book(fleet, words=True), as_of, asked, progress=told)


@contextmanager
def _progress(desk: Desk) -> Iterator[Callable[[int, int], None]]:
    """Says how far it is, on a terminal and only when it takes long; wiped out at the end."""
    began, shown = time.monotonic(), False
    wanted = sys.stderr.isatty() and not desk.quiet

    def told(done: int, of: int) -> None:
        nonlocal shown
        if wanted and (shown or time.monotonic() - began > SOON):
            click.echo(f"\rlooked at {done} of {of} months", nl=False, err=True)
            shown = True

    try:
        yield told
    finally:
        if shown:
            click.echo("\r" + " " * 40 + "\r", nl=False, err=True)
