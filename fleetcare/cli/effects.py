"""What an entry changed: statuses before and after, next due dates, holds."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.due.records import Due
    from fleetcare.flags.standing import Standing
    from fleetcare.log.entries import Entry
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile

State = tuple["dict[tuple[str, str], Due]", "dict[str, list[Standing]]"]


def state(file: FleetFile, book: RuleBook, engines: Iterable[str], today: date) -> State:
    """The rows and standing findings of some engines."""
    from fleetcare.cli.looking import some_rows

    wanted = set(engines)
    found = some_rows(file, book, today, wanted)
    rows = {(row.engine, row.task): row for row in found.rows if row.engine in wanted}
    return rows, found.stands


def log_and_tell(
    desk: Desk, file: FleetFile, book: RuleBook, entries: list[Entry], tasks: Collection[str] = ()
) -> None:
    """Store entries, then say what they changed: next due dates, statuses, holds.

    Also on engines that hold by now what these engines carried on the day.
    """
    from fleetcare.store.append import concerned

    today = desk.today()
    engines = sorted(file.kin(concerned(entries)))
    before = state(file, book, engines, today)
    desk.store(file, entries)
    if not desk.dry_run:
        for line in changes(before, state(file, book, engines, today), tasks, today):
            click.echo(line)
        for line in _below_the_days_highest(file, entries, today):
            click.echo(line)


def _below_the_days_highest(
    file: FleetFile, entries: Iterable[Entry], today: date
) -> Iterable[str]:
    """Figures that change nothing, since the meter stood higher that day: perhaps that was a slip.

    Of one day nobody knows which figure came first, so the highest counts.
    """
    from fleetcare.fleet.days import spoken
    from fleetcare.fleet.figures import shown

    for entry in entries:
        figure, engine = getattr(entry, "reading", None), getattr(entry, "engine", None)
        if figure is None or engine is None:
            continue
        log, on = file.history(entry.on, engines=[engine]).of(engine), entry.on.toordinal()
        given = zip(log.figure_days, log.figures, strict=True)
        highest = max((value for day, value in given if day == on), default=figure)
        if highest > figure and not any(meter.day == on for meter in log.meters):
            yield (
                f"  {engine} read {shown(highest)} on {spoken(entry.on, today)} too, and the "
                f"highest of a day counts. If that was a slip: fleetcare log {engine} shows the "
                f"entry to undo"
            )


def changes(before: State, after: State, tasks: Collection[str], today: date) -> list[str]:
    """The rows that changed, in words."""
    from fleetcare.flags.flag import state_words
    from fleetcare.fleet.days import spoken

    lines = []
    for key, row in after[0].items():
        old = before[0].get(key)
        if row.task in tasks and row.due_on is not None and row.status == "clear":
            when = spoken(date.fromordinal(row.due_on), today)
            lines.append(f"  {row.engine}: {row.task} next due {when}")
        elif old is not None and old.status != row.status:
            lines.append(
                f"  {row.engine}: {row.task} was {old.status}, now {state_words(row, today)}"
            )
    for engine in sorted({engine for engine, _ in after[0]}):
        lines += [f"  {line}" for line in _holds(before[1], after[1], engine, today)]
    return lines


def by_engine(before: State, after: State, today: date) -> dict[str, list[str]]:
    """By engine, what changed in few words: the job and what it is now, holds."""
    from fleetcare.flags.flag import in_order, state_words

    lines: dict[str, list[str]] = {}
    changed = [
        row for key, row in after[0].items()
        if key in before[0] and before[0][key].status != row.status
    ]  # fmt: skip
    for row in in_order(changed, ()):
        harm = f", leads to {row.rule.leads_to[0]}" if row.is_precursor else ""
        lines.setdefault(row.engine, []).append(f"{row.task} now {state_words(row, today)}{harm}")
    for engine in {engine for engine, _ in after[0]}:
        held = _holds(before[1], after[1], engine, today)
        if held:
            lines.setdefault(engine, []).extend(
                line.strip().removeprefix(f"{engine}: ") for line in held
            )
    return lines


def now_pressing(before: State, after: State) -> list[Due]:
    """The rows that have come to be due or overdue, or worse than they were, worst first."""
    from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE
    from fleetcare.flags.flag import in_order

    worse = (CLEAR, NO_RECORD, DUE, OVERDUE)
    rows = [
        row for key, row in after[0].items()
        if row.status in (DUE, OVERDUE) and key in before[0]
        and worse.index(row.status) > worse.index(before[0][key].status)
    ]  # fmt: skip
    return in_order(rows, ())


def _holds(
    before: dict[str, list[Standing]], after: dict[str, list[Standing]], engine: str, today: date
) -> list[str]:
    """What came to hold an engine, or no longer does, and what is wanted of it."""
    lines = []
    old = [item for item in before.get(engine, []) if item.holds]
    new = [item for item in after.get(engine, []) if item.holds]
    known = {(item.day, item.what) for item in old}
    for item in new:
        wanted = f"; wanted: {', '.join(item.wanted)}" if item.wanted else ""
        if (item.day, item.what) in known:
            proof = f"; to be seen: {item.proof}" if item.proof else ""
            lines.append(f"{engine} is still held: {item.words(today)}{wanted}{proof}")
            continue
        lines.append(f"{engine} is held: {item.words(today)}{wanted}")
        if item.lifts:
            lines.append(f"  until {item.lifts}")
    if old and not new:
        lines.append(f"{engine} is no longer held")
    for item in after.get(engine, []):
        if not item.holds and item not in before.get(engine, []) and item.wanted:
            lines.append(f"{engine}: wanted after {item.what}: {', '.join(item.wanted)}")
    return lines
