"""The due list and the morning list for the terminal."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Sequence
from datetime import date
from textwrap import wrap

from fleetcare.due.readings import WorthReading, readings_worth_taking
from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.flags.flag import state_words
from fleetcare.flags.morning import GO, HELD, Verdict
from fleetcare.fleet.days import spoken
from fleetcare.fleet.names import natural
from fleetcare.show.table import NO_BREAK, Colour, laid_out, table, wrapped
from fleetcare.show.values import percent, short_reason

NARROW = 60
OLD_FIGURES = 14  # days after which hours are a guess while an engine may run: our design choice
READINGS = 5
_PAINT = re.compile("\x1b\\[[0-9;]*m")


def due_table(
    rows: Sequence[Due],
    held: Collection[str],
    as_of: date,
    width: int,
    colour: Colour,
    clear_too: bool = False,
) -> str:
    """The due list; it stops before the clear rows and says how many there are."""
    shown = [row for row in rows if clear_too or row.status != CLEAR]
    hidden = len(rows) - len(shown)
    cells = [_due_cells(row, row.engine in held, as_of) for row in shown]
    lines = []
    if cells:
        head = ("Engine", "Job", "Status", "Life", "Leads to, and why")
        text = table(head, cells, width, (4, 2, 1), right=(3,), colour=(2, colour))
        if not _fits(text, width):
            used = [f"{life} used; {why}".removeprefix(" used; ") for *_, life, why in cells]
            text = _stacked(cells, used, width, colour)
        lines.append(text)
    elif rows:
        lines.append("Nothing is due.")
    else:
        lines.append("No engine has a job to list.")
    lines += _chains(shown, width)
    lines += readings_lines(readings_worth_taking(rows), as_of, width)
    if rows:
        lines.append(wrapped(_count(shown, hidden), width))
    return "\n".join(lines)


def readings_lines(worth: Sequence[WorthReading], as_of: date, width: int) -> list[str]:
    """The readings most worth taking, a line each, the most telling first."""
    if not worth:
        return []
    lines = [wrapped("Readings most worth taking, by what they could change", width)]
    for item in worth[:READINGS]:
        days = as_of.toordinal() - item.known_through
        age = "1 day" if days == 1 else f"{days} days"
        ran, most = (whole_hours(hours) for hours in (item.likely_hours, item.most_hours))
        tasks = few(item.tasks, 3)
        lines += wrap(
            f"{item.engine}: not read for {age}, {ran} h likely since, perhaps {most} h; "
            f"{tasks} may be used up",
            width, subsequent_indent="  ",
        )  # fmt: skip
    if len(worth) > READINGS:
        more = f"and {len(worth) - READINGS} more (fleetcare evening goes through them)"
        lines.append(wrapped(more, width))
    return [*lines, ""]


def whole_hours(hundredths: int) -> str:
    """Likely hours as they are told: to the hour, since nobody knows them to the minute."""
    return str((hundredths + 50) // 100)


def few(items: Sequence[str], most: int) -> str:
    """The first few of a list, and how many more there are."""
    told = list(items) if len(items) <= most + 1 else [*items[:most], f"{len(items) - most} more"]
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else told[0]


def _count(shown: Sequence[Due], hidden: int) -> str:
    """How many rows of each status; the last line, nearest to where one types next."""
    by_status = Counter(row.status for row in shown)
    told = [
        f"{by_status[status]} {status}"
        for status in (OVERDUE, NO_RECORD, DUE, CLEAR)
        if by_status[status]
    ]
    told += [f"{hidden} clear, not shown (--all shows them)"] if hidden else []
    return f"{', '.join(told)}."


def _chains(rows: Sequence[Due], width: int) -> list[str]:
    """Each precursor's chain once: what fails, what that does, what the repair then needs."""
    chains = {row.rule.name: row.rule.chain for row in rows if row.is_precursor}
    lines: list[str] = []
    for task, chain in chains.items():
        lines += wrap(f"{task}: {chain}", width, subsequent_indent="  ")
    return ["", "What it leads to when it is skipped", *lines, ""] if lines else []


def _due_cells(row: Due, held: bool, as_of: date) -> list[str]:
    engine = f"{row.engine} (held)" if held else row.engine
    life = "" if row.life is None else percent(row.life)
    if row.life_used is None and row.life is not None:
        life = f"≥ {life}" if row.life else ""
    why = [", ".join(row.rule.leads_to)] if row.rule.is_precursor else []
    why.append(short_reason(row))
    if row.put_off_until is not None:
        until = spoken(date.fromordinal(row.put_off_until), as_of)
        times = "" if row.put_off_times == 1 else f" ({row.put_off_times} times)"
        why.append(f"put off to {until}{times}: {row.because}")
    if row.laid_up:
        why.append("before launch")
    elif row.boat is None:
        why.append("in store")
    return [engine, row.rule.name, _status(row, as_of), life, "; ".join(filter(None, why))]


def _status(row: Due, as_of: date) -> str:
    """The status with its day, kept together so that a narrow column breaks in between."""
    words = state_words(row, as_of)
    return words.replace(" ", NO_BREAK).replace(f"since{NO_BREAK}", "since ")


def morning_table(
    verdicts: Sequence[Verdict], width: int, colour: Colour, whole: bool = True,
    laid_up: Sequence[str] = (),
) -> str:  # fmt: skip
    """One line a boat, worst first; boats that just go share a line at the end.

    So do those `laid_up`, of which it is not judged whether they may go.
    Boats whose figures are older than 14 days are named after them, whatever the verdict.
    """
    told = [item for item in verdicts if item.verdict != GO]
    going = [item.boat for item in verdicts if item.verdict == GO]
    lines = []
    if told:
        cells = [
            [item.boat, item.engine, item.verdict, item.reason, _age(item.reading_age_days)]
            for item in told
        ]
        head = ("Boat", "Engine", "Verdict", "Why", "Read")
        text = table(head, cells, width, (3, 0), colour=(2, colour))
        if not _fits(text, width):
            read = [f"{reason}; read: {age}" for *_, reason, age in cells]
            text = _stacked(cells, read, width, colour)
        lines.append(text)
    held = sum(1 for item in verdicts if item.verdict == HELD)
    if going and whole:
        names = [_whole(boat, width) for boat in sorted(going, key=natural)]
        lines.append(wrapped(f"go: {', '.join(names)}", width))
    if laid_up and whole:
        names = [_whole(boat, width) for boat in laid_up]
        lines.append(wrapped(f"laid up: {', '.join(names)}", width))
    lines += _old_figures(verdicts, width)
    if verdicts:
        count = len(verdicts)
        lines.append(
            f"{count} {'boat' if count == 1 else 'boats'}: {held} held; "
            f"{len(told) - held} go, but …; {len(going)} go."
        )
    else:
        lines.append("No boat has an engine that is mounted and not laid up.")
    return "\n".join(lines)


def _old_figures(verdicts: Sequence[Verdict], width: int) -> list[str]:
    """Which boats' figures are so old that their hours are a guess, the oldest first."""
    old = [item for item in verdicts if item.reading_age_days is None
           or item.reading_age_days > OLD_FIGURES]  # fmt: skip
    if not old:
        return []
    oldest_first = sorted(
        old, key=lambda item: (item.reading_age_days is not None, -(item.reading_age_days or 0),
                               natural(item.boat)),
    )  # fmt: skip
    told = [f"{item.boat} ({_days(item.reading_age_days)})" for item in oldest_first]
    names = ", ".join(_whole(text, width) for text in told)
    return [wrapped(f"figures older than {OLD_FIGURES} days: {names}", width)]


def _days(days: int | None) -> str:
    return "never read" if days is None else f"{days} days"


def _whole(name: str, width: int) -> str:
    """A name that stays on one line, where it can."""
    return name.replace(" ", NO_BREAK) if len(laid_out(name)) < width // 2 else name


def _fits(text: str, width: int) -> bool:
    """Whether a table reads well: a phone or a very long name asks for one thing below another."""
    return width >= NARROW and all(
        len(laid_out(_PAINT.sub("", line))) <= width for line in text.splitlines()
    )


def _stacked(
    cells: Sequence[Sequence[str]], below: Sequence[str], width: int, colour: Colour
) -> str:
    """Each row as a line of its own with its state painted, and the rest indented below."""
    lines = []
    for (first, second, words, *_), rest in zip(cells, below, strict=True):
        state = words.replace(NO_BREAK, " ")
        line = wrapped(f"{first}, {second}: {words}", width)
        lines.append(line.removesuffix(state) + colour(state) if line.endswith(state) else line)
        lines.append(wrapped(f"  {rest}", width))
    return "\n".join(lines)


def _age(days: int | None) -> str:
    if days is None:
        return "never"
    return "today" if days == 0 else "1 day ago" if days == 1 else f"{days} days ago"
