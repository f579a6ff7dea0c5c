"""fleetcare parts shelf, count and delivered: what lies there, and how the log learns of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, dry_run, fleet_options, format_option, written_on

if TYPE_CHECKING:
    from fleetcare.cli.parts_view import Stores
    from fleetcare.log.entries import Entry
    from fleetcare.plan.items import Items
    from fleetcare.store.fleet_file import FleetFile

MOST = 100_000
PAIRS = "ITEM N [ITEM N]..."


@click.command(short_help="What lies on the shelf, by the log.")
@fleet_options
@as_of
@format_option
@click.argument("item", required=False)
@click.option("--all", "whole", is_flag=True, help="Items never counted too; every change.")
@pass_desk
def shelf(desk: Desk, as_of: date, form: str, item: str | None, whole: bool) -> None:
    """What lies on the shelf: deliveries and counts of the log, less what jobs used.

    With ITEM, how it came to its number. A job uses what its rule says, and each opening of an
    engine its gaskets and washers, once a day.

    Example: fleetcare parts shelf "impeller kit" --as-of 2026-07-18
    """
    from fleetcare.cli.looking import printed
    from fleetcare.cli.parts_view import stores
    from fleetcare.show.parts_shelf import HEAD, shelf_rows, shelf_text

    with desk.open() as file:
        seen = stores(desk, file, as_of)
    if item is not None:
        _one(desk, seen, item, as_of, form, whole)
        return
    names = {*seen.stocks, *(seen.items.ruled if whole else ())}
    rows = shelf_rows(names, seen.stocks, seen.items, as_of)
    printed(
        form, lambda: rows, as_of, HEAD, lambda: shelf_text(rows, as_of, desk.width())
    )  # fmt: skip


def _one(desk: Desk, seen: Stores, typed: str, as_of: date, form: str, whole: bool) -> None:
    from fleetcare.cli.looking import printed
    from fleetcare.cli.parts_terms import known_item
    from fleetcare.show.parts_shelf import MOVES_HEAD, move_values, stock_text

    name = known_item(seen.items, typed)
    stock = seen.stocks.get(name)
    moves = () if stock is None else stock.moves
    printed(
        form, lambda: [move_values(move) for move in moves], as_of, MOVES_HEAD,
        lambda: f"{name}: never delivered nor counted" if stock is None
        else stock_text(stock, as_of, desk.width(), whole),
        lambda: {"item": name, "on_shelf": None if stock is None else stock.on_hand},
    )  # fmt: skip


@click.command(short_help="Write down what the shelf really holds.")
@fleet_options
@dry_run
@click.argument("pairs", nargs=-1, required=True, metavar=PAIRS)
@written_on
@click.option("--new", is_flag=True, help="Take items that nothing names yet.")
@pass_desk
def count(
    desk: Desk, pairs: tuple[str, ...], on: date, by: str | None, note: str, new: bool
) -> None:
    """Write down what the shelf really holds at the close of the day, item by item.

    Jobs of that day are taken to be in the count already.

    \b
    Example: fleetcare parts count "impeller kit" 3 "drive-shaft O-ring" 12
    """
    from fleetcare.cli.parts_view import stores
    from fleetcare.errors import RefusedError
    from fleetcare.log.entries import Count

    with desk.open() as file:
        seen = stores(desk, file, desk.today())
        who = desk.by(seen.fleet, by)
        entries: list[Entry] = []
        for name, number in _read(seen.items, pairs, new, least=0):
            if name in seen.items.kits:
                held = ", ".join(part.item for part in seen.items.kits[name].holds)
                raise RefusedError(f'"{name}" is a kit: count what it holds: {held}')
            entries.append(Count(on=on, by=who, note=note, item=name, count=number))
        _store(desk, file, seen, entries)


@click.command(short_help="Write down parts that arrived.")
@fleet_options
@dry_run
@click.argument("pairs", nargs=-1, required=True, metavar=PAIRS)
@written_on
@click.option("--cost", metavar="SUM", help="What all pieces of the one item cost together.")
@click.option("--new", is_flag=True, help="Take items that nothing names yet.")
@click.option("--again", is_flag=True, help="Log it although the same is there already.")
@pass_desk
def delivered(
    desk: Desk, pairs: tuple[str, ...], on: date, by: str | None, note: str, cost: str | None,
    new: bool, again: bool,
) -> None:  # fmt: skip
    """Write down parts that arrived; a kit brings what it holds.

    \b
    Example: fleetcare parts delivered "impeller kit" 10 --cost 340
    """
    from fleetcare.cli.parts_view import stores
    from fleetcare.log.entries import Delivery

    with desk.open() as file:
        seen = stores(desk, file, desk.today())
        who, paid = desk.by(seen.fleet, by), _cost(cost, pairs)
        entries: list[Entry] = [
            Delivery(on=on, by=who, note=note, item=name, count=number, cost=paid)
            for name, number in _read(seen.items, pairs, new, least=1)
        ]
        if not again:
            _refuse_doubles(desk, file, entries)
        _store(desk, file, seen, entries)


def _read(
    items: Items, pairs: Sequence[str], new: bool, least: int
) -> list[tuple[str, int]]:  # fmt: skip
    """The items and their numbers, each item once."""
    from fleetcare.cli.parts_terms import item_or_new
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.figures import count as whole

    if len(pairs) % 2:
        raise RefusedError(f'"{pairs[-1]:.60}" has no number behind it; write {PAIRS}')
    found: dict[str, int] = {}
    for typed, text in zip(pairs[::2], pairs[1::2], strict=True):
        number = whole(text, f'item "{typed:.60}"')
        if isinstance(number, Fault):
            raise RefusedError(str(number))
        if not least <= number <= MOST:
            raise RefusedError(f'item "{typed:.60}": takes a number from {least} to {MOST}')
        name = item_or_new(items, typed, new)
        if name in found:
            raise RefusedError(f'"{name}" is named twice')
        found[name] = number
    return list(found.items())


def _cost(text: str | None, pairs: Sequence[str]) -> int | None:
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.figures import number

    if text is None:
        return None
    if len(pairs) > 2:
        raise RefusedError("--cost goes with one item: log the others by themselves")
    value = number(text, "--cost")
    if isinstance(value, Fault):
        raise RefusedError(str(value))
    return int(value * 100)


def _refuse_doubles(desk: Desk, file: FleetFile, entries: Sequence[Entry]) -> None:
    """Ask about, or in a script refuse, a delivery that is logged already for the day."""
    from fleetcare.errors import RefusedError
    from fleetcare.log.entries import Delivery
    from fleetcare.store.shelf import fetch_shelf

    kept = [
        item for item in fetch_shelf(file.connection, desk.today()) if isinstance(item, Delivery)
    ]
    for entry in entries:
        assert isinstance(entry, Delivery)
        same = (entry.on, entry.item, entry.count)
        there = next((one for one in kept if (one.on, one.item, one.count) == same), None)
        if there is None:
            continue
        who = f" by {there.by}" if there.by else ""
        text = (
            f"{entry.count} × {entry.item} of {entry.on} are logged already{who} "
            f"(entry {there.number})"
        )
        if not desk.is_terminal():
            raise RefusedError(f"{text}. If more arrived: --again")
        if not click.confirm(f"{text}. Log them again?", default=False):
            raise RefusedError("nothing was stored")


def _store(desk: Desk, file: FleetFile, before: Stores, entries: list[Entry]) -> None:
    """Store the entries, then say what the shelf holds by now."""
    from fleetcare.cli.parts_view import stores
    from fleetcare.log.entries import Delivery
    from fleetcare.show.parts_shelf import change_words
    from fleetcare.show.table import wrapped

    desk.store(file, entries)
    if desk.dry_run:
        return
    after = stores(desk, file, desk.today())
    for entry in entries:
        name = getattr(entry, "item", "")
        counted = after.stocks[name].counted_on if name in after.stocks else None
        if isinstance(entry, Delivery) and (counted or 0) >= entry.on.toordinal():
            day = date.fromordinal(counted or 0)
            desk.note(f"{name} was counted on {day}, and a count is of the close of its day: what "
                      "came by then is in it. If this came later, count again.")  # fmt: skip
        kit = after.items.kits.get(name)
        for item in [name] if kit is None else [part.item for part in kit.holds]:
            told = change_words(item, before.stocks.get(item), after.stocks.get(item))
            click.echo(wrapped(f"  {told}", desk.width()))
