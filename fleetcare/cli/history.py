"""fleetcare history: everything known of one engine."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options

if TYPE_CHECKING:
    from fleetcare.store.fetch import Kept

HEAD = ("entry", "on", "event", "what", "by", "note", "withdrawn", "written")


@click.command()
@fleet_options
@click.argument("engine")
@click.option(
    "--format", "form", type=click.Choice(["table", "json", "csv", "ndjson"]), default="table",
    show_default=True, help="How to print it.",
)  # fmt: skip
@pass_desk
def history(desk: Desk, engine: str, form: str) -> None:
    """Everything known of one engine, for the insurer, the committee or the buyer.

    Withdrawn entries are shown and marked; nothing is left out.

    Example: fleetcare history OB-14 --format csv
    """
    from fleetcare.cli.looking import printed
    from fleetcare.show.table import table

    with desk.open() as file:
        item = file.fleet().engine(engine)
        kept = sorted(file.log(item.name), key=lambda entry: (entry.on, entry.number))
    rows = [_values(entry) for entry in kept]
    cells = [
        [str(row["on"]), str(row["entry"]), _marked(row), str(row["by"]), str(row["note"])]
        for row in rows
    ]
    head = ("Day", "Entry", "What", "Who", "Note")
    if form == "table":
        click.echo(f"{item.name}: {item.family or 'family not given'}, known since {item.since}")
    printed(
        form, lambda: rows, desk.today(), HEAD,
        lambda: table(head, cells, desk.width(), (2, 4), right=(1,)),
    )  # fmt: skip


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


def _marked(row: dict[str, Any]) -> str:
    return f"[withdrawn] {row['what']}" if row["withdrawn"] else str(row["what"])
