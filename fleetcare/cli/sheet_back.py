"""A sheet given back: what was ticked becomes entries, all of them or none, each once."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk
from fleetcare.cli.lines import text_from
from fleetcare.cli.many import (
    Sorted,
    WrittenMeanwhileError,
    ending,
    refuse_or_name,
    sifted,
    take_many,
)
from fleetcare.cli.sheet_entries import Reader, Taken
from fleetcare.errors import BusyError, Fault, RefusedError
from fleetcare.log.entries import Job

if TYPE_CHECKING:
    from fleetcare.cli.sheet_lines import Block, Form
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile


TRIES = 5  # looks at the log before a sheet is given up, where others write all the while


def take_sheet(desk: Desk, source: Path, by: str | None, again: bool, keep_good: bool) -> None:
    """Log a form that was filled in, and say what it changed and what was not done."""
    from fleetcare.cli.sheet_lines import read_form

    form = read_form(text_from(source), "" if str(source) == "-" else str(source))
    with desk.open() as file:
        for _ in range(TRIES):
            with suppress(WrittenMeanwhileError):
                _take(desk, file, form, by, again, keep_good)
                return
        raise BusyError(f"{file.path} is written into without end. Nothing was stored; try again")


def _take(
    desk: Desk, file: FleetFile, form: Form, by: str | None, again: bool, keep_good: bool
) -> None:
    """Hold the form against the log, store what is new, and say so.

    Two people may give back the same sheet at once, so it is stored only while the log is as it
    was looked through.
    """
    since, fleet = file.last_entry(), file.fleet()
    book = desk.book(fleet, words=True)
    taken = _read(desk, file, fleet, book, form, by, again)
    _refuse_empty(taken, keep_good)
    found = Sorted(taken.good, taken.faults)
    if taken.good:
        found = take_many(desk, file, found, keep_good, since).found
    else:
        found = sifted(desk, file, found)
        refuse_or_name(found, keep_good)
    _told(desk, taken)
    _doubts(desk, fleet, book, found)
    ending(found)


def _doubts(desk: Desk, fleet: Fleet, book: RuleBook, found: Sorted) -> None:
    """Name what was stored and is worth a thought: no look taken, a job of another engine."""
    from fleetcare.cli.naming import note_misfits, rules_of

    jobs = [entry for entry in found.entries if isinstance(entry, Job)]
    unseen = [
        f"{job.engine} {job.task}"
        for job in jobs
        if not job.part and rules_of(fleet, book, job.engine).rules[job.task].part
    ]
    if unseen:
        desk.note(f"done without a condition found: {', '.join(unseen)}")
    for job in jobs:
        note_misfits(desk, fleet, book, job.engine, [job.task])


def _read(
    desk: Desk, file: FleetFile, fleet: Fleet, book: RuleBook, form: Form, by: str | None,
    again: bool,
) -> Taken:  # fmt: skip
    taken = Taken(faults=list(form.faults))
    for block in form.blocks:
        named = _engine(fleet, block)
        if isinstance(named, Fault):
            taken.faults.append(named)
            continue
        reader = Reader(desk, file, fleet, book, form, block, named, by, again)
        reader.read(taken)
    return taken


def _engine(fleet: Fleet, block: Block) -> str | Fault:
    if block.engine is None:
        return Fault(block.number.where, "engine: is missing", "Write its name, engine: NAME")
    try:
        return fleet.engine(block.engine.text).name
    except RefusedError as error:
        return Fault(block.engine.where, str(error))


def _refuse_empty(taken: Taken, keep_good: bool) -> None:
    if taken.good or taken.there or (taken.faults and not keep_good):
        return
    if not taken.faults:
        raise RefusedError(
            "nothing on it is ticked or found, so nothing was stored. [x] is done, [ ] is not"
        )


def _told(desk: Desk, taken: Taken) -> None:
    """What was there already, and what was not done."""
    from fleetcare.show.table import wrapped

    if taken.there:
        numbers = ", ".join(map(str, sorted(set(taken.there))))
        sheets = ", ".join(taken.numbers)
        rest = "" if taken.good else " Nothing was stored."
        line = f"From sheet {sheets} there already: entry {numbers}.{rest}"
        click.echo(wrapped(line, desk.width()))
    left: dict[str, list[str]] = {}
    for engine, task, why in taken.left:
        left.setdefault(engine, []).append(f"{task} ({why})" if why else task)
    for engine, tasks in left.items():
        click.echo(wrapped(f"{engine}, not done: {', '.join(tasks)}", desk.width()))
    if any(why for _, _, why in taken.left):
        desk.note(
            "What is not done keeps no note; to keep why: fleetcare put-off ENGINE TASK --until "
            "DATE --because …"
        )
