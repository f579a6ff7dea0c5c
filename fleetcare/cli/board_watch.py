"""A board that is kept up to date: made again when the fleet file, the rules or the day change."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path

import click

from fleetcare.cli.context import Desk
from fleetcare.errors import FleetcareError

EVERY = 1.0  # seconds between two looks at the file; each costs one question to the database
LOOKS = 30  # so many looks pass before the same is tried again


class Keeper:
    """Publishes a page whenever its mark is another; a page that cannot be made stays as it was."""

    def __init__(
        self, mark: Callable[[], object], publish: Callable[[], str], tell: Callable[[str], None]
    ) -> None:
        """`mark` changes whenever the page could; `publish` writes it and says so."""
        self._mark, self._publish, self._tell = mark, publish, tell
        self._made_at: object = None
        self._failed_at: object = None
        self._looks_left = 0
        self._trouble = ""

    def begin(self) -> None:
        """Publish for the first time; what keeps it from being made is raised."""
        mark = self._mark()
        self._tell(self._publish())
        self._made_at = mark  # of before the making: what came meanwhile is seen next

    def look(self) -> bool:
        """Publish if anything changed since the last time; True when it did.

        What failed is tried again when something changed, or after a while.
        """
        mark: object = None
        try:
            mark = self._mark()
            if mark == self._made_at or self._is_hopeless(mark):
                return False
            said = self._publish()
        except FleetcareError as error:
            self._failed_at, self._looks_left = mark, LOOKS
            self._say(str(error))
            return False
        self._made_at, self._failed_at, self._trouble = mark, None, ""
        self._tell(said)
        return True

    def _is_hopeless(self, mark: object) -> bool:
        """Whether the same failed a moment ago."""
        if mark != self._failed_at:
            return False
        self._looks_left -= 1
        return self._looks_left > 0

    def _say(self, why: str) -> None:
        """Tell once, not at every look, why the board stays as it is."""
        if why != self._trouble:
            self._trouble = why
            self._tell(f"the board stays as it is: {why}")


def watch(
    desk: Desk, path: Path, as_of: date | None, language: str | None = None,
    place: str | None = None,
) -> None:  # fmt: skip
    """Keep a board at a path until someone ends it; of today, unless a day is given."""
    import gc
    import signal
    import threading

    gc.enable()  # it rests for short commands, and this one may run for months
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # a service manager's Ctrl-C
    pause = threading.Event()
    with kept(desk, path, as_of, language, place) as keeper:
        try:
            keeper.begin()
            keep(keeper, lambda: pause.wait(EVERY))
        except KeyboardInterrupt:
            _tell("stopped")


@contextmanager
def kept(
    desk: Desk, path: Path, as_of: date | None, language: str | None = None,
    place: str | None = None,
) -> Iterator[Keeper]:  # fmt: skip
    """A keeper of the board at a path, with the fleet file watched."""
    from fleetcare.store.watch import Watch

    with desk.open() as file:
        watched, rules = Watch(file.path), [desk.own_rules(file.fleet())]

    def publish() -> str:
        with desk.open() as file:
            rules[0] = desk.own_rules(file.fleet())
        return published(desk, path, as_of or desk.today(), language, place)

    try:
        yield Keeper(
            lambda: (as_of or desk.today(), watched.mark(), stamps(rules[0])), publish, _tell
        )
    finally:
        watched.close()


def _tell(said: str) -> None:
    click.echo(said)
    sys.stdout.flush()


def keep(keeper: Keeper, wait: Callable[[], bool]) -> None:
    """Look, wait, look again; until the waiting says that it is enough."""
    while True:
        keeper.look()
        if wait():
            return


def published(
    desk: Desk, path: Path, as_of: date, language: str | None = None, place: str | None = None
) -> str:
    """Write the page in one step, and say what was done."""
    from fleetcare.cli.board_facts import page_of
    from fleetcare.store.files import write_whole

    changed = write_whole(path, page_of(desk, as_of, language, place))
    return f"{path}: board of {as_of}{'' if changed else ', unchanged'}."


def stamps(folder: Path) -> list[tuple[str, int, int]]:
    """The rule files of one's own, with what tells one state of them from another."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        with suppress(OSError):  # gone between the listing and the look
            status = path.stat()
            found.append((path.name, status.st_mtime_ns, status.st_size))
    return found
