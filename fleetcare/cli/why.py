"""fleetcare why: the working of one row."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options

if TYPE_CHECKING:
    from fleetcare.due.working import Working
    from fleetcare.log.entries import Entry
    from fleetcare.store.fetch import Kept


@click.command(short_help="The working of one job, entry by entry.")
@fleet_options
@as_of
@click.argument("engine")
@click.argument("task")
@click.option("--all", "whole", is_flag=True, help="Show every entry that counts.")
@pass_desk
def why(desk: Desk, engine: str, task: str, as_of: date, whole: bool) -> None:
    """The working of one job: entries, hours and days by water, limits, the sum.

    Example: fleetcare why OB-21 "swivel grease"
    """
    from fleetcare.cli.looking import some_rows
    from fleetcare.cli.naming import fitting_task
    from fleetcare.due.followups import undone_by_engine
    from fleetcare.due.working import working
    from fleetcare.errors import RefusedError
    from fleetcare.show.why import why_text

    with desk.open() as file:
        fleet = file.fleet()
        book = desk.book(fleet, words=True)
        name = fleet.engine(engine).name
        ruleset, job = fitting_task(fleet, book, name, task)
        found = some_rows(file, book, as_of, {name})
        kept = [item for kin in sorted(file.kin({name})) for item in file.log(kin)]
    rows = [row for row in found.rows if row.engine == name and row.task == job]
    if not rows:
        raise RefusedError(f'"{name}" has no jobs on {as_of}: not known yet by then, or retired')
    undone = undone_by_engine(found.history, book)
    work = working(found.fleet, found.history, ruleset, name, job, as_of, undone)
    click.echo(why_text(rows[0], work, _counting(kept, work, as_of), as_of, whole, desk.width()))


def _counting(kept: list[Kept], work: Working, as_of: date) -> list[tuple[int, Entry]]:
    """The entries since the clock started on the engines that carried the component."""
    from fleetcare.log.entries import Job, Reading, Run

    tasks = work.ruleset.restarted_by(work.rule.name)
    limits = [limit for limit in work.rule.limits or () if limit]
    by_time_alone = not work.rule.each_run and not any(limit.hours for limit in limits)
    spans = [(engine, first, last or as_of) for engine, first, last in work.engines]
    start = date.fromordinal(work.clock.start)
    found = {}
    for item in kept:
        entry = item.entry
        if entry is None or item.withdrawn or not start <= entry.on <= as_of:
            continue
        if isinstance(entry, Job) and entry.task not in tasks:
            continue
        if isinstance(entry, Reading | Run) and by_time_alone:
            continue
        names = {getattr(entry, "engine", ""), getattr(entry, "other", "")}
        if any(engine in names and first <= entry.on <= last for engine, first, last in spans):
            found[item.number] = entry
    return sorted(found.items(), key=lambda pair: (pair[1].on, pair[0]))
