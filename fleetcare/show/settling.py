"""Which changes of events are worth sending, and how they are counted.

In: events, and what was last sent. Out: the events as they go out, and the new state. SEQUENCE
counts the changes of date, title or status that were sent; the stamp also tells of a change of
the description. Refused: a time without its zone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from fleetcare.due.records import NO_RECORD, OVERDUE
from fleetcare.fleet.days import spoken
from fleetcare.show.events import Event, by_day, midnight

LEAST_MOVE = 2  # days; a smaller change of date is not sent: our design choice
SHARE_OF_DAYS_LEFT = 10  # nor is one of less than a tenth of the days left: our design choice


@dataclass(frozen=True, slots=True)
class Sent:
    """What was last sent of an event, what it rested on, and when that changed (UTC)."""

    uid: str
    on: date
    title: str
    status: str
    sequence: int
    changed: datetime
    moving: str = ""
    basis: str = ""


def settled(
    events: Sequence[Event], sent: Mapping[str, Sent], as_of: date, now: datetime
) -> tuple[tuple[Event, ...], dict[str, Sent]]:
    """The events as they go out at the moment `now`, and what has been sent after that.

    A new event has SEQUENCE 0. A change of date, title or status adds 1 and stamps it with `now`;
    a date that moved too little keeps the old date and title. Where only what the description
    rests on changed, it is stamped with `now` too; else description and stamp stay as they were,
    whatever the day. What was sent of events that are gone is kept, so that they go on counting
    when they return.
    """
    moment, state, out = utc(now), dict(sent), []
    for event in events:
        before = sent.get(event.uid)
        if before is None:
            event = replace(event, sequence=0, stamp=moment)
        else:
            # a clock set back must not undo a revision
            event = _after(event, before, as_of, max(moment, utc(before.changed)))
        state[event.uid] = Sent(
            event.uid, event.on, event.title, event.status, event.sequence, event.stamp,
            event.moving_lines, event.basis,
        )  # fmt: skip
        out.append(event)
    return tuple(sorted(out, key=by_day)), state


def _after(event: Event, before: Sent, as_of: date, moment: datetime) -> Event:
    """An event that was sent before, as it goes out now."""
    if not _is_unchanged(event, before) and not _moved_too_little(event, before, as_of):
        return replace(event, sequence=before.sequence + 1, stamp=moment)
    event = replace(event, on=before.on, title=before.title, sequence=before.sequence)
    if event.basis != before.basis:
        return replace(event, stamp=moment)
    return replace(event.with_moving(before.moving), stamp=utc(before.changed))


def unsettled(events: Iterable[Event], as_of: date) -> tuple[Event, ...]:
    """The events for another day than today, which leave no trace: SEQUENCE 0, that day's stamp."""
    return tuple(replace(event, sequence=0, stamp=midnight(as_of)) for event in events)


def _is_unchanged(event: Event, before: Sent) -> bool:
    return (event.on, event.title, event.status) == (before.on, before.title, before.status)


def _moved_too_little(event: Event, before: Sent, as_of: date) -> bool:
    """Whether only the date changed, and by too little to disturb anybody's calendar."""
    moved, left = abs((event.on - before.on).days), (before.on - as_of).days
    if event.status != before.status or event.status in (OVERDUE, NO_RECORD) or left < 0:
        return False  # what is late steps to today, however small the step
    if not moved or (moved >= LEAST_MOVE and moved * SHARE_OF_DAYS_LEFT >= left):
        return False
    days = (spoken(before.on, before.on), spoken(before.on))  # its year may have been left out
    return before.title in [f"{event.lead} {day}" for day in days]  # else its name changed too


def utc(moment: datetime) -> datetime:
    """The moment in UTC, to the second; a naive one is refused with a ValueError."""
    if moment.tzinfo is None:
        raise ValueError(f"a stamp needs its time zone: {moment.isoformat()}")
    return moment.astimezone(UTC).replace(microsecond=0)
