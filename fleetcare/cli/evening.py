"""fleetcare evening: the round of all engines' readings."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.many import file_options
from fleetcare.cli.options import DAY, dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.cli.many import Sorted
    from fleetcare.due.records import Due
    from fleetcare.errors import Fault
    from fleetcare.flags.round import Turn
    from fleetcare.log.entries import Entry
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile

NAMED = 5


@click.command(short_help="The round: every engine's figure in turn.")
@fleet_options
@dry_run
@click.option("--on", type=DAY, default="today", show_default=True, metavar="DATE", help="The day.")
@click.option("--by", metavar="ROLE", help="Who: a role, such as jetty.")
@file_options
@click.option("--again", is_flag=True, help="Ask for those taken already today, too.")
@pass_desk
def evening(
    desk: Desk, on: date, by: str | None, source: Path | None, keep_good: bool, again: bool
) -> None:
    """The round: every mounted engine in turn, its last figure and what to expect.

    Type the meter's figure, or hires out and in (9:30-12:15, several with +), or hours; Enter
    skips. Each answer is kept at once; broken off, the same command goes on where it stopped.
    From a file: a line an engine, its name and the figure.

    Example: fleetcare evening --file round.txt
    """
    from fleetcare.cli.looking import forecast_of
    from fleetcare.cli.many import ending
    from fleetcare.flags.round import expected_by, turns

    with desk.open() as file:
        fleet = file.fleet()
        book = desk.book(fleet, words=True)
        history = file.history(on)
        expected = expected_by(forecast_of(file, book, on), fleet, history, on)
        waiting = turns(fleet, history, book, on, expected)
        who = desk.by(fleet, by)
        if source is not None:
            ending(_from_file(desk, file, waiting, source, on, who, keep_good))
        elif desk.is_terminal():
            _asked(desk, file, book, waiting, who, again)
        else:
            raise _no_terminal()


def _no_terminal() -> Exception:
    from fleetcare.errors import RefusedError

    return RefusedError("no terminal to ask on; give the round as lines: --file FILE, or --file -")


def _asked(
    desk: Desk, file: FleetFile, book: RuleBook, waiting: list[Turn], by: str, again: bool
) -> None:
    """Ask for each engine in turn; broken off, say what was kept before leaving."""
    from fleetcare.cli.asking import PHONE, Asking
    from fleetcare.cli.effects import now_pressing, state

    today, engines = desk.today(), [turn.engine for turn in waiting]
    before = state(file, book, engines, today)
    asking = Asking(desk, file, waiting, by, again)
    try:
        asking.run()
    except (click.Abort, KeyboardInterrupt):
        click.echo()
        _told(waiting, asking.taken, [], today, min(PHONE, desk.width()))
        if asking.taken and not desk.dry_run:
            on = asking.turns[0].on
            day = "" if on == today else f" --on {on}"
            click.echo(f"These are kept. To go on:\n  fleetcare evening{day}")
        raise
    click.echo()
    after = state(file, book, engines, today)
    pressing = now_pressing(before, after)
    _told(waiting, asking.taken, pressing, today, min(PHONE, desk.width()))


def _told(
    waiting: Sequence[Turn], taken: Collection[str], pressing: Sequence[Due], today: date,
    width: int,
) -> None:  # fmt: skip
    """How many were taken, who is missing and since when, what has come to be due."""
    from fleetcare.show.table import wrapped

    if not waiting:
        click.echo("No engine is mounted and not laid up; there is nothing to take.")
        return
    missing = [turn for turn in waiting if turn.engine not in taken and not turn.done]
    there = len([turn for turn in waiting if turn.done and turn.engine not in taken])
    before = f", {there} there already" if there else ""
    tail = f"{len(missing)} missing:" if missing else "none missing."
    click.echo(wrapped(f"{len(taken)} taken{before}, {tail}", width))
    for turn in missing:
        last = f"last {turn.age}" if turn.last_day else turn.age
        click.echo(wrapped(f"  {turn.engine}, {last}", width))
    _told_due(pressing, today, width)


def _told_due(pressing: Sequence[Due], today: date, width: int) -> None:
    from fleetcare.flags.flag import state_words
    from fleetcare.show.table import wrapped

    if not pressing:
        return
    count = len(pressing)
    click.echo(wrapped(f"{count} {'job' if count == 1 else 'jobs'} now due because of it:", width))
    for row in pressing[:NAMED]:
        harm = f", leads to {row.rule.leads_to[0]}" if row.rule.is_precursor else ""
        line = f"  {row.engine}: {row.task} {state_words(row, today)}{harm}"
        click.echo(wrapped(line, width))
    if count > NAMED:
        click.echo(wrapped(f"  {count - NAMED} more: fleetcare due", width))


def _from_file(
    desk: Desk, file: FleetFile, waiting: list[Turn], source: Path, on: date, by: str,
    keep_good: bool,
) -> Sorted:  # fmt: skip
    """Take the lines of a file, all or none, or the good ones."""
    from dataclasses import replace

    from fleetcare.cli.asking import entry_of
    from fleetcare.cli.effects import now_pressing
    from fleetcare.cli.many import given_by, read, take_many
    from fleetcare.errors import Fault

    fleet = file.fleet()
    by_engine = {turn.engine: turn for turn in waiting}
    doubts: list[str] = []

    def made(engine: str, figure: str, day: date | None) -> Entry | Fault:
        name = fleet.engine(engine).name
        turn = by_engine.get(name)
        if turn is None:
            mend = f"If it ran all the same: fleetcare reading or run, for {name} alone"
            return Fault(f'engine "{name}"', "is not mounted, or laid up", mend)
        answer = turn.answer(figure)
        if isinstance(answer, Fault):
            return answer
        if not turn.expects(answer) and not turn.falls(answer):
            doubts.append(f"{name}: {answer.words}, where {turn.range} was to be expected")
        return entry_of(replace(turn, on=day or on), answer, by)

    given = given_by((), source, "", fleet, desk.today())
    taken = take_many(desk, file, read(*given, made), keep_good)
    for doubt in doubts:
        desk.note(f"worth a look: {doubt}")
    engines = {getattr(entry, "engine", "") for entry in taken.found.entries if entry.on == on}
    pressing = now_pressing(taken.before, taken.after)
    _told(waiting, engines, pressing, desk.today(), desk.width())
    return taken.found
