"""Events for calendars: one for each job, and which changes of it are worth sending.

In: rows of the due list, and what was last sent. Out: `Event` records and the new state. An
event moves and keeps its UID; SEQUENCE counts the changes of date, title or status that were
sent. Refused: a time without its zone.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.fleet.days import spoken
from fleetcare.rules.rule import PRECURSOR_HARMS, RuleSet
from fleetcare.show.event_words import counted, describe, plain

NAMESPACE = uuid.UUID("27b0b0cd-9531-4498-a1bc-ae919d63050b")  # of every fleet's own namespace
JOB = "job"
HORIZON_DAYS = 365
LEAST_MOVE = 2  # days; a smaller change of date is not sent: our design choice
SHARE_OF_DAYS_LEFT = 10  # nor is one of less than a tenth of the days left: our design choice


@dataclass(frozen=True, slots=True)
class Event:
    """An all-day event: what a calendar shows of one job.

    `on` is the day it stands on, `status` the due list's word. `stamp` (UTC) is when it was last
    changed and `sequence` how often since it was first sent.
    """

    uid: str
    kind: str
    engine: str
    boat: str | None
    task: str
    on: date
    title: str
    status: str
    description: str
    categories: tuple[str, ...]
    stamp: datetime
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Sent:
    """What was last sent of an event, and when that changed (UTC)."""

    uid: str
    on: date
    title: str
    status: str
    sequence: int
    changed: datetime


# -- from rows to events --------------------------------------------------------------------------


def events_of(
    rows: Sequence[Due],
    fleet_id: str,
    as_of: date,
    horizon_days: int = HORIZON_DAYS,
    rules: Mapping[str, RuleSet] | None = None,
) -> tuple[Event, ...]:
    """An event for each job that has a day within the horizon, by day and title.

    Overdue jobs, precursors without record, and due ones whose day is past stand on `as_of`. Jobs
    put off are left out unless they are precursors; so are those without record, which
    `calendar_note` counts. `rules` gives each engine's rule set by the engine's name, for the
    cautions, minutes and parts of the access steps.
    """
    today, last = as_of.toordinal(), as_of.toordinal() + horizon_days
    found = []
    for row in rows:
        day = _day_of(row, today)
        if day is None or day > last or (_is_put_off(row, today) and not row.is_precursor):
            continue
        ruleset = rules.get(row.engine) if rules else None
        engine, task, harms = plain(row.engine), plain(row.task), _harms(row)
        found.append(
            Event(
                uid=event_uid(fleet_id, JOB, row.first_name, row.task),
                kind=JOB,
                engine=engine,
                boat=None if row.boat is None else plain(row.boat),
                task=task,
                on=date.fromordinal(day),
                title=_title(row, engine, task, as_of),
                status=row.status,
                description=describe(row, as_of, ruleset),
                categories=(row.status, plain(row.rule.component), *harms),
                stamp=_midnight(as_of),
            )
        )
    return tuple(sorted(found, key=_by_day))


def event_uid(fleet_id: str, kind: str, *names: str) -> str:
    """The UID of an event, always the same for the same fleet, kind of event and names."""
    fleet = uuid.uuid5(NAMESPACE, fleet_id)
    # names hold no line breaks, so joining with one keeps them apart
    return str(uuid.uuid5(fleet, "\n".join((kind, *names))))


def calendar_note(rows: Sequence[Due], as_of: date) -> str:
    """For the calendar's description: how old the figures are, and what it does not show."""
    today = as_of.toordinal()
    hidden = [row for row in rows if not row.is_precursor]
    unknown = sum(row.status == NO_RECORD for row in hidden)
    put_off = sum(row.status != NO_RECORD and _is_put_off(row, today) for row in hidden)
    out = [f"{counted(unknown, 'job')} without a record"] if unknown else []
    out += [f"{counted(put_off, 'job')} put off"] if put_off else []
    note = f"Figures as of {spoken(as_of)}."
    return f"{note} Not shown here: {' and '.join(out)}; fleetcare due lists them." if out else note


def _day_of(row: Due, today: int) -> int | None:
    """The day a job's event stands on; None when it has none."""
    if row.status == OVERDUE or row.is_precursor:
        return today
    if row.status == NO_RECORD:
        return None
    if row.due_on is None:
        return today if row.status == DUE else None
    return max(row.due_on, today)


def _is_put_off(row: Due, today: int) -> bool:
    return row.put_off_until is not None and row.put_off_until > today


def _harms(row: Due) -> tuple[str, ...]:
    """What a precursor leads to; nothing for other rows."""
    if not row.is_precursor:
        return ()
    return tuple(harm for harm in row.rule.leads_to if harm in PRECURSOR_HARMS)


def _title(row: Due, engine: str, task: str, as_of: date) -> str:
    today = as_of.toordinal()
    if row.status == NO_RECORD:
        said = NO_RECORD
    elif row.status == OVERDUE:
        since = row.overdue_since or row.due_on
        said = (
            OVERDUE if since is None else f"overdue since {spoken(date.fromordinal(since), as_of)}"
        )
    elif row.due_on is None:
        said = DUE
    elif row.due_on < today:
        said = f"due since {spoken(date.fromordinal(row.due_on), as_of)}"
    else:
        said = f"due {spoken(date.fromordinal(row.due_on), as_of)}"
    tail = f" - leads to {' and '.join(_harms(row))}" if row.is_precursor else ""
    return f"{engine}: {task}, {said}{tail}"


# -- what is worth sending ------------------------------------------------------------------------


def settled(
    events: Sequence[Event], sent: Mapping[str, Sent], as_of: date, now: datetime
) -> tuple[tuple[Event, ...], dict[str, Sent]]:
    """The events as they go out at the moment `now`, and what has been sent after that.

    A new event has SEQUENCE 0. A change of date, title or status adds 1 and stamps it with `now`;
    a date that moved too little keeps the old date and title; anything else keeps its stamp.
    What was sent of events that are gone is kept, so that they go on counting when they return.
    """
    moment, state, out = utc(now), dict(sent), []
    for event in events:
        before = sent.get(event.uid)
        if before is None:
            event = replace(event, sequence=0, stamp=moment)
        elif _is_unchanged(event, before) or _moved_too_little(event, before, as_of):
            event = replace(
                event, on=before.on, title=before.title,
                sequence=before.sequence, stamp=utc(before.changed),
            )  # fmt: skip
        else:
            stamp = max(moment, utc(before.changed))  # a clock set back must not undo a revision
            event = replace(event, sequence=before.sequence + 1, stamp=stamp)
        state[event.uid] = Sent(
            event.uid, event.on, event.title, event.status, event.sequence, event.stamp
        )
        out.append(event)
    return tuple(sorted(out, key=_by_day)), state


def unsettled(events: Iterable[Event], as_of: date) -> tuple[Event, ...]:
    """The events for another day than today, which leave no trace: SEQUENCE 0, that day's stamp."""
    return tuple(replace(event, sequence=0, stamp=_midnight(as_of)) for event in events)


def _is_unchanged(event: Event, before: Sent) -> bool:
    return (event.on, event.title, event.status) == (before.on, before.title, before.status)


def _moved_too_little(event: Event, before: Sent, as_of: date) -> bool:
    """Whether only the date changed, and by too little to disturb anybody's calendar."""
    moved, left = abs((event.on - before.on).days), (before.on - as_of).days
    if event.status != before.status or event.status not in (DUE, CLEAR) or left < 0:
        return False  # what is late steps to today, however small the step
    if not moved or (moved >= LEAST_MOVE and moved * SHARE_OF_DAYS_LEFT >= left):
        return False
    start = f"{event.engine}: {event.task}, due"
    days = (spoken(before.on, before.on), spoken(before.on))  # its year may have been left out
    return before.title in [f"{start} {day}" for day in days]  # else its name changed too


def _by_day(event: Event) -> tuple[date, str, str]:
    return event.on, event.title, event.uid


def utc(moment: datetime) -> datetime:
    """The moment in UTC, to the second; a naive one is refused with a ValueError."""
    if moment.tzinfo is None:
        raise ValueError(f"a stamp needs its time zone: {moment.isoformat()}")
    return moment.astimezone(UTC).replace(microsecond=0)


def _midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
