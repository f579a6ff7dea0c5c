"""The shelf as text for the terminal and as values, and how one item came to its number."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from fleetcare.fleet.days import spoken
from fleetcare.fleet.names import natural
from fleetcare.plan.items import Items
from fleetcare.plan.shelf import COUNTED, DELIVERED, Move, Stock
from fleetcare.show.parts_words import clean, fits
from fleetcare.show.table import table, wrapped
from fleetcare.show.values import iso

RECENT = 28  # days over which what was used is told
HEAD = ("item", "on_shelf", "counted_on", "delivered_on", "used_28_days", "price", "paid")
MOVES_HEAD = ("on", "what", "change", "after", "engine", "jobs", "kit", "entry")
MOST_MOVES = 12


def shelf_rows(
    names: Iterable[str], stocks: Mapping[str, Stock], items: Items, as_of: date
) -> list[dict[str, Any]]:
    """One row an item; `on_shelf` is null where it was never delivered nor counted."""
    today = as_of.toordinal()
    rows = []
    for name in sorted(names, key=natural):
        stock, price = stocks.get(name), items.prices.get(name)
        rows.append(
            {
                "item": name,
                "on_shelf": None if stock is None else stock.on_hand,
                "counted_on": None if stock is None else iso(stock.counted_on),
                "delivered_on": None if stock is None else iso(_last(stock, DELIVERED)),
                "used_28_days": None if stock is None else stock.used(today - RECENT + 1, today),
                "price": None if price is None else round(float(price), 2),
                "paid": name in items.paid,
            }
        )
    return rows


def _last(stock: Stock, what: str) -> int | None:
    return max((move.day for move in stock.moves if move.what == what), default=None)


def shelf_text(rows: Sequence[Mapping[str, Any]], as_of: date, width: int) -> str:
    """The shelf; what is below nothing is named, to be counted."""
    if not rows:
        return wrapped(
            "Nothing was delivered or counted yet. fleetcare parts count ITEM N says what lies "
            "there; --all lists the items.",
            width,
        )
    cells = [
        [
            clean(row["item"]), "?" if row["on_shelf"] is None else str(row["on_shelf"]),
            _day(row["counted_on"], as_of), _day(row["delivered_on"], as_of),
            "" if row["used_28_days"] is None else str(row["used_28_days"]),
        ]
        for row in rows
    ]  # fmt: skip
    head = ("Item", "Shelf", "Counted", "Delivered", "Used in 28 days")
    text = table(head, cells, width, (0,), right=(1, 4))
    if not fits(text, width):
        text = "\n".join(
            wrapped(f"{item}: {number}; counted {on or 'never'}", width)
            for item, number, on, *_ in cells
        )
    lines = [text]
    below = [row["item"] for row in rows if (row["on_shelf"] or 0) < 0]
    if below:
        told = ", ".join(map(clean, below))
        lines.append(wrapped(f"Below nothing, so something was not logged: count {told}.", width))
    return "\n".join(lines)


def _day(day: str | None, as_of: date) -> str:
    return "" if day is None else spoken(date.fromisoformat(day), as_of)


def move_values(move: Move) -> dict[str, Any]:
    """One change of the shelf; the change of a count is what it found beyond the log's number."""
    return {
        "on": iso(move.day),
        "what": move.what,
        "change": move.change,
        "after": move.after,
        "engine": move.engine or None,
        "jobs": list(move.jobs),
        "kit": move.kit or None,
        "entry": move.number or None,
    }


def stock_text(stock: Stock, as_of: date, width: int, whole: bool) -> str:
    """How an item came to its number: the last changes, or all of them."""
    moves = stock.moves if whole else stock.moves[-MOST_MOVES:]
    lines = [wrapped(f"{clean(stock.item)}: {stock.on_hand} on the shelf", width)]
    cells = [
        [
            spoken(date.fromordinal(move.day), as_of),
            _what(move), f"{move.change:+d}" if move.change else "0", str(move.after),
        ]
        for move in moves
    ]  # fmt: skip
    text = table(("Day", "What", "Change", "Then"), cells, width, (1,), right=(2, 3))
    if not fits(text, width):
        text = "\n".join(
            wrapped(f"{day}: {what}, {change}, then {then}", width)
            for day, what, change, then in cells
        )
    lines.append(text)
    left = len(stock.moves) - len(moves)
    if left:
        lines.append(f"{left} earlier ones not shown (--all).")
    if stock.is_short:
        lines.append(wrapped("Below nothing: something was not logged. Count it.", width))
    lines.append(
        wrapped("Within a day: deliveries, then jobs; a count is of the close of its day.", width)
    )
    return "\n".join(lines)


def _what(move: Move) -> str:
    if move.what == COUNTED:
        return f"counted (entry {move.number})"
    if move.what == DELIVERED:
        kit = f" in {clean(move.kit)}" if move.kit else ""
        return f"delivered{kit} (entry {move.number})"
    return f"{clean(move.engine)}: {', '.join(move.jobs)}"


def change_words(item: str, before: Stock | None, after: Stock | None) -> str:
    """What an entry made of an item's number."""
    now = 0 if after is None else after.on_hand
    if before is None:
        return f"{clean(item)}: {now} on the shelf"
    return f"{clean(item)}: {now} on the shelf, {before.on_hand} by the log before"
