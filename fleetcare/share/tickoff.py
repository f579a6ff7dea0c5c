"""A to-do as a calendar server holds it: whether it was ticked off, when, and by whom.

In: the object's bytes. Out: a `Held` record, or why it cannot be read. Nothing in it is worked
out, so a hostile one takes no more than its size.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo

from fleetcare.share.booking_event import plain_text
from fleetcare.share.ics import Chunk, cut
from fleetcare.show.event_words import plain

MOST_BYTES = 300_000  # of one to-do
ASKED = frozenset(
    {"UID", "STATUS", "PERCENT-COMPLETE", "COMPLETED", "LAST-MODIFIED", "ATTENDEE", "SUMMARY"}
)
_MOMENT = re.compile(r"(\d{8})(?:T(\d{6})(Z)?)?")
_NAME = re.compile(r';CN=(?:"([^"]*)"|([^;:"]*))', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Held:
    """What a to-do says now.

    `done` is any of the three ways programs tick one off; `key` is by which that very tick-off is
    known again, `on` its day by the fleet's clock, None when the server tells no time.
    """

    uid: str
    title: str
    done: bool
    cancelled: bool
    key: str
    on: date | None
    by: str


def held(content: bytes, zone: tzinfo, ours: str = "") -> Held | str:
    """The to-do, or why it cannot be read.

    `ours` is the LAST-MODIFIED it was sent with, which tells nothing of when it was ticked off.
    """
    if len(content) > MOST_BYTES:
        return f"is larger than {MOST_BYTES // 1000} kB"
    sheet = cut(content, "VTODO", ASKED)
    if sheet.wrong:
        return sheet.wrong
    if len(sheet.events) != 1:
        return f"holds {len(sheet.events)} to-dos"
    chunk = sheet.events[0]
    if chunk.broken:
        return chunk.broken
    status = chunk.value("STATUS").strip().upper()
    completed, changed = chunk.value("COMPLETED").strip(), chunk.value("LAST-MODIFIED").strip()
    done = status != "CANCELLED" and (
        status == "COMPLETED" or bool(completed) or chunk.value("PERCENT-COMPLETE").strip() == "100"
    )
    when = completed or ("" if changed == ours else changed)
    return Held(
        uid=plain(plain_text(chunk.value("UID"))), title=plain(plain_text(chunk.value("SUMMARY"))),
        done=done, cancelled=status == "CANCELLED", key=when, on=_day(when, zone),
        by=_who(chunk),
    )  # fmt: skip


def _day(text: str, zone: tzinfo) -> date | None:
    """The day of a moment in UTC by the fleet's clock; one without a zone stands as it is."""
    match = _MOMENT.fullmatch(text)
    if match is None:
        return None
    try:
        if not match[2]:
            return datetime.strptime(match[1], "%Y%m%d").date()
        moment = datetime.strptime(match[1] + match[2], "%Y%m%d%H%M%S")
        return (moment.replace(tzinfo=UTC).astimezone(zone) if match[3] else moment).date()
    except (ValueError, OverflowError):
        return None


def _who(chunk: Chunk) -> str:
    """The name of the one who completed it (RFC 5545, 3.2.12: PARTSTAT), where a server says so."""
    for line in chunk.lines:
        if line.name == "ATTENDEE" and "PARTSTAT=COMPLETED" in line.params.upper():
            name = _NAME.search(line.params)
            if name:
                return plain(name[1] or name[2] or "")[:80]
    return ""
