"""What to order and to have ready as plain values: the contract of the parts list's JSON."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from fleetcare.plan.orders import Line
from fleetcare.plan.ready import Ready
from fleetcare.plan.short import Wait
from fleetcare.show.parts import Sheet, sizes_of
from fleetcare.show.values import iso

HEAD = (
    "order_by", "late", "item", "count", "price", "cost", "wanted", "on_shelf", "sizes", "for",
)  # fmt: skip


def line_values(line: Line, sheet: Sheet) -> dict[str, Any]:
    """One line of one order; `last_day` is its own, `order_by` the order's."""
    stock = sheet.stocks.get(line.item)
    return {
        "order_by": iso(line.order_by),
        "last_day": iso(line.last_day),
        "late": line.last_day < sheet.as_of.toordinal(),
        "item": line.item,
        "kit": line.is_kit,
        "count": line.count,
        "price": _money(line.price),
        "cost": _money(line.cost),
        "wanted": iso(line.wanted),
        "on_shelf": None if stock is None else stock.on_hand,
        "sizes": [
            {"size": size or None, "count": count}
            for size, count in sizes_of(line, sheet.engines)
        ],
        "spare": [{"item": item, "count": count} for item, count in line.spare],
        "for": [
            {
                "engine": short.use.engine, "on": iso(short.use.day), "item": short.use.item,
                "count": short.count, "jobs": list(short.use.jobs),
                "leads_to": short.use.leads_to or None,
            }
            for short in line.shorts
        ],
    }  # fmt: skip


def line_row(line: Line, sheet: Sheet) -> dict[str, Any]:
    """The same for a supplier's spreadsheet: sizes and engines in one cell each."""
    values = line_values(line, sheet)
    return {
        **values,
        "sizes": [f"{count} {size}" if size else str(count)
                  for size, count in sizes_of(line, sheet.engines)],
        "for": [f"{short.use.engine} {iso(short.use.day)}" for short in line.shorts],
    }  # fmt: skip


def parts_more(sheet: Sheet) -> dict[str, Any]:
    """What stands beside the lines."""
    terms, found = sheet.terms, sheet.orders
    return {
        "until": sheet.last.isoformat(),
        "planned_on": None if sheet.plan is None else iso(sheet.plan.first),
        "lead_days": terms.lead,
        "margin_days": terms.margin,
        "money": sheet.money or None,
        "cost": _money(found.cost),
        "unpriced": list(found.unpriced),
        "saved_by_kits": _money(found.saved),
        "waits": [_wait(wait) for wait in found.waits],
        "ready": [_ready(item) for item in sheet.ready],
        "below_nothing": [
            item for item in sheet.used if item in sheet.stocks and sheet.stocks[item].is_short
        ],
        "never_counted": [item for item in sheet.used if item not in sheet.stocks],
        "left_in_store": list(sheet.in_store),
    }


def _wait(wait: Wait) -> dict[str, Any]:
    return {
        "item": wait.use.item,
        "count": wait.count,
        "engine": wait.use.engine,
        "jobs": list(wait.use.jobs),
        "leads_to": wait.use.leads_to or None,
        "wanted": iso(wait.use.day),
        "until": iso(wait.until),
        "days": wait.days,
        "on_order": wait.on_order,
    }


def _ready(item: Ready) -> dict[str, Any]:
    return {
        "item": item.item,
        "have": item.have,
        "reorder_at": item.reorder,
        "spare": item.spare,
        "buy": item.buy,
        "chance": round(item.chance, 4),
        "learned": round(item.learned, 2),
        "worth": round(item.worth, 2),
        "price": round(item.price, 2),
        "price_guessed": item.guessed,
        "called_by": [called.what for called in item.called],
    }


def _money(value: Fraction | None) -> float | None:
    return None if value is None else round(float(value), 2)
