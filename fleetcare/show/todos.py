"""To-dos for a calendar server (VTODO, RFC 5545, 3.6.2): one for each occurrence of a job.

In: rows of the due list. Out: `ToDo` records, and each as the bytes of a calendar object. A job's
to-do has its clock start in its UID, so that the next occurrence is another to-do and none ever
recurs. DUE is the day after the last permitted one: by the RFC a to-do is late once its DUE day
begins.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, Due
from fleetcare.rules.rule import RuleSet
from fleetcare.show.event_words import describe, plain
from fleetcare.show.events import JOB, event_uid, events_of
from fleetcare.show.settling import LEAST_MOVE, SHARE_OF_DAYS_LEFT, utc

TO_DO = "to-do"
PRODID = "-//fleetcare//to-dos 1//EN"
FAR = 100_000  # days: what was sent once is kept up however far it moved
HORIZON_DAYS = 30


@dataclass(frozen=True, slots=True)
class ToDo:
    """One occurrence of a job: `due` is the last permitted day (ordinal), None without one."""

    uid: str
    engine: str
    first_name: str
    task: str
    clock: int
    due: int | None
    title: str
    lead: str
    status: str
    who: str
    description: str
    categories: tuple[str, ...]
    is_near: bool = True


def todos_of(
    rows: Sequence[Due],
    fleet_id: str,
    as_of: date,
    horizon_days: int = HORIZON_DAYS,
    rules: Mapping[str, RuleSet] | None = None,
    known_to: Mapping[str, int] | None = None,
) -> tuple[ToDo, ...]:
    """A to-do for every job that is not put off; `is_near` marks those to be put on a calendar.

    Near are the overdue ones, the due ones, those without record, and those due within the
    horizon.
    """
    today = as_of.toordinal()
    events = {
        (event.about.first_name, event.about.task): event
        for event in events_of(rows, fleet_id, as_of, FAR, rules, known_to)
        if event.kind == JOB
    }
    made = []
    for row in rows:
        if row.put_off_until is not None and row.put_off_until > today and not row.is_precursor:
            continue
        event = events.get((row.first_name, row.task))
        named = f"{plain(row.engine)}: {plain(row.task)}"
        due = _last_day(row)
        if event is None and row.status == CLEAR:
            continue
        ruleset = rules.get(row.engine) if rules else None
        known = known_to.get(row.engine) if known_to else None
        made.append(
            ToDo(
                uid=event_uid(fleet_id, TO_DO, row.first_name, row.task, str(row.clock_start)),
                engine=row.engine, first_name=row.first_name, task=row.task,
                clock=row.clock_start, due=due,
                title=event.title if event else f"{named}, {row.status}",
                lead=event.lead if event else named,
                status=row.status, who=row.rule.who,
                description=event.description if event else describe(row, as_of, ruleset, known),
                categories=event.categories if event else (row.status, plain(row.rule.component)),
                is_near=row.status != CLEAR or (due is not None and due <= today + horizon_days),
            )
        )  # fmt: skip
    return tuple(made)


def _last_day(row: Due) -> int | None:
    """The last day on which the job is not late."""
    if row.status == NO_RECORD:
        return None
    if row.due_on is not None:
        return row.due_on
    return None if row.overdue_since is None else row.overdue_since - 1


def moved_too_little(todo: ToDo, due: int | None, title: str, status: str, as_of: date) -> bool:
    """Whether only the day changed since it was sent so, and by too little to disturb anybody."""
    if todo.status != status or status not in (DUE, CLEAR) or todo.due is None or due is None:
        return False
    moved, left = abs(todo.due - due), due - as_of.toordinal()
    if not moved or left < 0 or not title.startswith(todo.lead):
        return False
    return moved < LEAST_MOVE or moved * SHARE_OF_DAYS_LEFT < left


def todo_text(
    todo: ToDo, stamp: datetime, sequence: int, completed: datetime | None = None
) -> bytes:
    """The calendar object: UTF-8, CRLF, without METHOD, RRULE and alarm.

    With `completed` (a moment with its zone) it is a to-do that was answered here.
    """
    from icalendar import Calendar, Todo

    from fleetcare.show.calendar import text_value as text

    item = Todo()
    item.add("uid", text(todo.uid))
    for name in ("dtstamp", "last-modified"):
        item.add(name, utc(stamp))
    item.add("sequence", sequence)
    if todo.due is not None:
        item.add("due", date.fromordinal(todo.due) + timedelta(days=1))
    item.add("status", "NEEDS-ACTION" if completed is None else "COMPLETED")
    if completed is not None:
        item.add("completed", utc(completed))
        item.add("percent-complete", 100)
    item.add("categories", text(*(plain(word) for word in todo.categories)))
    item.add("summary", text(todo.title))
    item.add("description", text(todo.description))
    calendar = Calendar()
    calendar.add("prodid", text(PRODID))
    calendar.add("version", "2.0")
    calendar.add_component(item)
    return bytes(calendar.to_ical())
