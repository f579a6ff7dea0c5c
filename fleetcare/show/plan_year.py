"""The year ahead as a table and as values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from fleetcare.fleet.days import MONTHS, spoken
from fleetcare.plan.year import Month, YearAhead
from fleetcare.show.table import table, wrapped
from fleetcare.show.values import with_sign

MOST_ITEMS = 10
HEAD = (
    "month", "minutes_most", "minutes", "minutes_least", "capacity", "parts_most", "parts",
    "parts_least", "boat_days_most", "boat_days", "boat_days_least", "jobs_most", "jobs",
    "jobs_least",
)  # fmt: skip


def year_text(year: YearAhead, sign: str, width: int) -> str:
    """A line a month with the middle and its span, the year's sum, what it uses up."""
    rows = [_cells(month, sign) for month in year.months]
    rows.append(_cells(_total(year.months), sign, "sum"))
    first, last = date.fromordinal(year.first), date.fromordinal(year.last)
    lines = [
        wrapped(f"The year ahead, {spoken(first)} to {spoken(last)}: the middle, then from little "
                "use to much", width),
        "",
        table(
            ("Month", "Workshop minutes", "of", "Parts", "Boat-days", "Jobs"), rows, width,
            (1, 3, 4, 5), right=(1, 2, 3, 4, 5),
        ),
        "",
        *_over(year.months, width),
        *_items(year, sign, width),
        wrapped(
            "Jobs are followed through the year as they come due again, by the forecast: one year "
            "in ten asks for less than the least, one for more than the most. A budget: nothing "
            "is fitted to days. Without flushes after each run, and without what breaks.", width,
        ),
    ]  # fmt: skip
    return "\n".join(lines)


def _cells(month: Month, sign: str, name: str = "") -> list[str]:
    return [
        name or f"{MONTHS[month.month - 1]} {month.year}",
        _span(month.minutes),
        f"{month.capacity:,}",
        with_sign(_span([round(money) for money in month.parts]), sign),
        _span(month.boat_days),
        _span(month.jobs),
    ]


def _span(three: Sequence[int]) -> str:
    """The middle, and from the least to the most of the three courses."""
    low, high = min(three), max(three)
    middle = f"{three[1]:,}"
    return middle if low == high else f"{middle} ({low:,}-{high:,})"


def _total(months: Iterable[Month]) -> Month:
    """Every month together; each course of use summed on its own."""
    every = list(months)

    def whole(name: str) -> Any:
        return tuple(
            sum((getattr(month, name)[at] for month in every), Fraction(0)) for at in range(3)
        )

    return Month(
        0, 0, _ints(whole("minutes")), whole("parts"), _ints(whole("boat_days")),
        _ints(whole("jobs")), sum(month.capacity for month in every),
    )  # fmt: skip


def _ints(three: Sequence[Fraction]) -> tuple[int, int, int]:
    one, two, last = (int(number) for number in three)
    return one, two, last


def _over(months: Iterable[Month], width: int) -> list[str]:
    """The months that ask for more than the workshop has."""
    over = [month for month in months if month.minutes[1] > month.capacity]
    if not over:
        return []
    named = ", ".join(f"{MONTHS[month.month - 1]} {month.year}" for month in over)
    return [wrapped(f"More than the workshop has: {named}", width), ""]


def _items(year: YearAhead, sign: str, width: int) -> list[str]:
    if not year.items:
        return []
    told = []
    for item, count, price in year.items[:MOST_ITEMS]:
        each = "" if price is None else f" at {with_sign(f'{float(price):g}', sign)}"
        told.append(f"{count} {item}{each}")
    more = len(year.items) - MOST_ITEMS
    tail = f"; {more} more items (--format json has them)" if more > 0 else ""
    unpriced = sum(price is None for _, _, price in year.items)
    lines = [wrapped(f"Parts of the year, the middle: {', '.join(told)}{tail}.", width)]
    if unpriced:
        words = f"{unpriced} items have no price in the rules and are not in the sums."
        lines.append(wrapped(words, width))
    return [*lines, ""]


def year_rows(year: YearAhead) -> list[dict[str, Any]]:
    """A row a month; minutes, money of parts with a price, boat-days, jobs."""
    return [_row(month) for month in year.months]


def _row(month: Month) -> dict[str, Any]:
    row: dict[str, Any] = {"month": f"{month.year:04d}-{month.month:02d}"}
    for name, three in (
        ("minutes", month.minutes), ("boat_days", month.boat_days), ("jobs", month.jobs),
        ("parts", tuple(float(money) for money in month.parts)),
    ):  # fmt: skip
        row[f"{name}_most"], row[name], row[f"{name}_least"] = max(three), three[1], min(three)
    row["capacity"] = month.capacity
    return {name: row[name] for name in HEAD}


def year_more(year: YearAhead, sign: str) -> dict[str, Any]:
    """What stands beside the months: what the year uses up at the middle."""
    return {
        "money": sign or None,
        "items": [
            {"item": item, "count": count, "price": None if price is None else float(price)}
            for item, count, price in year.items
        ],
    }
