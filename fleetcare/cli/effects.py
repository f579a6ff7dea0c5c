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
    from fleetcare.due.rows import due_list
    from fleetcare.flags.standing import standing

    fleet, history = file.fleet(), file.history(today)
    rows = {}
    for name in engines:
        for row in due_list(fleet, history, book, today, name):
            rows[row.engine, row.task] = row
    return rows, standing(fleet, history, book)


def log_and_tell(
    desk: Desk, file: FleetFile, book: RuleBook, entries: list[Entry], tasks: Collection[str] = ()
) -> None:
    """Store entries, then say what they changed: next due dates, statuses, holds."""
    from fleetcare.store.append import concerned

    today = desk.today()
    engines = sorted(concerned(entries))
    before = state(file, book, engines, today)
    desk.store(file, entries)
    if not desk.dry_run:
        for line in changes(before, state(file, book, engines, today), tasks, today):
            click.echo(line)


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
    lines += _holds(before[1], after[1], {engine for engine, _ in after[0]}, today)
    return lines


def _holds(
    before: dict[str, list[Standing]], after: dict[str, list[Standing]], engines: set[str],
    today: date,
) -> list[str]:  # fmt: skip
    lines = []
    for engine in sorted(engines):
        old = [item for item in before.get(engine, []) if item.holds]
        new = [item for item in after.get(engine, []) if item.holds]
        for item in new:
            if item not in old:
                wanted = f"; wanted: {', '.join(item.wanted)}" if item.wanted else ""
                lines.append(f"  {engine} is held: {item.words(today)}{wanted}")
                if item.lifts:
                    lines.append(f"    until {item.lifts}")
        if old and not new:
            lines.append(f"  {engine} is no longer held")
        waiting = [item for item in after.get(engine, []) if not item.holds]
        for item in waiting:
            if item not in before.get(engine, []) and item.wanted:
                lines.append(f"  {engine}: wanted after {item.what}: {', '.join(item.wanted)}")
    return lines


def season_list(before: State, after: State, mark: str) -> list[str]:
    """By engine, the jobs of a lay-up or launch still to do, and what else it made due."""
    from fleetcare.due.records import CLEAR, DUE, OVERDUE

    pressing = (DUE, OVERDUE)
    by_engine: dict[str, list[str]] = {}
    for key, row in after[0].items():
        old = before[0].get(key)
        is_new = row.status in pressing and (old is None or old.status not in pressing)
        if is_new or (row.rule.season == mark and row.status != CLEAR):
            by_engine.setdefault(row.engine, []).append(row.task)
    return [f"  {engine}: to do: {', '.join(jobs)}" for engine, jobs in by_engine.items()]
