"""fleetcare done: a job, with what was found."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.log.entries import Entry
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile


@click.command()
@fleet_options
@dry_run
@click.argument("engine", required=False)
@click.argument("tasks", nargs=-1, metavar="TASK...")
@written_on
@click.option("--reading", type=HOURS, metavar="FIGURE", help="What the meter showed then.")
@click.option("--found", metavar="CONDITION", help="The part's condition, in the trade's words.")
@click.option(
    "--count",
    type=click.IntRange(0, 999),
    metavar="N",
    help="How many pieces are missing, or were found.",
)
@click.option("--again", is_flag=True, help="Log it although the same job is there already.")
@click.option(
    "--sheet", type=click.Path(path_type=Path), metavar="FILE",
    help="A form of fleetcare sheet, filled in; - for stdin.",
)  # fmt: skip
@click.option(
    "--keep-good", is_flag=True, help="Of a sheet: store the good lines and name the others."
)
@pass_desk
def done(
    desk: Desk, engine: str | None, tasks: tuple[str, ...], on: date, by: str | None, note: str,
    reading: int | None, found: str | None, count: int | None, again: bool, sheet: Path | None,
    keep_good: bool,
) -> None:  # fmt: skip
    """Write down that jobs were done, and what was found.

    \b
    Example: fleetcare done OB-11 impeller "pump housing" --reading 666 --found supple
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.cli.naming import note_misfits, rules_of, typed_task
    from fleetcare.log.entries import Job

    if sheet is not None:
        _take_sheet(desk, sheet, by, again, keep_good)
        return
    if engine is None or not tasks:
        raise click.UsageError(f"Missing argument '{'ENGINE' if engine is None else 'TASK...'}'.")
    if keep_good:
        raise click.UsageError("--keep-good goes with --sheet FILE")
    with desk.open() as file:
        fleet = file.fleet()
        name, book = fleet.engine(engine).name, desk.book(fleet, words=True)
        names = list(dict.fromkeys(typed_task(fleet, book, name, typed) for typed in tasks))
        seen = _conditions(book, rules_of(fleet, book, name), names, found, count)
        jobs: list[Entry] = [
            Job(
                on=on, by=desk.by(fleet, by), note=note, engine=name, task=task, reading=reading,
                part=part, condition=word, count=count if part else None,
            )
            for task, (part, word) in seen.items()
        ]  # fmt: skip
        _refuse_doubles(desk, file, jobs, again)
        log_and_tell(desk, file, book, jobs, names)
        note_misfits(desk, fleet, book, name, names)


def _take_sheet(desk: Desk, sheet: Path, by: str | None, again: bool, keep_good: bool) -> None:
    """Log a sheet that was filled in; what else stands on the line would contradict it."""
    from fleetcare.cli.sheet_back import take_sheet
    from fleetcare.errors import RefusedError

    context = click.get_current_context()
    given = [
        name for name in ("engine", "tasks", "on", "note", "reading", "found", "count")
        if context.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE
        and context.params[name]
    ]  # fmt: skip
    if given:
        words = ", ".join(name.upper() if name in ("engine", "tasks") else f"--{name}"
                          for name in given)  # fmt: skip
        raise RefusedError(f"{words}: the sheet says that itself; give --sheet without it")
    take_sheet(desk, sheet, by, again, keep_good)


def _conditions(
    book: RuleBook, ruleset: RuleSet, tasks: list[str], found: str | None, count: int | None
) -> dict[str, tuple[str, str]]:
    """By task the part and the condition found; it goes to every task whose part has the word."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.rules.words import find_condition

    seen = dict.fromkeys(tasks, ("", ""))
    if found is None:
        if count is not None:
            raise RefusedError("--count goes with --found: how many of what?")
        return seen
    parts = {task: ruleset.rules[task].part for task in tasks if ruleset.rules[task].part}
    faults = []
    for task, part in parts.items():
        condition = find_condition(book.conditions, part, found)
        if isinstance(condition, Fault):
            faults.append(str(condition))
            continue
        if condition.count and count is None:
            raise RefusedError(f"how many? --count N goes with {part} {condition.word}")
        seen[task] = part, condition.word
    if not any(part for part, _ in seen.values()):
        raise RefusedError(
            faults[0] if faults else
            f'"{tasks[0]}" has no part to judge: fleetcare found ENGINE PART CONDITION'
        )  # fmt: skip
    return seen


def _refuse_doubles(desk: Desk, file: FleetFile, jobs: list[Entry], again: bool) -> None:
    """Ask about, or in a script refuse, a job logged already within a day."""
    from fleetcare.errors import RefusedError

    if again:
        return
    kept = file.log(getattr(jobs[0], "engine", None))
    for job in jobs:
        for item in kept:
            if item.withdrawn or not _is_same(item.entry, job):
                continue
            who = f" by {item.by}" if item.by else ""
            what = f"{getattr(job, 'engine', '')}: {getattr(job, 'task', '')}"
            text = f"{what} is logged already{who} on {item.on} (entry {item.number})"
            if desk.is_terminal():
                if not click.confirm(f"{text}. Log it again?", default=False):
                    raise RefusedError("nothing was stored")
                return
            raise RefusedError(f"{text}. If it was done twice: --again")


def _is_same(entry: Entry | None, job: Entry) -> bool:
    from fleetcare.log.entries import Job

    if not isinstance(entry, Job) or not isinstance(job, Job):
        return False
    near = abs(entry.on - job.on) <= timedelta(days=1)
    return near and entry.task == job.task
