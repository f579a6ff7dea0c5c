"""fleetcare parts: what to order, by when; what to have ready; the shelf."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.commands import Commands
from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.plan.orders import Line
    from fleetcare.show.parts import Sheet

SUBCOMMANDS: tuple[tuple[str, str, str], ...] = (
    ("shelf", "parts_shelf.shelf", "What lies on the shelf, by the log."),
    ("count", "parts_shelf.count", "Write down what the shelf really holds."),
    ("delivered", "parts_shelf.delivered", "Write down parts that arrived."),
)


class Parts(click.Group):
    """The group of the parts commands, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The subcommands, in the order of use."""
        return list(self.commands)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the subcommands out of the table, without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, _, summary in SUBCOMMANDS])


@click.group(
    "parts", cls=Parts, commands=Commands(SUBCOMMANDS), invoke_without_command=True,
    short_help="What to order, by when; what to have ready; the shelf.",
)  # fmt: skip
@fleet_options
@as_of
@format_option
@click.option(
    "--horizon", type=click.IntRange(1, 730), default=60, show_default=True, metavar="DAYS",
    help="How far to look ahead.",
)  # fmt: skip
@click.option("--item", metavar="NAME", help="Only this item, with every engine.")
@click.option(
    "--lead", "leads", multiple=True, metavar="ITEM=DAYS",
    help="An item's own days from order to shelf (the others: the setting lead_days).",
)  # fmt: skip
@click.option(
    "--margin", type=click.IntRange(0, 60), default=0, show_default=True, metavar="DAYS",
    help="Days to take goods in.",
)  # fmt: skip
@click.option(
    "--supplier-days", metavar="WEEKDAYS", help='The weekdays it works: "mon tue wed thu fri".'
)
@click.option("--arrives", multiple=True, metavar="ITEM=DATE:COUNT", help="What is on order.")
@click.option(
    "--every", "weeks", type=click.IntRange(1, 52), default=1, show_default=True, metavar="WEEKS",
    help="Order once in so many weeks.",
)  # fmt: skip
@click.option(
    "--order-cost", type=click.FloatRange(0, 100_000), default=0.0, metavar="SUM",
    help="What an order costs beside its goods: have more ready, reorder later.",
)  # fmt: skip
@click.option("--in-store", is_flag=True, help="The jobs of engines in store too.")
@click.option("--all", "whole", is_flag=True, help="Every order, wait and item in full.")
@click.pass_context
@pass_desk
def parts(
    desk: Desk, ctx: click.Context, as_of: date, form: str, horizon: int, item: str | None,
    leads: tuple[str, ...], margin: int, supplier_days: str | None, arrives: tuple[str, ...],
    weeks: int, order_cost: float, in_store: bool, whole: bool,
) -> None:  # fmt: skip
    """What to order, by when: parts for the jobs to come, less what the shelf holds.

    Days are those of the kept plan, else those the jobs are due on. Beside it stands what to have
    ready: parts that a likely finding would call for.

    Example: fleetcare parts --as-of 2026-07-18
    """
    if ctx.invoked_subcommand is not None:
        _refuse_misplaced(ctx)
        return
    from fleetcare.cli.looking import printed
    from fleetcare.cli.parts_terms import known_item, receipts_of, terms_of
    from fleetcare.cli.parts_view import look, sheet_of
    from fleetcare.show.parts import parts_text
    from fleetcare.show.parts_values import HEAD, line_row, line_values, parts_more

    view = look(desk, as_of, horizon, in_store)
    items = view.stores.items
    terms = terms_of(view.stores.fleet.settings, items, leads, margin, supplier_days)
    receipts = receipts_of(items, arrives, as_of)
    sheet = sheet_of(view, terms, receipts, weeks, order_cost, form in ("table", "json"))
    if item is not None:
        sheet = _only(sheet, known_item(items, item))
    one = line_row if form == "csv" else line_values
    printed(
        form, lambda: [one(line, sheet) for line in sheet.orders.lines], as_of, HEAD,
        lambda: parts_text(sheet, desk.width(), whole or item is not None),
        lambda: parts_more(sheet),
    )  # fmt: skip


def _refuse_misplaced(ctx: click.Context) -> None:
    """Refuse options of the list before a subcommand, which would not see them."""
    from click.core import ParameterSource

    from fleetcare.errors import RefusedError

    for param in ctx.command.params:
        given = ctx.get_parameter_source(param.name or "") == ParameterSource.COMMANDLINE
        if given and param.expose_value:
            raise RefusedError(
                f"{param.opts[0]} stands before {ctx.invoked_subcommand}; write it behind: "
                f"fleetcare parts {ctx.invoked_subcommand} … {param.opts[0]}"
            )


def _only(sheet: Sheet, item: str) -> Sheet:
    """The same of one item alone, kits that serve it included."""
    from dataclasses import replace

    from fleetcare.plan.orders import Orders

    def serves(line: Line) -> bool:
        return line.item == item or any(short.use.item == item for short in line.shorts)

    found = sheet.orders
    lines = tuple(line for line in found.lines if serves(line))
    waits = tuple(wait for wait in found.waits if wait.use.item == item)
    return replace(
        sheet, orders=Orders(lines, waits), used=[one for one in sheet.used if one == item],
        ready=[one for one in sheet.ready if one.item == item], only=item, in_store=(),
    )  # fmt: skip
