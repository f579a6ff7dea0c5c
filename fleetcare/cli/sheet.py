"""fleetcare sheet: the work sheet of a service day, of an engine, or of all that is due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import ANY_DAY, as_of, fleet_options, format_option, language_option
from fleetcare.cli.sheet_jobs import Wanted, asked_of, is_planned, nothing_there, refuse_mixtures

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.plan.records import Plan
    from fleetcare.rules.working_order import Order
    from fleetcare.show.sheet import Sheet
    from fleetcare.show.words import Words

FILE = click.Path(path_type=Path, dir_okay=False, allow_dash=True)


@dataclass(frozen=True, slots=True)
class _Files:
    """Where to."""

    paper: str
    html: Path | None
    pdf: Path | None
    form: Path | None


@click.command(short_help="The work sheet of a service day, of an engine, or of what is due.")
@fleet_options
@as_of
@format_option
@language_option
@click.argument("engines", nargs=-1, metavar="[ENGINE...]")
@click.option("--on", type=ANY_DAY, metavar="DAY", help="A service day of the plan that is kept.")
@click.option("--due", is_flag=True, help="Every engine of which something is due.")
@click.option("--boat", metavar="NAME", help="Only this boat's engines.")
@click.option("--place", metavar="NAME", help="Only boats of this place.")
@click.option("--within", type=click.IntRange(0, 3650), metavar="DAYS", help="Due by then, too.")
@click.option("--task", "tasks", multiple=True, metavar="TASK",
              help="These jobs, whatever is due (repeat).")  # fmt: skip
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
              help="What it is printed on.")  # fmt: skip
@click.option("--html", type=FILE, metavar="FILE", help="Write it as a page that prints.")
@click.option("--pdf", type=FILE, metavar="FILE", help="Write it as PDF.")
@click.option("--form", "blank", type=FILE, metavar="FILE",
              help="Write what done --sheet FILE reads back.")  # fmt: skip
@pass_desk
def sheet(
    desk: Desk, as_of: date, form: str, language: str | None, engines: tuple[str, ...],
    on: date | None, due: bool, boat: str | None, place: str | None, within: int | None,
    tasks: tuple[str, ...], paper: str, html: Path | None, pdf: Path | None, blank: Path | None,
) -> None:  # fmt: skip
    """The work sheet: what to open and what to do, in working order, with what to mind.

    Of the engines named, what is due or wanted now; of --on a day of the kept plan; with neither
    of the next planned day. Jobs of --task stand on it whatever is due.

    Example: fleetcare sheet OB-21 --html ob-21.html --form ob-21.txt
    """
    from fleetcare.cli.looking import view
    from fleetcare.cli.naming import words_of
    from fleetcare.cli.planned import kept_plan

    wanted = Wanted(engines, on, due, boat, place, within, tasks)
    refuse_mixtures(wanted)
    plan = None
    if is_planned(wanted):
        with desk.open() as file:
            plan = kept_plan(file)
    seen = view(desk, as_of)
    made = _made(seen, wanted, plan, as_of)
    if not made.visits:
        raise nothing_there(made, wanted)
    words = words_of(seen.fleet, language)
    _give(desk, made, form, _Files(paper, html, pdf, blank), words)


def _made(seen: View, wanted: Wanted, plan: Plan | None, as_of: date) -> Sheet:
    """The sheet that was asked for."""
    from fleetcare.show.sheet import Ground, sheet_of

    on, asked = asked_of(seen, wanted, plan, as_of)
    standing = {name: flag.standing for name, flag in seen.flags.items()}
    ground = Ground(seen.fleet, seen.history, seen.book, seen.rows, standing, _order(), as_of)
    return sheet_of(ground, asked, on)


def _order() -> Order:
    from fleetcare.errors import FaultsError
    from fleetcare.rules.shipped import word_table
    from fleetcare.rules.working_order import read_order

    order = read_order(word_table("order"), "intervals/order.toml")
    if isinstance(order, list):
        raise FaultsError(order)
    return order


def _give(desk: Desk, made: Sheet, form: str, files: _Files, words: Words) -> None:
    """Print the sheet, or write the files asked for."""
    from fleetcare.cli.looking import printed
    from fleetcare.show.sheet_text import HEAD, sheet_more, sheet_rows, sheet_text
    from fleetcare.show.sheet_view import sheet_view

    if any((files.html, files.pdf, files.form)):
        _write(made, files, words)
        return
    printed(
        form, lambda: sheet_rows(made), made.as_of, HEAD,
        lambda: sheet_text(sheet_view(made, words), desk.width(), words), lambda: sheet_more(made),
    )  # fmt: skip


def _write(made: Sheet, files: _Files, words: Words) -> None:
    """Make every file asked for, and only then write them."""
    from fleetcare.show.sheet_form import form_text
    from fleetcare.show.sheet_page import sheet_page
    from fleetcare.show.sheet_view import sheet_view, weekday

    shown = sheet_view(made, words)
    day = weekday(made.on, words)
    content: list[tuple[Path, bytes]] = []
    if files.html is not None:
        content.append((files.html, sheet_page(shown, day, files.paper, words).encode()))
    if files.pdf is not None:
        from fleetcare.show.sheet_pdf import sheet_pdf

        content.append((files.pdf, sheet_pdf(shown, day, made.as_of, files.paper, words)))
    if files.form is not None:
        name = files.form.name if files.form.name != "-" else "FILE"
        content.append((files.form, form_text(made, name).encode()))
    for path, data in content:
        _save(path, data, f"{shown.summary}, {day}")


def _save(path: Path, data: bytes, told: str) -> None:
    from fleetcare.store.files import write_whole

    if str(path) == "-":
        click.echo(data, nl=False)
        return
    write_whole(path, data)
    click.echo(f"{path}: {told}.")
