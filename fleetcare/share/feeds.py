"""Feeds by audience: their events settled against what was last sent, and that remembered.

Events that several audiences share are settled once for all of them. The first event of a feed
whose figures are old says so; an event that gains or loses that line is stamped anew, its
SEQUENCE left alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from fleetcare.fleet.fleet import Fleet
from fleetcare.share.audiences import FLEET, Audience, feed_name
from fleetcare.share.sight import Sight
from fleetcare.show.calendar import Rendered, calendar
from fleetcare.show.events import Event, by_day, digest, event_uid
from fleetcare.show.settling import Sent, settled, unsettled, utc
from fleetcare.store.fits import last_entry
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.sent import (
    Connection,
    FeedRow,
    SentRow,
    fetch_sent,
    fetch_sent_feeds,
    keep_sent,
    keep_sent_feeds,
)

LOOKS = 3  # so often is a look repeated that another program's write overtook
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed as it goes out: its events, what it says of itself, when it last changed."""

    uid: str
    name: str
    note: str
    events: tuple[Event, ...]
    changed: date | datetime

    def content(
        self, name: str = "", alarm: str | None = None, rendered: Rendered | None = None
    ) -> bytes:
        """The bytes of the feed; `rendered` keeps what feeds share from one to the next."""
        return calendar(
            self.events, name or self.name, self.note, self.changed, alarm=alarm, uid=self.uid,
            rendered=rendered,
        )  # fmt: skip


def unsettled_feed(seen: Sight, audience: Audience) -> Feed:
    """A feed of another day than today: it neither reads nor changes what was sent."""
    events = sorted(unsettled(seen.of(audience), seen.as_of), key=by_day)
    warning = seen.warning(audience)
    return _feed(seen, audience, _warned(events, warning), seen.note(audience), seen.as_of)


def settled_feeds(
    connection: Connection, seen: Sight, audiences: Iterable[Audience], now: datetime
) -> dict[Audience, Feed]:
    """The feeds of today for these audiences, which the fleet file remembers as sent.

    Call it inside a write transaction, with a sight that is still true (see `current`).
    """
    wanted = {audience: seen.of(audience) for audience in audiences}
    union = {event.uid: event for events in wanted.values() for event in events}
    before = sent_of(connection)
    events, after = settled(list(union.values()), before, seen.as_of, now)
    places = {event.uid: at for at, event in enumerate(events)}
    shown = {
        audience: [events[at] for at in sorted(places[event.uid] for event in mine)]
        for audience, mine in wanted.items()
    }
    whole_before = {row[0]: row for row in fetch_sent_feeds(connection)}
    whole = {
        audience: _whole(seen, audience, mine, whole_before.get(audience.kept), utc(now))
        for audience, mine in shown.items()
    }
    anew = _warned_otherwise(whole_before, whole.values())
    stamps = {uid: max(utc(now), after[uid].changed) for uid in anew & union.keys()}
    after |= {uid: replace(after[uid], changed=stamp) for uid, stamp in stamps.items()}
    keep_sent(connection, [_row(item) for uid, item in after.items() if before.get(uid) != item])
    keep_sent_feeds(connection, [row for row in whole.values() if whole_before.get(row[0]) != row])
    return {
        audience: _feed(
            seen, audience, _warned(_stamped(mine, stamps), whole[audience][4]),
            whole[audience][1], datetime.fromisoformat(whole[audience][5]),
        )
        for audience, mine in shown.items()
    }  # fmt: skip


def _stamped(events: Sequence[Event], stamps: Mapping[str, datetime]) -> list[Event]:
    """The events, some of them with another stamp."""
    return [
        replace(event, stamp=stamps[event.uid]) if event.uid in stamps else event
        for event in events
    ]


def _warned_otherwise(before: Mapping[str, FeedRow], now: Iterable[FeedRow]) -> set[str]:
    """The UIDs of events that gain, lose or change the warning of their feed."""
    found: set[str] = set()
    for row in now:
        old = before.get(row[0])
        if old is not None and old[3:5] != row[3:5]:
            found |= {old[3], row[3]}
    return found


def _whole(
    seen: Sight, audience: Audience, events: Sequence[Event], old: FeedRow | None, now: datetime
) -> FeedRow:
    """What a feed says as a whole, with the moment it last said something else."""
    warning = seen.warning(audience) if events else ""
    holds = digest("\n".join(sorted(event.uid for event in events)))
    first = events[0].uid if warning else ""
    row = (audience.kept, seen.note(audience), holds, first, warning)
    if old is not None and old[:5] == row:
        return old
    changed = now if old is None else max(now, datetime.fromisoformat(old[5]))
    return (*row, changed.isoformat())


def _warned(events: Sequence[Event], warning: str) -> tuple[Event, ...]:
    """The events, the first of them with the warning above all it says."""
    if not warning or not events:
        return tuple(events)
    first = replace(events[0], description=f"{warning}\n{events[0].description}")
    return (first, *events[1:])


def _feed(
    seen: Sight, audience: Audience, events: tuple[Event, ...], note: str, changed: date | datetime
) -> Feed:
    fleet = seen.fleet
    names = () if audience.kind == FLEET else (audience.kept,)
    uid = event_uid(fleet.id, "calendar", *names)
    return Feed(uid, feed_name(audience, fleet), note, events, changed)


def current(
    file: FleetFile,
    look: Callable[[], Sight],
    act: Callable[[Connection, Sight], T],
) -> T:
    """Act, inside one write transaction, on a sight of the fleet as the file holds it then.

    Looking takes longer than writing, so it is done before and repeated when another program
    wrote meanwhile; at last it is done while nobody else may write.
    """
    for _ in range(LOOKS):
        before = _state(file)
        seen = look()
        with file.writing() as connection:
            if _state(file) == before:
                return act(connection, seen)
    with file.writing() as connection:
        return act(connection, look())


def _state(file: FleetFile) -> tuple[Fleet, int]:
    """All of the file that a sight rests on: what there is, and how far the log goes."""
    with file.reading():
        return file.fleet(), last_entry(file.connection)


def _sent(row: SentRow) -> Sent:
    return Sent(
        row[0], date.fromordinal(row[1]), row[2], row[3], row[4], datetime.fromisoformat(row[5]),
        row[6], row[7],
    )  # fmt: skip


def _row(item: Sent) -> SentRow:
    return (
        item.uid, item.on.toordinal(), item.title, item.status, item.sequence,
        item.changed.isoformat(), item.moving, item.basis,
    )  # fmt: skip


def sent_of(connection: Connection) -> Mapping[str, Sent]:
    """What was last sent of every event, by UID."""
    return {row[0]: _sent(row) for row in fetch_sent(connection)}
