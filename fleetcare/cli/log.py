"""fleetcare log: the entries, withdrawn ones marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options

if TYPE_CHECKING:
    from fleetcare.store.fetch import Kept


@click.command(short_help="The log, as it was written.")
@fleet_options
@click.argument("engine", required=False)
@click.option("--last", type=click.IntRange(1), default=20, show_default=True, help="How many.")
@click.option("--all", "whole", is_flag=True, help="Every entry.")
@pass_desk
def log(desk: Desk, engine: str | None, last: int, whole: bool) -> None:
    """The log in the order it was written: the last entries, of one engine when named.

    Example: fleetcare log OB-14
    """
    with desk.open() as file:
        name = file.fleet().engine(engine).name if engine else None
        kept = file.log(name)
    shown = kept if whole else kept[-last:]
    for item in shown:
        click.echo(line_of(item))
    if len(shown) < len(kept):
        desk.note(f"{len(kept) - len(shown)} earlier ones not shown (--all).")
    if not kept:
        desk.note("The log is empty.")


def line_of(item: Kept) -> str:
    """One entry in a line: number, day, what, who."""
    from fleetcare.show.log_text import entry_words

    words = f"entry {item.withdraws} withdrawn" if item.entry is None else entry_words(item.entry)
    note = f" - {item.entry.note}" if item.entry is not None and item.entry.note else ""
    mark = " [withdrawn]" if item.withdrawn else ""
    who = f" ({item.by})" if item.by else ""
    told = " ".join(f"{words}{who}{note}{mark}".split())  # a note of several lines in one
    return f"{item.number:>6}  {item.on}  {told}"
