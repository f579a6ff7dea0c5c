"""What is kept beside the log and refers to nothing: fits, what was sent, subscribers, a plan."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import date, datetime

from fleetcare.errors import Fault
from fleetcare.fleet.names import folded
from fleetcare.plan.kept import from_text

FIRST, LAST = date.min.toordinal(), date.max.toordinal()
_WITH_NAME = ("boat", "engine")  # audiences that name something of the fleet
FITS = "fleetcare check --mend throws such away; a list learns them anew"
SENT = "The next feed write, publish or push sends it anew; calendars may show it twice until then"


def kept_faults(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Rows worked out of the log, or sent, that refer to nothing in it."""
    known = _known(connection)
    yield from fit_faults(connection)
    yield from _sent(connection)
    yield from _pushed(connection, known["engine"])
    yield from _subscribers(connection, known)
    yield from _plan(connection, known["engine"])


def _known(connection: sqlite3.Connection) -> dict[str, set[str]]:
    """Every name that a boat or an engine answers to, folded."""
    found: dict[str, set[str]] = {}
    for kind, first in (("boat", "''"), ("engine", "first_name")):
        rows = connection.execute(f"select name, {first}, also from {kind}").fetchall()  # noqa: S608 - fixed texts
        found[kind] = {
            folded(text) for name, old, also in rows for text in (name, old, *also.split(";"))
        } - {""}
    return found


def fit_faults(connection: sqlite3.Connection) -> Iterator[Fault]:
    """What the forecast learned from entries, or on days, that are not there."""
    last = connection.execute("select coalesce(max(id), 0) from log").fetchone()[0]
    for key, name, entry, day in connection.execute(
        "select fit.engine, engine.name, entry, day from fit "
        "left join engine on engine.id = fit.engine order by fit.engine"
    ).fetchall():
        where = f'forecast of "{name or key}"'
        if name is None:
            yield Fault(where, "is of an engine that is not in the fleet", FITS)
        elif entry > last or not FIRST <= day <= LAST:
            yield Fault(where, f"was learned from entry {entry} on day {day}, not there", FITS)


def _sent(connection: sqlite3.Connection) -> Iterator[Fault]:
    for uid, day, changed in connection.execute("select uid, day, changed from sent order by uid"):
        if not FIRST <= day <= LAST or not _is_time(changed):
            yield Fault(f"event {uid}", "was sent of a day, or at a time, that is none", SENT)
    for audience, changed, first, there in connection.execute(
        "select audience, changed, first, exists (select 1 from sent where uid = first) "
        "from sent_feed order by audience"
    ):
        if not _is_time(changed) or (first and not there):
            yield Fault(f'feed "{audience}"', "was sent with an event that is not kept", SENT)


def _is_time(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _pushed(connection: sqlite3.Connection, engines: set[str]) -> Iterator[Fault]:
    for engine, title in connection.execute(
        "select engine, title from pushed order by calendar, uid"
    ):
        if folded(engine) not in engines:
            yield Fault(
                f'to-do "{title}"', f'is of an engine "{engine}" that is not in the fleet',
                "Delete it on the calendar server; fleetcare feed collect then forgets it",
            )  # fmt: skip


def _subscribers(connection: sqlite3.Connection, known: dict[str, set[str]]) -> Iterator[Fault]:
    for name, audience in connection.execute("select name, audience from subscriber order by id"):
        kind, _, whose = audience.partition(" ")
        if kind in _WITH_NAME and folded(whose) not in known[kind]:
            yield Fault(
                f'subscriber "{name}"', f'has a feed of {kind} "{whose}", which is not in the '
                f"fleet", f'fleetcare feed revoke "{name}" ends it',
            )  # fmt: skip


def _plan(connection: sqlite3.Connection, engines: set[str]) -> Iterator[Fault]:
    row = connection.execute("select made, text from plan order by id desc limit 1").fetchone()
    if row is None:
        return
    mend = "fleetcare plan --fix makes it anew"
    try:
        plan = from_text(row[1])
    except (ValueError, TypeError, KeyError):
        yield Fault("kept plan", "cannot be read", mend)
        return
    if not FIRST <= row[0] <= LAST:
        yield Fault("kept plan", f"was made on a day that is none ({row[0]})", mend)
    named = [visit.engine for day in plan.days for visit in day.visits]
    for engine in dict.fromkeys(name for name in named if folded(name) not in engines):
        yield Fault("kept plan", f'has a visit of "{engine}", which is not in the fleet', mend)
