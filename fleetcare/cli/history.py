"""fleetcare history: everything known of one engine."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options, language_option

if TYPE_CHECKING:
    from fleetcare.fleet.engines import Engine
    from fleetcare.store.fetch import Kept

HEAD = ("entry", "on", "event", "what", "by", "note", "withdrawn", "written")


@click.command(short_help="Everything known of one engine.")
@fleet_options
@as_of
@language_option
@click.argument("engine")
@click.option(
    "--format", "form", type=click.Choice(["table", "json", "csv", "ndjson"]), default="table",
    show_default=True, help="How to print its entries.",
)  # fmt: skip
@click.option("--html", metavar="FILE", help="Write its history as a page.")
@click.option("--pdf", metavar="FILE", help="Write it as a PDF (needs fleetcare[pdf]).")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
              help="What the page and the PDF print on.")  # fmt: skip
@click.option("--export", metavar="FILE.db|DIR",
              help="Write a fleet of it alone, as a file or as tables.")  # fmt: skip
@pass_desk
def history(
    desk: Desk, as_of: date, language: str | None, engine: str, form: str, html: str | None,
    pdf: str | None, paper: str, export: str | None,
) -> None:  # fmt: skip
    """Everything known of one engine, for the insurer, the committee or the buyer.

    Withdrawn entries are shown and marked; nothing is left out. --html and --pdf print it whole:
    what it is and carried, what was done and found, what is due, and where the log is silent.
    --export gives whoever takes the engine over a fleet of it alone.

    Example: fleetcare history OB-14 --format csv
    """
    if html or pdf or export:
        from fleetcare.cli.history_out import write_history

        if export:
            from fleetcare.cli.history_export import export_alone

            export_alone(desk, engine, as_of, export)
        if html or pdf:
            write_history(desk, engine, as_of, language, html, pdf, paper)
        return
    _list(desk, engine, as_of, form)


def _list(desk: Desk, engine: str, as_of: date, form: str) -> None:
    """The entries, as a list."""
    from fleetcare.cli.looking import printed
    from fleetcare.show.table import table, wrapped

    with desk.open() as file:
        item = file.fleet().engine(engine)
        kept = sorted(
            (entry for entry in file.log(item.name) if entry.on <= as_of),
            key=lambda entry: (entry.on, entry.number),
        )
    rows = [_values(entry) for entry in kept]
    cells = [
        [str(row["on"]), str(row["entry"]), _told(row, item.name), str(row["by"])] for row in rows
    ]
    head = ("Day", "Entry", "What", "Who")
    if form == "table":
        click.echo(wrapped(_title(item), desk.width()))
    printed(
        form, lambda: rows, as_of, HEAD,
        lambda: table(head, cells, desk.width(), (2, 3), right=(1,)),
    )  # fmt: skip


def _title(engine: Engine) -> str:
    """What the engine is, and from when it is known."""
    from fleetcare.fleet.figures import shown

    kind = [engine.family] if engine.family else []
    kind += [f"{float(engine.hp):g} hp"] if engine.hp else []
    kind += ["two-stroke" if engine.stroke == 2 else "four-stroke"] if engine.stroke else []
    kind += [str(engine.year)] if engine.year else []
    read = "" if engine.reading is None else f", when it read {shown(engine.reading)}"
    also = f"; also called {', '.join(engine.also)}" if engine.also else ""
    return f"{engine.name}: {', '.join([*kind, f'known since {engine.since}'])}{read}{also}"


def _values(item: Kept) -> dict[str, Any]:
    from fleetcare.log.order import event_of
    from fleetcare.show.log_text import entry_words

    entry = item.entry
    return {
        "entry": item.number,
        "on": item.on.isoformat(),
        "event": "withdrawal" if entry is None else event_of(entry),
        "what": f"entry {item.withdraws} withdrawn" if entry is None else entry_words(entry),
        "by": item.by,
        "note": entry.note if entry is not None else "",
        "withdrawn": item.withdrawn,
        "written": item.at,
    }


def _told(row: dict[str, Any], engine: str) -> str:
    """What and the note in a line; the engine's name stands above the table already."""
    what = str(row["what"])
    for start in (f"{engine}: ", f"{engine} "):
        if what.startswith(start) and not what.startswith(f"{engine} and "):
            what = what.removeprefix(start)
            break
    mark = "[withdrawn] " if row["withdrawn"] else ""
    note = " ".join(str(row["note"]).split())
    return f"{mark}{what} - {note}" if note else f"{mark}{what}"
