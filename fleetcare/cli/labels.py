"""fleetcare labels: QR labels with the engines' names, on sheets of labels."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options, language_option

if TYPE_CHECKING:
    from fleetcare.fleet.engines import Engine
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.history import History
    from fleetcare.show.labels import Label
    from fleetcare.show.labels_sizes import LabelSheet

MOST_COPIES = 100
PAGE = "labels.html"


@click.command(short_help="QR labels with the engines' names, on label sheets.")
@fleet_options
@as_of
@language_option
@click.argument("engines", nargs=-1, metavar="[ENGINE]...")
@click.option(
    "--size", default="70x36", show_default=True, metavar="SIZE",
    help="Of one label; list shows the sizes.",
)  # fmt: skip
@click.option("--skip", type=click.IntRange(0, 999), default=0, metavar="N",
              help="Labels of the first sheet that are gone.")  # fmt: skip
@click.option("--copies", type=click.IntRange(1, MOST_COPIES), default=1, metavar="N",
              help="How many of each.")  # fmt: skip
@click.option("--lines", is_flag=True, help="Draw where to cut, for plain paper.")
@click.option("--html", metavar="FILE", help=f"Where the page goes; without it {PAGE}.")
@click.option("--pdf", metavar="FILE", help="Write a PDF (needs fleetcare[pdf]).")
@pass_desk
def labels(
    desk: Desk, as_of: date, language: str | None, engines: tuple[str, ...], size: str, skip: int,
    copies: int, lines: bool, html: str | None, pdf: str | None,
) -> None:  # fmt: skip
    """QR labels with the engines' names, on label sheets.

    Each shows the engine's name, its boat, the looks at every start, and a code that carries the
    name. All engines but retired ones, or those named. Print at 100 %, not fitted to the page.

    Example: fleetcare labels OB-14 OB-21 --size 99.1x67.7 --skip 2
    """
    from fleetcare.cli.naming import words_of
    from fleetcare.cli.paper import write_papers
    from fleetcare.show.labels import labels_page
    from fleetcare.show.labels_pdf import labels_pdf

    if size == "list":
        click.echo(_sizes(desk.width()))
        return
    sheet = _sheet(size)
    _refuse_gone(sheet, skip)
    with desk.open() as file:
        fleet, history = file.fleet(), file.history(as_of, last_jobs=True)
    made = _labels(desk, fleet, history, engines, as_of)
    wanted = [label for label in made for _ in range(copies)]
    words = words_of(fleet, language)
    page = html or (None if pdf else PAGE)
    write_papers(
        desk, page, lambda: labels_page(wanted, sheet, words, skip, lines), pdf,
        lambda: labels_pdf(wanted, sheet, words, as_of, skip, lines),
        _what(len(wanted), sheet, skip),
    )  # fmt: skip


def _sizes(width: int) -> str:
    """The sizes that there are."""
    from fleetcare.show.labels_sizes import SHEETS
    from fleetcare.show.table import table

    rows = [
        [sheet.name, sheet.said, str(sheet.labels), sheet.paper,
         f"{sheet.columns} across, {sheet.rows} down"]
        for sheet in SHEETS
    ]  # fmt: skip
    return table(("Size", "Width × height", "A sheet", "Paper", "Labels"), rows, width, (4,), (2,))


def _sheet(size: str) -> LabelSheet:
    from fleetcare.errors import RefusedError
    from fleetcare.show.labels_sizes import near_sizes, sheet_named

    sheet = sheet_named(size)
    if sheet is None:
        near = [f'"{name}"' for name in near_sizes(size)]
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        raise RefusedError(f'no labels of size "{size:.40}".{hint} --size list shows them')
    return sheet


def _refuse_gone(sheet: LabelSheet, skip: int) -> None:
    from fleetcare.errors import RefusedError

    if skip >= sheet.labels:
        raise RefusedError(
            f"--skip {skip}: a sheet of {sheet.said} has {sheet.labels} labels, so none is left"
        )


def _labels(
    desk: Desk, fleet: Fleet, history: History, names: Sequence[str], as_of: date
) -> list[Label]:
    """A label of each engine asked for, in that order, or of all that are in use."""
    from fleetcare.cli.naming import rules_of
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import natural
    from fleetcare.show.labels import Label, looks_of
    from fleetcare.usage.places import berths

    chosen: Sequence[Engine] = [fleet.engine(name) for name in names]
    if not names:
        chosen = sorted(
            (item for item in fleet.engines.values()
             if item.since <= as_of and history.of(item.name).retired is None),
            key=lambda item: natural(item.name),
        )  # fmt: skip
    if not chosen:
        raise RefusedError("the fleet has no engine to make a label of")
    book = desk.book(fleet)
    made = []
    for engine in chosen:
        retired = history.of(engine.name).retired
        if retired is not None:
            on = date.fromordinal(retired)
            raise RefusedError(f'engine "{engine.name}" is retired since {on}; it has no label')
        boat = berths(engine, history)[-1].boat
        looks = looks_of(rules_of(fleet, book, engine.name), engine)
        made.append(Label(engine.name, boat, looks))
    return made


def _what(count: int, sheet: LabelSheet, skip: int) -> str:
    sheets = -(-(count + skip) // sheet.labels)
    return (
        f"{count} {'label' if count == 1 else 'labels'} of {sheet.said} on {sheets} "
        f"{'sheet' if sheets == 1 else 'sheets'} of {sheet.paper}; print at 100 %"
    )
