"""To-dos put on a calendar server, brought up to date, and answered there when they were here.

Each change is made on the condition that the server holds what we sent last; where it does not,
theirs wins: nothing is overwritten, and it is told. A to-do that somebody deleted is not put
there again unless asked, and one that was ticked off is left for `collect`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo
from typing import NamedTuple

from fleetcare.share.caldav_server import ConflictError, Item, Server
from fleetcare.share.tickoff import Held, held
from fleetcare.show.settling import utc
from fleetcare.show.todos import ToDo, moved_too_little, todo_text
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.pushed import (
    fetch_pushed,
    forget_pushed,
    is_collected,
    keep_pushed,
)

PUT, CHANGED, ANSWERED, REMOVED, KEPT = "put", "changed", "answered", "removed", "kept"
DELETED, TICKED, THEIRS, UNREAD = "deleted there", "ticked off there", "changed there", "unread"
STANDING = (DELETED, TICKED, THEIRS, UNREAD)  # what is told of each by name


class Pushed(NamedTuple):
    """How a to-do was last sent, in the order of the table."""

    calendar: str
    uid: str
    href: str
    etag: str
    engine: str
    task: str
    clock: int
    due: int | None
    title: str
    status: str
    sequence: int
    changed: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a to-do: one of the words above, its title, and what else to say."""

    what: str
    title: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Pusher:
    """What pushing works with: `last_done` gives the day of the job that started a clock."""

    file: FleetFile
    server: Server
    zone: tzinfo
    as_of: date
    now: datetime
    dry_run: bool = False
    restore: bool = False

    def push(
        self,
        todos: Sequence[ToDo],
        last_done: Mapping[tuple[str, str], int | None],
        say: Callable[[Outcome], None],
    ) -> None:
        """Bring the calendar to what is due; each to-do is told as soon as it is dealt with."""
        with self.file.reading():
            rows = [Pushed(*r) for r in fetch_pushed(self.file.connection, self.server.url)]
        there = self.server.read([row.href for row in rows])
        wanted = {todo.uid: todo for todo in todos}
        for row in rows:
            say(self._bring(row, there.get(row.href), wanted.get(row.uid), last_done))
        known = {row.uid for row in rows}
        for todo in todos:
            if todo.is_near and todo.uid not in known:
                say(self._put(todo))

    # -- one that was sent before -----------------------------------------------------------------

    def _bring(
        self, row: Pushed, item: Item | None, todo: ToDo | None,
        last_done: Mapping[tuple[str, str], int | None],
    ) -> Outcome:  # fmt: skip
        if item is None:
            return self._gone(row, todo)
        state = held(item.content, self.zone, row.changed)
        if isinstance(state, str) or state.uid != row.uid:
            why = state if isinstance(state, str) else "is another to-do now"
            return Outcome(UNREAD, row.title, f"{why}; left as it is")
        if state.done:
            return self._ticked(row, state)
        try:
            if todo is None:
                return self._close(row, item, last_done)
            return self._change(row, item, todo)
        except ConflictError:
            return self._conflict(row)

    def _gone(self, row: Pushed, todo: ToDo | None) -> Outcome:
        """Deleted there: not done, and not put there again unless asked."""
        if todo is None:
            self._forget(row)
            return Outcome(KEPT, row.title)
        if self.restore:
            return self._put(todo)
        words = "not taken as done; left so (--restore puts it there again)"
        return Outcome(DELETED, row.title, words)

    def _ticked(self, row: Pushed, state: Held) -> Outcome:
        with self.file.reading():
            again = is_collected(self.file.connection, row.uid, state.key)
        if again:  # logged, and taken back here since
            words = "it was logged and then taken back here; untick it there"
        else:
            words = "fleetcare feed collect logs it"
        return Outcome(TICKED, row.title, words)

    def _change(self, row: Pushed, item: Item, todo: ToDo) -> Outcome:
        if moved_too_little(todo, row.due, row.title, row.status, self.as_of):
            todo = replace(todo, due=row.due, title=row.title)
        if (todo.due, todo.title, todo.status) == (row.due, row.title, row.status):
            return Outcome(KEPT, row.title)
        _want_ours(item, row)
        if not self.dry_run:
            sequence = row.sequence + 1
            content = todo_text(todo, self.now, sequence)
            etag = self.server.change(row.href, content, item.etag)
            self._keep(todo, row.href, etag, sequence)
        return Outcome(CHANGED, todo.title)

    def _close(
        self, row: Pushed, item: Item, last_done: Mapping[tuple[str, str], int | None]
    ) -> Outcome:
        """Not wanted any more: complete it there when the job was logged, else take it away."""
        _want_ours(item, row)
        done = last_done.get((row.engine, row.task))
        answered = done is not None and done > row.clock
        if not self.dry_run:
            if answered:
                todo = ToDo(
                    row.uid, row.engine, row.engine, row.task, row.clock, row.due, row.title,
                    row.title, row.status, "", "Logged in the fleet's own log.", (row.status,),
                )  # fmt: skip
                content = todo_text(todo, self.now, row.sequence + 1, completed=self.now)
                self.server.change(row.href, content, item.etag)
            else:
                self.server.remove(row.href, item.etag)
        self._forget(row)
        return Outcome(ANSWERED if answered else REMOVED, row.title)

    def _conflict(self, row: Pushed) -> Outcome:
        """Somebody else changed it: read it again, and leave theirs."""
        item = self.server.get(row.href)
        state = held(item.content, self.zone, row.changed) if item else None
        if isinstance(state, Held) and state.done:
            return self._ticked(row, state)
        return Outcome(THEIRS, row.title, "left as it is; nothing was overwritten")

    # -- a new one --------------------------------------------------------------------------------

    def _put(self, todo: ToDo) -> Outcome:
        href = self.server.href(todo.uid)
        if self.dry_run:
            return Outcome(PUT, todo.title)
        try:
            etag = self.server.create(href, todo_text(todo, self.now, 0))
        except ConflictError:
            return self._adopt(todo, href)
        self._keep(todo, href, etag, 0)
        return Outcome(PUT, todo.title)

    def _adopt(self, todo: ToDo, href: str) -> Outcome:
        """It lies there already: put by a run that was cut off, or by another copy of the fleet."""
        item = self.server.get(href)
        state = held(item.content, self.zone) if item else "went away meanwhile"
        if item is None or isinstance(state, str) or state.uid != todo.uid:
            return Outcome(UNREAD, todo.title, "something else lies in its place; left as it is")
        row = self._keep(todo, href, item.etag, 0)
        if state.done:
            return self._ticked(row, state)
        return Outcome(KEPT, todo.title)

    # -- what is remembered -----------------------------------------------------------------------

    def _keep(self, todo: ToDo, href: str, etag: str, sequence: int) -> Pushed:
        row = Pushed(
            self.server.url, todo.uid, href, etag, todo.first_name, todo.task, todo.clock,
            todo.due, todo.title, todo.status, sequence, f"{utc(self.now):%Y%m%dT%H%M%SZ}",
        )  # fmt: skip
        with self.file.writing(keep=not self.dry_run) as connection:
            keep_pushed(connection, row)
        return row

    def _forget(self, row: Pushed) -> None:
        if not self.dry_run:
            with self.file.writing() as connection:
                forget_pushed(connection, row.calendar, row.uid)


def _want_ours(item: Item, row: Pushed) -> None:
    """ConflictError unless the server holds what was sent last.

    A server may write a tag in one way beside what it takes and in another where it lists it.
    """
    here, there = (tag.removeprefix("W/").strip('"') for tag in (row.etag, item.etag))
    if not there or here != there:
        raise ConflictError


def counts(outcomes: Iterable[Outcome]) -> dict[str, int]:
    """How many of each kind."""
    found: dict[str, int] = {}
    for outcome in outcomes:
        found[outcome.what] = found.get(outcome.what, 0) + 1
    return found
