"""What to order, by when, as text for the terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.fleet.days import spoken
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.figures import shown
from fleetcare.fleet.names import natural
from fleetcare.plan.orders import Line, Orders
from fleetcare.plan.ready import Ready
from fleetcare.plan.records import Plan
from fleetcare.plan.shelf import Stock
from fleetcare.plan.short import Wait
from fleetcare.plan.terms import Terms
from fleetcare.show.parts_ready import ready_lines
from fleetcare.show.parts_words import clean, fits, money_words
from fleetcare.show.table import Colour, table, wrapped

SOON = 7  # days ahead that are shown order by order; what comes later is summed up by item
FEW = 3  # engines of a line that are named
MOST_WAITS = 6


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that the list of orders tells; `used` are the items that any job wants."""

    as_of: date
    last: date
    orders: Orders
    ready: Sequence[Ready]
    stocks: Mapping[str, Stock]
    engines: Mapping[str, Engine]
    terms: Terms
    plan: Plan | None
    in_store: Sequence[str]
    used: Sequence[str]
    money: str = ""


def parts_text(sheet: Sheet, width: int, colour: Colour, whole: bool) -> str:
    """Orders now and soon, later ones by item, what waits, what to have ready, what is not known.

    With `whole` every order, wait and item is shown.
    """
    lines = [wrapped(_heading(sheet), width)]
    soon = [line for line in sheet.orders.lines if whole or _is_soon(line, sheet)]
    later = [line for line in sheet.orders.lines if line not in soon]
    if soon:
        lines += ["", _table(soon, sheet, width, colour)]
    if later:
        lines += ["", wrapped(f"Later, until {_day(sheet.last, sheet)}", width)]
        lines.append(_later(later, sheet, width))
    lines += _waits(sheet, width, whole)
    lines += ready_lines(sheet.ready, sheet.money, width, whole)
    notes = _notes(sheet, whole, later)
    if notes:
        lines += ["", *(wrapped(note, width) for note in notes)]
    return "\n".join(lines)


def _is_soon(line: Line, sheet: Sheet) -> bool:
    return line.order_by <= sheet.as_of.toordinal() + SOON


def _day(day: date | int, sheet: Sheet) -> str:
    on = day if isinstance(day, date) else date.fromordinal(day)
    return spoken(on, sheet.as_of)


def _heading(sheet: Sheet) -> str:
    until = f"the jobs until {_day(sheet.last, sheet)}"
    if not sheet.used:
        return f"No parts are wanted for {until}."
    if not sheet.orders.lines:
        return f"Nothing is to be ordered for {until}: the shelf has it all."
    days = "days the jobs are due on" if sheet.plan is None else "kept plan, else due days"
    return f"To order for {until} ({days})"


def _table(lines: Sequence[Line], sheet: Sheet, width: int, colour: Colour) -> str:
    priced = any(line.cost is not None for line in lines)
    head = ["Order by", "Item", "No.", "Shelf", "For"]
    rows = []
    for line in lines:
        row = [_when(line, sheet), _item(line), str(line.count), _shelf(line, sheet)]
        rows.append([*row, _for(line, sheet)])
    if priced:
        head.insert(4, f"Cost{f' {clean(sheet.money)}' if sheet.money else ''}")
        for row, line in zip(rows, lines, strict=True):
            row.insert(4, "" if line.cost is None else _sum(line.cost))
    right = (2, 3, 4) if priced else (2, 3)
    text = table(head, rows, width, (len(head) - 1, 1), right=right, colour=(0, colour))
    if fits(text, width):
        return text
    return _stacked(rows, width, colour)


def _stacked(rows: Iterable[Sequence[str]], width: int, colour: Colour) -> str:
    """On a phone: each line of an order as a sentence, what it is for below it."""
    lines = []
    for when, item, count, shelf, *_, purpose in rows:
        lines.append(wrapped(f"{when}: {count} {item} (shelf {shelf})", width))
        lines.append(wrapped(f"  {purpose}", width))
    return "\n".join(lines)


def _when(line: Line, sheet: Sheet) -> str:
    today = sheet.as_of.toordinal()
    if line.last_day < today:
        return "late, now"
    return "now" if line.order_by <= today else _day(line.order_by, sheet)


def _item(line: Line) -> str:
    if not line.is_kit:
        return clean(line.item)
    served = Counter[str]()
    for short in line.shorts:
        served[short.use.item] += short.count
    inside = ", ".join(f"{count} {clean(item)}" for item, count in sorted(served.items()))
    return f"{clean(line.item)} (for {inside})"


def _shelf(line: Line, sheet: Sheet) -> str:
    if line.is_kit:
        return ""
    stock = sheet.stocks.get(line.item)
    return "?" if stock is None else str(stock.on_hand)


def _for(line: Line, sheet: Sheet) -> str:
    """Engines and days, or how many of each size and from which day on."""
    sizes = sizes_of(line, sheet.engines)
    by_size = ", ".join(f"{count} {size}" if size else str(count) for size, count in sizes)
    uses = list(dict.fromkeys((short.use.engine, short.use.day) for short in line.shorts))
    if len(uses) <= FEW:
        told = ", ".join(f"{engine} {_day(day, sheet)}" for engine, day in uses)
        return f"{told} ({', '.join(size for size, _ in sizes)})" if len(sizes) > 1 else told
    engines = len({engine for engine, _ in uses})
    many = "1 engine" if engines == 1 else f"{engines} engines"
    return f"{many} from {_day(line.wanted, sheet)}: {by_size}"


def sizes_of(line: Line, engines: Mapping[str, Engine]) -> list[tuple[str, int]]:
    """How many pieces are for engines of each family, else of each horsepower."""
    counts: Counter[str] = Counter()
    for short in line.shorts:
        counts[size_of(engines[short.use.engine])] += short.count
    return sorted(counts.items(), key=lambda pair: natural(pair[0]))


def size_of(engine: Engine) -> str:
    """What tells an engine's parts from another's: its family, else its horsepower."""
    if engine.family:
        return clean(engine.family)
    return "" if engine.hp is None else f"{shown(engine.hp * 100)} hp"


def _sum(value: Fraction) -> str:
    return f"{float(value):.2f}"


def _later(lines: Sequence[Line], sheet: Sheet, width: int) -> str:
    """By item how many are to be ordered later, and the first day to order any."""
    total: Counter[str] = Counter()
    first: dict[str, int] = {}
    for line in lines:
        total[line.item] += line.count
        first[line.item] = min(first.get(line.item, line.order_by), line.order_by)
    told = (
        f"{total[item]} {clean(item)} ({_day(first[item], sheet)})"
        for item in sorted(total, key=lambda item: (first[item], natural(item)))
    )
    return wrapped(f"  {', '.join(text.replace(' ', chr(0xA0)) for text in told)}", width)


def _waits(sheet: Sheet, width: int, whole: bool) -> list[str]:
    """What is late whatever is ordered today: engine by engine, what leads to harm first."""
    groups: dict[tuple[str, int], list[Wait]] = {}
    for wait in sheet.orders.waits:
        groups.setdefault((wait.use.engine, wait.until), []).append(wait)
    if not groups:
        return []
    lines = ["", "Waits for parts, even when they are ordered today"]
    told = list(groups.items())
    shown_now = told if whole else told[:MOST_WAITS]
    for (engine, until), waits in shown_now:
        jobs = ", ".join(dict.fromkeys(job for wait in waits for job in wait.use.jobs))
        items = ", ".join(dict.fromkeys(clean(wait.use.item) for wait in waits))
        since = min(wait.use.day for wait in waits)
        harm = " (leads to overheating or a seized swivel)"
        urgent = harm if any(wait.use.precursor for wait in waits) else ""
        there = "what is on order" if all(wait.on_order for wait in waits) else items
        lines.append(
            wrapped(
                f"  {engine}: {jobs}{urgent}: wanted {_day(since, sheet)}, "
                f"{there} comes {_day(until, sheet)}",
                width,
            )
        )
    if len(shown_now) < len(told):
        lines.append(f"  {len(told) - len(shown_now)} more engines wait (--all shows them).")
    return lines


def _notes(sheet: Sheet, whole: bool, later: Sequence[Line]) -> list[str]:
    notes = []
    if later:
        notes.append("--all shows every order, with its engines.")
    if sheet.orders.lines:
        notes.append(_cost(sheet))
    below = [item for item in sheet.used if (stock := sheet.stocks.get(item)) and stock.is_short]
    if below:
        told = ", ".join(f"{clean(item)} ({sheet.stocks[item].on_hand})" for item in below)
        notes.append(f"Below nothing by the log, so count it: {told}.")
    unknown = [item for item in sheet.used if item not in sheet.stocks]
    if unknown:
        named = ", ".join(map(clean, unknown if whole else unknown[:4]))
        more = "" if whole or len(unknown) <= 4 else f" and {len(unknown) - 4} more"
        notes.append(
            f"?: never delivered nor counted, taken as none: {named}{more}. "
            "fleetcare parts count ITEM N says what is there."
        )
    if (
        len({size_of(sheet.engines[s.use.engine]) for x in sheet.orders.lines for s in x.shorts})
        > 1
    ):
        notes.append(
            "One name may stand for several sizes: compare with the engines before ordering."
        )
    if sheet.in_store:
        notes.append(
            f"Without the jobs of engines in store: {', '.join(sheet.in_store)} (--in-store)."
        )
    return notes


def _cost(sheet: Sheet) -> str:
    found = sheet.orders
    text = f"In all {money_words(found.cost, sheet.money)}, at what was paid last or the rules' example"
    if found.saved:
        text += f"; kits save {money_words(found.saved, sheet.money)}"
    if found.unpriced:
        count = len(found.unpriced)
        text += f"; {count} {'item has' if count == 1 else 'items have'} no price"
    return f"{text}."
