"""Many figures at once: from the command's own words, a file or a pipe, all of them or the good."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import HOURS_A_DAY, Desk, sentence
from fleetcare.cli.lines import Given, lines
from fleetcare.cli.options import F

if TYPE_CHECKING:
    from fleetcare.cli.effects import State
    from fleetcare.errors import Fault
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.store.fleet_file import FleetFile

PARTLY = 6
Make = Callable[[str, str, "date | None"], "Entry | Fault"]


@dataclass(slots=True)
class Sorted:
    """What was given, read: entries with where they stood, and what is wrong with the others."""

    good: list[tuple[str, Entry]]
    faults: list[Fault]

    @property
    def entries(self) -> list[Entry]:
        """The entries without their places."""
        return [entry for _, entry in self.good]


@dataclass(frozen=True, slots=True)
class Taken:
    """What was stored, what was left out, and the rows and holds before and after it."""

    found: Sorted
    before: State
    after: State


def file_options(command: F) -> F:
    """--file and --keep-good: where many come from, and what becomes of the good ones."""
    command = click.option(
        "--keep-good", is_flag=True, help="Of many: store the good ones and name the others."
    )(command)
    return click.option(
        "--file", "source", type=click.Path(path_type=Path),
        help="Lines of ENGINE FIGURE [DATE]; - for stdin.",
    )(command)  # fmt: skip


def is_many(words: Sequence[str], source: Path | None) -> bool:
    """Whether a command was given more than one engine, or lines to read."""
    return source is not None or len(words) > 2 or tuple(words) == ("-",)


def given_by(
    words: Sequence[str], source: Path | None, form: str, fleet: Fleet, today: date
) -> tuple[list[Given], list[Fault]]:
    """Engines and figures as given: words on the line, the lines of --file, or stdin for a dash."""
    from fleetcare.errors import RefusedError

    dash = tuple(words) == ("-",)
    if source is not None and words and not dash:
        raise RefusedError("engines on the line, or --file: one of them")
    if source is None and not dash:
        return pairs(words, form), []
    return lines(source or Path("-"), fleet, today)


def refuse_with_many(options: dict[str, object]) -> None:
    """Refuse the options that make sense for one engine only."""
    from fleetcare.errors import RefusedError

    given = [f"--{name.replace('_', '-')}" for name, value in options.items()
             if value is not None and value is not False]  # fmt: skip
    if given:
        verb = "are" if len(given) > 1 else "is"
        raise RefusedError(f"{', '.join(given)} {verb} for one engine alone: give it by itself")


def pairs(words: Sequence[str], form: str) -> list[Given]:
    """Engines and figures as they stand on the command's own line."""
    if len(words) % 2:
        raise click.UsageError(
            f"engines and figures come in pairs, {form}; these are {len(words)} words. "
            f'A name with spaces takes quotes: "Boat 3"'
        )
    return [Given(words[at], words[at], words[at + 1]) for at in range(0, len(words), 2)]


def read(given: Sequence[Given], faults: Sequence[Fault], make: Make) -> Sorted:
    """What was given as entries, made by `make` of the engine, the figure and the day."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.log.entries import Reading

    out = Sorted([], list(faults))
    seen: dict[tuple[str, date], str] = {}
    for item in given:
        where = item.where
        try:
            entry = make(item.engine, item.figure, item.on)
        except RefusedError as error:
            entry = Fault("", str(error))
        if isinstance(entry, Fault):
            out.faults.append(Fault(_unless(where, item.engine), sentence(str(entry))))
            continue
        if isinstance(entry, Reading):
            before = seen.setdefault((entry.engine, entry.on), where)
            if before != where:
                what = f"{entry.engine} stands twice for {entry.on} (also {before})"
                out.faults.append(Fault(where, what, "Keep one of them."))
                continue
        out.good.append((where, entry))
    return out


def _unless(where: str, engine: str) -> str:
    """The place, but not where a pair's place is only the engine's own name."""
    return "" if where == engine else where


def sifted(desk: Desk, file: FleetFile, found: Sorted) -> Sorted:
    """The same with every entry that the log cannot hold among the faults, each by its place."""
    from fleetcare.errors import Fault
    from fleetcare.log.entries import Run

    good: list[tuple[str, Entry]] = []
    faults = list(found.faults)
    for where, entry in found.good:
        if isinstance(entry, Run) and (entry.hours or 0) > HOURS_A_DAY:
            from fleetcare.fleet.figures import shown

            what = f"{entry.engine} cannot have run {shown(entry.hours or 0)} h: a day has 24"
            faults.append(Fault(where, what))
        else:
            good.append((where, entry))
    bad = _refused(desk, file, [entry for _, entry in good])
    doubtful = [item for item in good if getattr(item[1], "engine", "") in bad]
    kept = [item for item in good if item not in doubtful]
    for where, entry in sorted(doubtful, key=lambda item: item[1].on):
        mine = [one for _, one in kept if getattr(one, "engine", "") == _engine(entry)]
        why = _refused(desk, file, [*mine, entry])
        if why:
            faults.append(Fault(_unless(where, _engine(entry)), sentence(why[_engine(entry)])))
        else:
            kept.append((where, entry))
    order = {id(entry): at for at, (_, entry) in enumerate(found.good)}
    return Sorted(sorted(kept, key=lambda item: order[id(item[1])]), _in_order(faults))


def _engine(entry: Entry) -> str:
    return getattr(entry, "engine", "")


def _refused(desk: Desk, file: FleetFile, entries: list[Entry]) -> dict[str, str]:
    """By engine, why the log would not hold these; nothing is kept of the try."""
    from fleetcare.errors import FaultsError
    from fleetcare.store.append import add_entries

    if not entries:
        return {}
    try:
        with file.writing(keep=False) as connection:
            add_entries(connection, entries, desk.stamp())
    except FaultsError as error:
        return {
            name: str(fault)
            for fault in reversed(error.faults)
            for name in {_engine(entry) for entry in entries}
            if fault.where == f'engine "{name}"'
        }
    return {}


def _in_order(faults: list[Fault]) -> list[Fault]:
    """Faults by line, then as they came."""

    def line(fault: Fault) -> int:
        tail = fault.where.rpartition(":")[2].removeprefix("line ").strip()
        return int(tail) if tail.isdigit() else 0

    return sorted(faults, key=line)


def refuse_or_name(found: Sorted, keep_good: bool) -> None:
    """Refuse all when one is wrong, unless the good ones are to be kept: then name the others."""
    from fleetcare.errors import FaultsError

    if not found.faults:
        return
    if not keep_good:
        raise FaultsError(found.faults, shown=len(found.faults))
    for fault in found.faults:
        click.echo(f"  left out: {fault}", err=True)


def ending(found: Sorted) -> None:
    """Leave with the exit code that says some were left out."""
    if found.faults:
        click.get_current_context().exit(PARTLY)


class WrittenMeanwhileError(Exception):
    """Somebody wrote into the log since what is to be stored was held against it."""


def store_many(
    desk: Desk, file: FleetFile, entries: list[Entry], since: int | None = None
) -> list[int]:
    """Store entries as one command's, to be taken back in one go; says nothing.

    With `since`, the number of the last entry that they were held against, they are stored only
    while it still is the last: else it is a WrittenMeanwhileError.
    """
    from fleetcare.store.append import add_entries

    if not entries:
        return []
    with file.writing(keep=not desk.dry_run) as connection:
        if since is not None and file.last_entry() != since:
            raise WrittenMeanwhileError
        return add_entries(connection, entries, desk.stamp())


def take_many(
    desk: Desk, file: FleetFile, found: Sorted, keep_good: bool, since: int | None = None
) -> Taken:
    """Store what is good, or refuse all; then say by engine what was stored and what it changed.

    `since` as in store_many.
    """
    from fleetcare.cli.effects import by_engine, state
    from fleetcare.store.append import concerned

    found = sifted(desk, file, found)
    refuse_or_name(found, keep_good)
    entries = found.entries
    today, book = desk.today(), desk.book(file.fleet(), words=True)
    engines = sorted(concerned(entries))
    before = state(file, book, engines, today)
    numbers = store_many(desk, file, entries, since)
    after = before if desk.dry_run else state(file, book, engines, today)
    tell_many(desk, entries, numbers, by_engine(before, after, today))
    return Taken(found, before, after)


def tell_many(
    desk: Desk, entries: Sequence[Entry], numbers: Sequence[int], effects: dict[str, list[str]]
) -> None:
    """A line an entry, below it what it changed, and at last how to take all of it back."""
    from fleetcare.show.log_text import entry_words
    from fleetcare.show.table import wrapped

    last = {_engine(entry): at for at, entry in enumerate(entries)}
    for at, (number, entry) in enumerate(zip(numbers, entries, strict=True)):
        day = "" if entry.on == desk.today() else f"{entry.on} "
        tail = "" if desk.dry_run else f" (entry {number})"
        click.echo(wrapped(f"{day}{entry_words(entry)}{tail}", desk.width()))
        for line in effects.get(_engine(entry), []) if last[_engine(entry)] == at else []:
            click.echo(wrapped(f"  {line}", desk.width()))
    click.echo(wrapped(stored_words(numbers, desk.dry_run), desk.width()))


def stored_words(numbers: Sequence[int], dry_run: bool) -> str:
    """How many entries were stored and how to take them all back."""
    if not numbers:
        return "Nothing to store."
    if dry_run:
        return f"would store {len(numbers)} {'entry' if len(numbers) == 1 else 'entries'}."
    if len(numbers) == 1:
        return f"Stored 1 entry; fleetcare undo {numbers[0]} takes it back."
    return (
        f"Stored {len(numbers)} entries, {numbers[0]} to {numbers[-1]}. Right after it, fleetcare "
        f"undo takes them all back; fleetcare undo {numbers[-1]} takes back one."
    )
