"""What a command has at hand: the fleet file, today, who writes, where to say things."""

from __future__ import annotations

import gc
import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile

_SUBJECT = re.compile(r'^((?:engine|boat|task|part|condition|setting) "[^"]*"): ')
HOURS_A_DAY = 2400  # hundredths, as everything entered
MOST_FUEL = 10_000_000
LONG_AGO = timedelta(days=730)  # without an entry, as a rule the clock is wrong: our choice
NO_FLEET = "no fleet yet at {path}. fleetcare new makes one, fleetcare demo shows an invented one"
MOST_NAMED = 3


def no_fleet(path: Path) -> RefusedError:
    """That there is no fleet file; and those in its folder, since it may have been renamed."""
    from fleetcare.errors import RefusedError
    from fleetcare.store.beside import fleets_beside

    others = [f'"{item.name}"' for item in fleets_beside(path)[:MOST_NAMED]]
    hint = f". Was it renamed? Fleets there: {', '.join(others)} (--fleet says which)"
    return RefusedError(NO_FLEET.format(path=path) + (hint if others else ""))


@dataclass(slots=True)
class Desk:
    """The options every command shares."""

    fleet: str | None = None
    quiet: bool = False
    debug: bool = False
    dry_run: bool = False

    def path(self) -> Path:
        """Where the fleet lives: the option, the environment, the user's data folder."""
        chosen = self.fleet or os.environ.get("FLEETCARE_FLEET")
        if chosen:
            return Path(chosen)
        import platformdirs

        return Path(platformdirs.user_data_dir("fleetcare", appauthor=False)) / "fleet.db"

    def open(self) -> FleetFile:
        """The fleet file, open."""
        from fleetcare.store.fleet_file import FleetFile

        path = self.path()
        if not path.exists():
            raise no_fleet(path)
        file = FleetFile(path)
        try:
            if file.older is not None:
                self.note(
                    f"{path} was brought up to date for this program. As it was, it is kept as "
                    f"{file.older}"
                )
            self._look_at_the_clock(file)
        except BaseException:
            file.connection.close()
            raise
        return file

    def _look_at_the_clock(self, file: FleetFile) -> None:
        """Ask about a clock that stands before what was written last, or years after it."""
        last = file.last_written()
        if last is None:
            return
        day, at = last
        early = day > self.today() or at[:19] > (self.now() + timedelta(days=1)).isoformat()
        late = at[:10] < (self.today() - LONG_AGO).isoformat()
        if early or late:
            self.note(
                f"The last entry is of {day}, written on {at[:10]}, but today is {self.today()} by "
                f"this computer: is its clock right?"
            )

    def own_rules(self, fleet: Fleet) -> Path:
        """The folder of the user's own rule sets."""
        folder = fleet.settings.rules_folder
        return Path(folder).expanduser() if folder else self.path().parent / "intervals"

    def book(self, fleet: Fleet, words: bool = False) -> RuleBook:
        """The rule sets that the fleet's engines name."""
        from fleetcare.rules.shipped import read_book

        names = {engine.rules or fleet.settings.rules for engine in fleet.engines.values()}
        return read_book(self.own_rules(fleet), names | {fleet.settings.rules}, words)

    def with_words(self, book: RuleBook) -> RuleBook:
        """The book with the words of conditions and incidents, which not every list needs."""
        from fleetcare.rules.shipped import with_words

        return with_words(book)

    def today(self) -> date:
        """Today, by this machine's clock."""
        return date.today()

    def now(self) -> datetime:
        """Now, in UTC, whole seconds."""
        return datetime.now(UTC).replace(microsecond=0)

    def stamp(self) -> str:
        """Now as text for the log."""
        return self.now().isoformat()

    def by(self, fleet: Fleet, given: str | None) -> str:
        """Who writes: the option, the setting, the login name."""
        if given or fleet.settings.by:
            return given or fleet.settings.by
        import getpass

        try:
            return getpass.getuser()
        except (KeyError, OSError):
            return ""

    def note(self, text: str) -> None:
        """Say something about the run, on stderr, unless asked to be quiet."""
        if not self.quiet:
            click.echo(text, err=True)

    def is_terminal(self) -> bool:
        """Whether someone is there to be asked."""
        return sys.stdin.isatty() and sys.stdout.isatty()

    def width(self) -> int:
        """Columns to fit: the terminal's, 80 in a pipe."""
        import shutil

        return shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 80

    def store(self, file: FleetFile, entries: list[Entry], brief: bool = False) -> list[int]:
        """Write entries in one transaction and say so; nothing is kept on a dry run."""
        from fleetcare.show.log_text import entry_words
        from fleetcare.store.append import add_entries

        _refuse_endless_runs(entries)
        with file.writing(keep=not self.dry_run) as connection:
            numbers = add_entries(connection, entries, self.stamp())
        for number, entry in zip(numbers, entries, strict=True):
            if brief and not self.dry_run:
                click.echo(f"  stored, entry {number}")
            else:
                self.say_stored(number, f"{entry.on} {entry_words(entry)}")
        return numbers

    def say_stored(self, number: int, words: str) -> None:
        """One line of what was stored, and how to take it back."""
        if self.dry_run:
            click.echo(f"would store {words}")
        else:
            click.echo(f"stored entry {number}: {words} (fleetcare undo {number} takes it back)")


def _refuse_endless_runs(entries: list[Entry]) -> None:
    """Refuse a run that is longer than a day, before the file's own guards would."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.figures import shown
    from fleetcare.log.entries import Run

    for entry in entries:
        if isinstance(entry, Run) and (entry.hours or 0) > HOURS_A_DAY:
            raise RefusedError(
                f'engine "{entry.engine}" cannot have run {shown(entry.hours or 0)} h on '
                f"{entry.on}: a day has 24. For hours of several days give each day its own --on"
            )
        if isinstance(entry, Run) and (entry.fuel or 0) > MOST_FUEL:
            raise RefusedError(f'engine "{entry.engine}" cannot have burned so much on {entry.on}')


pass_desk = click.make_pass_decorator(Desk, ensure=True)


def sentence(line: str) -> str:
    """A refusal as a person says it: the thing it names is its subject, engine "Plover" reads."""
    return _SUBJECT.sub(r"\1 ", line)


@contextmanager
def no_collecting() -> Iterator[None]:
    """Let the garbage collector rest: so many records, none in circles, cost it a fifth more."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def colour_of(stream_is_terminal: bool) -> bool:
    """Whether to colour: only a terminal, and not with NO_COLOR or a dumb one."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream_is_terminal


def paint(word: str) -> str:
    """A status word in the colours of ISO 22324, in reverse so that it reads on any ground."""
    if not colour_of(sys.stdout.isatty()):
        return word
    if word.startswith(("overdue", "held")) or word.endswith("held"):
        return click.style(word, fg="white", bg="red", bold=True)
    if word.startswith(("due", "go, but")):
        return click.style(word, fg="black", bg="yellow")
    if word.startswith(("clear", "go")):
        return click.style(word, fg="white", bg="green")
    return word
