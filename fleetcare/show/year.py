"""Looking back on a year: its accounts as text for the terminal and as values."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from textwrap import wrap
from typing import Any

from fleetcare.flags.year import Account, Year
from fleetcare.fleet.days import spoken
from fleetcare.fleet.figures import shown
from fleetcare.fleet.names import natural
from fleetcare.fleet.waters import WORDS
from fleetcare.show.lists import NARROW
from fleetcare.show.table import NO_BREAK, laid_out, table, wrapped
from fleetcare.show.values import hours, iso
from fleetcare.usage.meter import Hours

IN_STORE = "in store"
MOST_NAMES = 6
HEAD = (
    "boat", "engine", "hours", "hours_fresh", "hours_brackish", "hours_salt", "likely_hours",
    "days_run", "jobs", "precursor_jobs", "minutes", "jobs_without_rule", "parts", "findings",
    "incidents", "days_held", "known_from", "figures_to", "hours_year_before",
)  # fmt: skip

Column = tuple[str, Callable[[Account], str]]


def year_values(item: Account) -> dict[str, Any]:
    """One account; `boat` is null in store, `engine` unless the row is of one engine."""
    mix = item.mix
    return {
        "boat": item.boat,
        "engine": item.engine,
        "hours": hours(item.hours),
        "hours_fresh": hours(mix[0]),
        "hours_brackish": hours(mix[1]),
        "hours_salt": hours(mix[2]),
        "likely_hours": hours(item.likely),
        "days_run": item.run_days,
        "jobs": item.jobs,
        "precursor_jobs": item.precursor_jobs,
        "minutes": item.minutes,
        "jobs_without_rule": item.without_rule,
        "parts": [{"item": name, "count": count} for name, count in sorted(item.parts.items())],
        "findings": item.findings,
        "incidents": item.incidents,
        "days_held": item.held_days,
        "known_from": iso(item.known_from),
        "figures_to": iso(item.figures_to),
        "hours_year_before": hours(item.before),
    }


def year_row(item: Account) -> dict[str, Any]:
    """One account for a spreadsheet: the parts in one cell."""
    parts = [f"{name} {count}" for name, count in sorted(item.parts.items())]
    return {**year_values(item), "parts": parts}


def year_more(seen: Year) -> dict[str, Any]:
    """What stands beside the rows: the span, its total, jobs that belong to no row."""
    total = year_values(seen.total)
    for name in ("boat", "engine"):
        del total[name]
    return {
        "from": seen.first.isoformat(),
        "to": seen.last.isoformat(),
        "jobs_before_known": seen.earlier_jobs,
        "total": total,
    }


def year_text(seen: Year, asked_to: date, width: int) -> str:
    """The accounts as a table, or as two where one is too wide, then what is not known."""
    lines = [wrapped(_title(seen, asked_to), width)]
    if seen.accounts:
        rows = [(_name(item), item) for item in seen.accounts]
        rows += [("all", seen.total)] if len(rows) > 1 else []
        name = "Engine" if any(item.engine for item in seen.accounts) else "Boat"
        lines += ["", *_laid(name, rows, _ran(seen), _work(seen), width), ""]
    else:
        lines.append("There was no boat, and no engine in store.")
    lines += [wrapped(line, width) for line in _notes(seen)]
    return "\n".join(lines)


def _title(seen: Year, asked_to: date) -> str:
    first, last = seen.first, seen.last
    if (first.month, first.day) == (1, 1) and asked_to == date(first.year, 12, 31):
        so_far = f" so far, to {spoken(last, first)}" if last < asked_to else ""
        return f"The year {first.year}{so_far}"
    return f"From {spoken(first)} to {spoken(last)}{' so far' if last < asked_to else ''}"


def _name(item: Account) -> str:
    boat = item.boat or IN_STORE
    return boat if item.engine is None else f"{item.engine}, {boat}"


def _laid(
    name: str, rows: Sequence[tuple[str, Account]], ran: list[Column], work: list[Column],
    width: int,
) -> list[str]:  # fmt: skip
    """One table, or hours above and work below it, or on a phone a paragraph for each row."""
    whole = _table(name, rows, ran + work, width, flexible=())
    if _fits(whole, width):
        return whole.splitlines()
    above, below = (_table(name, rows, part, width, flexible=(0,)) for part in (ran, work))
    if width >= NARROW and _fits(above, width) and _fits(below, width):
        return [*above.splitlines(), "", *below.splitlines()]
    lines = []
    for title, item in rows:
        told = (f"{head.lower()} {cell(item)}" for head, cell in ran + work if cell(item))
        lines += [wrapped(title, width)]
        lines += wrap(
            ", ".join(text.replace(" ", NO_BREAK) for text in told), width,
            initial_indent="  ", subsequent_indent="  ", break_long_words=False,
        )  # fmt: skip
    return [line.replace(NO_BREAK, " ") for line in lines]


def _table(
    name: str, rows: Sequence[tuple[str, Account]], columns: list[Column], width: int,
    flexible: Sequence[int],
) -> str:  # fmt: skip
    cells = [[title, *(cell(item) for _, cell in columns)] for title, item in rows]
    head = (name, *(title for title, _ in columns))
    return table(head, cells, width, flexible, right=range(1, len(head)))


def _fits(text: str, width: int) -> bool:
    return all(len(laid_out(line)) <= width for line in text.splitlines())


def _ran(seen: Year) -> list[Column]:
    """What ran: hours apart by water where there was more than one."""
    columns: list[Column] = [("Hours", lambda item: _figure(item.hours))]
    wet = [water for water in range(3) if seen.total.mix[water]]
    if len(wet) > 1:
        columns += [_of_water(water) for water in wet]
    if seen.total.likely:
        columns.append(("Likely", lambda item: _figure(item.likely)))
    columns.append(("Days", lambda item: str(item.run_days)))
    if any(item.before for item in seen.accounts):
        columns.append(("Year before", _change))
    return columns


def _of_water(water: int) -> Column:
    return (WORDS[water].capitalize(), lambda item: _figure(item.mix[water]))


def _work(seen: Year) -> list[Column]:
    """What was done, and what was seen."""
    return [
        ("Jobs", lambda item: str(item.jobs)),
        ("Precursors", lambda item: str(item.precursor_jobs)),
        ("Minutes", lambda item: str(item.minutes)),
        ("Parts", lambda item: str(sum(item.parts.values()))),
        ("Not fine", lambda item: str(item.findings)),
        ("Incidents", lambda item: str(item.incidents)),
        ("Held", lambda item: str(item.held_days)),
    ]


def _figure(value: Hours) -> str:
    """Hours with one decimal, so that a column can be read down."""
    text = shown(value, 1)
    return text if "." in text else f"{text}.0"


def _change(item: Account) -> str:
    """How the hours differ from the year before, in whole per cent, rounded half up."""
    if not item.before:
        return ""
    share = Fraction(item.hours - item.before) * 100 / item.before
    whole = int((abs(share) * 2 + 1) // 2)
    sign = "±" if whole == 0 else "+" if share > 0 else "-"
    return f"{sign}{whole} %"


def _notes(seen: Year) -> list[str]:
    """The parts used, what the columns mean, and what is not in them."""
    total = seen.total
    notes = []
    if total.parts:
        used = ", ".join(f"{count} {name}" for name, count in sorted(total.parts.items()))
        notes.append(f"Parts used, by the rules of the jobs: {used}.")
    notes.append(
        "Days: known to have run, by runs and readings. Precursors: jobs that lead to overheating "
        "or a seized swivel when skipped. Minutes: at the bench, by the rules. Held: days on "
        "which the boat must not go out."
    )
    if total.likely:
        notes.append("Likely: hours that may have been run besides; they are not in the hours.")
    notes += _grouped("Known only from {}: {}.", seen.known_from, seen.first)
    notes += _grouped(
        "Figures to {}: {}; of the days after, only runs that were logged.",
        seen.figures_to, seen.first,
    )  # fmt: skip
    if total.without_rule:
        notes.append(
            f"{_count(total.without_rule, 'job')} of no rule of today: without minutes and parts."
        )
    if seen.earlier_jobs:
        notes.append(
            f"{_count(seen.earlier_jobs, 'job')} from before the engine was known: not counted."
        )
    return notes


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _grouped(sentence: str, days: Mapping[str, int], beside: date) -> list[str]:
    """A sentence for each day, with the engines that it is true of."""
    by_day: dict[int, list[str]] = {}
    for engine, day in days.items():
        by_day.setdefault(day, []).append(engine)
    return [
        sentence.format(spoken(date.fromordinal(day), beside), _names(by_day[day]))
        for day in sorted(by_day)
    ]


def _names(engines: list[str]) -> str:
    """The engines, the first few by name where there are many."""
    ordered = sorted(engines, key=natural)
    if len(ordered) <= MOST_NAMES + 1:
        return ", ".join(ordered)
    return f"{', '.join(ordered[:MOST_NAMES])} and {len(ordered) - MOST_NAMES} more"
