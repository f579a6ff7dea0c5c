"""Tick-offs read from a calendar server and logged as jobs, each once.

A tick-off is known again by its to-do and its moment. What the log refuses is told by name and
stays to be told again; a to-do that was deleted is not done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo

from fleetcare.errors import FaultsError, RefusedError
from fleetcare.log.entries import Job
from fleetcare.share.caldav_server import Server
from fleetcare.share.push import Pushed
from fleetcare.share.tickoff import Held, held
from fleetcare.store.append import add_entries
from fleetcare.store.fetch import fetch_fleet, fetch_log
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.pushed import fetch_pushed, forget_pushed, is_collected, keep_collected
from fleetcare.store.sent import Connection

LOGGED, THERE_ALREADY, REFUSED, DELETED = "logged", "logged already", "refused", "deleted there"
CANCELLED, UNREAD = "called off there", "unread"


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a to-do: a word of the above, its title, the job, its entry, what to say."""

    what: str
    title: str
    words: str = ""
    job: Job | None = None
    entry: int | None = None


@dataclass(frozen=True, slots=True)
class Collector:
    """What collecting works with; `by` signs what the server names nobody for.

    `on` is the day of tick-offs for which the server tells none.
    """

    file: FleetFile
    server: Server
    zone: tzinfo
    today: date
    stamp: str
    by: str
    tasks: Callable[[str], frozenset[str]]
    on: date | None = None
    dry_run: bool = False

    def collect(self, say: Callable[[Taken], None]) -> None:
        """Log every tick-off that is new; each is told as soon as it is in the log."""
        with self.file.reading():
            rows = [Pushed(*r) for r in fetch_pushed(self.file.connection, self.server.url)]
        there = self.server.read([row.href for row in rows])
        for row in rows:
            item = there.get(row.href)
            if item is None:
                say(Taken(DELETED, row.title, "not taken as done"))
                continue
            state = held(item.content, self.zone, row.changed)
            taken = self._read(row, state)
            if taken is not None:
                say(taken)

    def _read(self, row: Pushed, state: Held | str) -> Taken | None:
        if isinstance(state, str) or state.uid != row.uid:
            why = state if isinstance(state, str) else "is another to-do now"
            return Taken(UNREAD, row.title, why)
        if state.cancelled:
            return Taken(CANCELLED, row.title, "not taken as done")
        if not state.done:
            return None
        on = state.on or self.on
        if on is None:
            return Taken(REFUSED, row.title, "the server tells no day; --on DATE gives it")
        if on > self.today:
            return Taken(REFUSED, row.title, f"{on} lies in the future")
        return self._log(row, state, on)

    def _log(self, row: Pushed, state: Held, on: date) -> Taken | None:
        """One tick-off, in one transaction with the mark that it was taken."""
        try:
            with self.file.writing(keep=not self.dry_run) as connection:
                if is_collected(connection, row.uid, state.key):
                    return None
                job = self._job(connection, row, state, on)
                before = _logged_before(connection, job, row.clock)
                if before is None:
                    entry = add_entries(connection, [job], self.stamp)[0]
                    taken = Taken(LOGGED, row.title, "", job, entry)
                else:
                    entry = before
                    taken = Taken(THERE_ALREADY, row.title, f"entry {entry}", job, entry)
                keep_collected(connection, row.uid, state.key, entry)
                forget_pushed(connection, row.calendar, row.uid)
                return taken
        except FaultsError as error:
            first = error.faults[0]
            return Taken(REFUSED, row.title, f"{first.where} {first.what}")
        except RefusedError as error:
            return Taken(REFUSED, row.title, str(error))

    def _job(self, connection: Connection, row: Pushed, state: Held, on: date) -> Job:
        fleet = fetch_fleet(connection)
        named = [engine for engine in fleet.engines.values() if engine.first_name == row.engine]
        if not named:
            raise RefusedError(f'engine "{row.engine}" is not in the fleet (any more)')
        if row.task not in self.tasks(named[0].name):
            raise RefusedError(f'the rules have no task "{row.task}" (any more)')
        return Job(
            on=on, by=state.by or self.by, note="ticked off on the calendar server",
            engine=named[0].name, task=row.task,
        )  # fmt: skip


def _logged_before(connection: Connection, job: Job, clock: int) -> int | None:
    """The number of a counting entry of the same job within a day, after this clock began."""
    for item in fetch_log(connection, job.engine):
        entry = item.entry
        if item.withdrawn or not isinstance(entry, Job) or entry.task != job.task:
            continue
        if abs(entry.on - job.on) <= timedelta(days=1) and entry.on.toordinal() > clock:
            return item.number
    return None
