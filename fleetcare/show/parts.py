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
from fleetcare.show.table import NO_BREAK, laid_out, table, wrapped

SOON = 7  # days ahead that are shown order by order; what comes later is summed up by item
FEW = 3  # engines of a line that are named
MOST_WAITS, MOST_NAMES = 6, 12


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that the list of orders tells.

    `used` are the items that any job wants; `only` is the one item that was asked for.
    """

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
    only: str = ""


def parts_text(sheet: Sheet, width: int, whole: bool) -> str:
    """Orders now and soon, later ones by item, what waits, what to have ready, what is not known.

    With `whole` every order, wait and item is shown.
    """
    lines = [wrapped(_heading(sheet), width)]
    soon = [line for line in sheet.orders.lines if whole or _is_soon(line, sheet)]
    later = [line for line in sheet.orders.lines if line not in soon]
    if soon:
        lines += ["", _table(soon, sheet, width)]
    if later:
        lines += ["", wrapped(f"Later, until {_day(sheet.last, sheet)}", width)]
        lines.append(_later(later, sheet, width))
    lines += _waits(sheet, width, whole)
    lines += ready_lines(sheet.ready, width, whole)
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
        return (
            f"No {clean(sheet.only) or 'parts'} {'is' if sheet.only else 'are'} wanted for {until}."
        )
    if not sheet.orders.lines:
        return f"Nothing is to be ordered for {until}: the shelf has it all."
    days = "the days they are due" if sheet.plan is None else "the days of the kept plan"
    return f"To order for {until}, on {days}"


def _table(lines: Sequence[Line], sheet: Sheet, width: int) -> str:
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
    text = table(head, rows, width, (len(head) - 1, 1), right=right)
    if fits(text, width):
        return text
    return _stacked(rows, width)


def _stacked(rows: Iterable[Sequence[str]], width: int) -> str:
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
    by_size = ", ".join(f"{count} for {size}" if size else str(count) for size, count in sizes)
    uses = list(dict.fromkeys((short.use.engine, short.use.day) for short in line.shorts))
    if len(uses) <= FEW:
        return ", ".join(f"{clean(engine)} {_day(day, sheet)}" for engine, day in uses)
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
    short = (text.replace(" ", NO_BREAK) if len(laid_out(text)) < width // 2 else text
             for text in told)  # fmt: skip
    return wrapped(f"  {', '.join(short)}", width)


def _waits(sheet: Sheet, width: int, whole: bool) -> list[str]:
    """What is late whatever is ordered today: engine by engine, what leads to harm first.

    Items that were never counted stand apart: they may lie there all the same.
    """
    by_engine: dict[tuple[str, int, bool], list[Wait]] = {}
    by_item: dict[str, list[Wait]] = {}
    for wait in sheet.orders.waits:
        if wait.use.item in sheet.stocks:
            key = (wait.use.engine, wait.until, wait.on_order)
            by_engine.setdefault(key, []).append(wait)
        else:
            by_item.setdefault(wait.use.item, []).append(wait)
    lines = []
    if by_engine:
        title = "Jobs that wait for parts, even if these are ordered today"
        lines += ["", wrapped(title, width)]
        told = [_wait(waits, sheet, whole) for waits in by_engine.values()]
        lines += [wrapped(f"  {text}", width) for text in (told if whole else told[:MOST_WAITS])]
        if not whole and len(told) > MOST_WAITS:
            left = list(dict.fromkeys(clean(engine) for engine, *_ in list(by_engine)[MOST_WAITS:]))
            who = ", ".join(left) if len(left) <= MOST_NAMES else f"{len(left)} engines more"
            lines.append(wrapped(f"  and of {who} (--all)", width))
    if by_item:
        title = "Never counted: if none lie there, jobs wait for these, ordered today"
        lines += ["", wrapped(title, width)]
        together: dict[str, list[str]] = {}
        for item, waits in by_item.items():
            together.setdefault(_unless_there(waits, sheet), []).append(clean(item))
        lines += [wrapped(f"  {', '.join(names)}: {who}", width) for who, names in together.items()]
    return lines


def _unless_there(waits: Sequence[Wait], sheet: Sheet) -> str:
    engines = list(dict.fromkeys(clean(wait.use.engine) for wait in waits))
    who = ", ".join(engines) if len(engines) <= FEW else f"{len(engines)} engines"
    harms = dict.fromkeys(wait.use.leads_to for wait in waits if wait.use.leads_to)
    leads = f" (leads to {' and '.join(harms)})" if harms else ""
    first = min(wait.use.day for wait in waits)
    until = max(wait.until for wait in waits)
    return f"{who}{leads}, from {_day(first, sheet)} to {_day(until, sheet)}"


def _wait(waits: Sequence[Wait], sheet: Sheet, whole: bool) -> str:
    first = waits[0]
    items = _some([clean(wait.use.item) for wait in waits], whole)
    jobs = _some([job for wait in waits for job in wait.use.jobs], whole)
    harms = dict.fromkeys(wait.use.leads_to for wait in waits if wait.use.leads_to)
    leads = f" (leads to {' and '.join(harms)})" if harms else ""
    comes = "on order" if first.on_order else "ordered today"
    return (
        f"{clean(first.use.engine)}, wanted {_day(min(wait.use.day for wait in waits), sheet)}: "
        f"{jobs}{leads} wait to {_day(first.until, sheet)} for {items} ({comes})"
    )


def _some(names: Sequence[str], whole: bool) -> str:
    """The names, the first few where there are many."""
    unique = list(dict.fromkeys(names))
    if whole or len(unique) <= FEW + 1:
        return ", ".join(unique)
    return f"{', '.join(unique[:FEW])} and {len(unique) - FEW} more"


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
        named = _some([clean(item) for item in unknown], whole)
        notes.append(
            f"?: never delivered nor counted, taken as none: {named}. "
            "fleetcare parts count ITEM N says what is there."
        )
    sizes = {size for line in sheet.orders.lines for size, _ in sizes_of(line, sheet.engines)}
    if len(sizes) > 1:
        notes.append("One name may stand for several sizes: look at the engines before you order.")
    if sheet.in_store:
        notes.append(
            f"Without the jobs of engines in store: {', '.join(sheet.in_store)} (--in-store)."
        )
    return notes


def _cost(sheet: Sheet) -> str:
    found = sheet.orders
    total = money_words(found.cost, sheet.money)
    text = f"In all {total}, by what was paid last, else by the rules' examples"
    if found.saved:
        text += f"; kits save {money_words(found.saved, sheet.money)}"
    if found.unpriced:
        count = len(found.unpriced)
        text += f"; {count} {'item has' if count == 1 else 'items have'} no price"
    return f"{text}."
