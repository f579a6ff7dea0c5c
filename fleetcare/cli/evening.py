"""fleetcare evening: the round of all engines' readings."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk, sentence
from fleetcare.cli.options import DAY, dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.errors import Fault
    from fleetcare.flags.round import Turn
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.store.fleet_file import FleetFile


@click.command(short_help="The round: every engine's figure in turn.")
@fleet_options
@dry_run
@click.option("--on", type=DAY, default="today", show_default=True, metavar="DATE", help="The day.")
@click.option("--by", metavar="ROLE", help="Who: a role, such as jetty.")
@click.option(
    "--file", "source", type=click.Path(path_type=Path), help="Lines of ENGINE FIGURE; - for stdin."
)
@pass_desk
def evening(desk: Desk, on: date, by: str | None, source: Path | None) -> None:
    """The round: every mounted engine in turn, its last figure and what to expect.

    Type the meter's figure, for engines without a meter the hours run; Enter skips. Each answer
    is kept at once. From a file: a line an engine, its name and the figure.

    Example: fleetcare evening --file round.txt
    """
    from fleetcare.flags.round import turns

    with desk.open() as file:
        fleet = file.fleet()
        waiting = turns(fleet, file.history(on), desk.book(fleet), on)
        who = desk.by(fleet, by)
        if source is not None:
            taken = _from_file(desk, file, waiting, source, on, who)
        elif desk.is_terminal():
            taken = _asked(desk, file, waiting, on, who)
        else:
            raise _no_terminal()
    _told(waiting, taken, desk.width())


def _no_terminal() -> Exception:
    from fleetcare.errors import RefusedError

    return RefusedError("no terminal to ask on; give the round as lines: --file FILE, or --file -")


def _told(waiting: list[Turn], taken: set[str], width: int) -> None:
    from fleetcare.show.table import wrapped

    if not waiting:
        click.echo("No engine is mounted and not laid up; there is nothing to take.")
        return
    missing = [turn.engine for turn in waiting if turn.engine not in taken and not turn.done]
    there = len([turn for turn in waiting if turn.done and turn.engine not in taken])
    before = f", {there} there already" if there else ""
    tail = f"{len(missing)} missing: {', '.join(missing)}" if missing else "none missing"
    click.echo(wrapped(f"{len(taken)} taken{before}, {tail}.", width))


def _entry(turn: Turn, figure: int, on: date, by: str) -> Entry:
    from fleetcare.log.entries import Reading, Run

    if turn.metered:
        return Reading(on=on, by=by, engine=turn.engine, reading=figure)
    return Run(on=on, by=by, engine=turn.engine, hours=figure, hire_time=turn.hire)


def _asked(desk: Desk, file: FleetFile, waiting: list[Turn], on: date, by: str) -> set[str]:
    """Ask for each engine in turn; a refused answer is told and asked for again."""
    from fleetcare.cli.options import HOURS
    from fleetcare.errors import RefusedError

    taken: set[str] = set()
    for turn in waiting:
        if turn.done:
            continue
        while True:
            answer = click.prompt(turn.question(), default="", show_default=False).strip()
            if not answer:
                break
            try:
                figure = HOURS.convert(answer, None, None)
                if not turn.expects(figure) and not click.confirm(turn.doubt(figure)):
                    continue
                desk.store(file, [_entry(turn, figure, on, by)], brief=True)
            except RefusedError as error:
                for line in str(error).splitlines():
                    click.echo(f"fleetcare: evening: {sentence(line)}", err=True)
                continue
            taken.add(turn.engine)
            break
    return taken


def _from_file(
    desk: Desk, file: FleetFile, waiting: list[Turn], source: Path, on: date, by: str
) -> set[str]:
    """Take the lines of a file, all or none."""
    from fleetcare.errors import Fault, FaultsError

    fleet = file.fleet()
    by_engine = {turn.engine: turn for turn in waiting}
    entries: list[Entry] = []
    faults: list[Fault] = []
    for number, line in enumerate(_lines(source), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        turn, value = _read(line, fleet, by_engine)
        if isinstance(turn, Fault) or isinstance(value, Fault):
            fault = turn if isinstance(turn, Fault) else value
            place = f"line {number}" if str(source) == "-" else f"{source}:{number}"
            faults.append(Fault(place, sentence(str(fault))))
        else:
            entries.append(_entry(turn, value, on, by))
    if faults:
        raise FaultsError(faults)
    if entries:
        desk.store(file, entries)
    return {getattr(entry, "engine", "") for entry in entries}


def _read(line: str, fleet: Fleet, turns: dict[str, Turn]) -> tuple[Turn | Fault, int | Fault]:
    """The turn and the figure of a line, ENGINE FIGURE, or what is wrong with either."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.figures import hours

    pieces = line.strip().rsplit(None, 1)
    if len(pieces) < 2:
        fault = Fault("", f'"{line.strip():.40}" is not ENGINE FIGURE')
        return fault, fault
    try:
        name = fleet.engine(pieces[0]).name
    except RefusedError as error:
        return Fault("", str(error)), 0
    if name not in turns:
        mend = f"If it ran all the same: fleetcare reading or run, for {name} alone"
        return Fault(f'engine "{name}"', "is not mounted, or laid up", mend), 0
    return turns[name], hours(pieces[1], "figure")


def _lines(source: Path) -> list[str]:
    from fleetcare.rules.shipped import read_text

    if str(source) == "-":
        return sys.stdin.read().splitlines()
    return read_text(source).splitlines()
