"""fleetcare lay-up and fleetcare launch: the season's end and start, shown and logged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.due.records import Due
    from fleetcare.flags.season import SeasonJob
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.log.history import History
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile

F = TypeVar("F", bound=Callable[..., Any])
ASKED = "Which of these were done? all, none, or numbers such as 1 3 5-7"


def _season_options(command: F) -> F:
    command = click.option(
        "--log-jobs", is_flag=True, help="Log every job of the list as done with it."
    )(command)
    return click.option(
        "--done", multiple=True, metavar="TASK", help="A job of the list that was done (repeat)."
    )(command)


@click.command("lay-up", short_help="Lay engines up for the winter.")
@fleet_options
@dry_run
@click.argument("engines", nargs=-1, metavar="[ENGINE...]")
@click.option("--all", "whole", is_flag=True, help="Every engine that is not laid up.")
@_season_options
@written_on
@pass_desk
def lay_up(desk: Desk, /, engines: tuple[str, ...], whole: bool, **given: Any) -> None:
    """Lay engines up for the winter. They keep ageing by the calendar.

    Without engines it shows what belongs to it and stores nothing: jobs of every lay-up, those
    still open after their runs, what falls due before the next launch.

    Example: fleetcare lay-up OB-07 --done "gear oil"
    """
    _season(desk, "lay-up", engines, whole, **given)


@click.command(short_help="Launch engines for the season.")
@fleet_options
@dry_run
@click.argument("engines", nargs=-1, metavar="[ENGINE...]")
@click.option("--all", "whole", is_flag=True, help="Every engine that is laid up.")
@_season_options
@written_on
@pass_desk
def launch(desk: Desk, /, engines: tuple[str, ...], whole: bool, **given: Any) -> None:
    """Launch engines for the season.

    Without engines it shows what belongs to it and stores nothing: jobs of every launch, those
    still open after their runs, what falls due within a month.

    Example: fleetcare launch --all
    """
    _season(desk, "launch", engines, whole, **given)


@dataclass(frozen=True, slots=True)
class _Lists:
    """The fleet as it is, and whom a lay-up or launch concerns on which day."""

    file: FleetFile
    fleet: Fleet
    book: RuleBook
    mark: str
    on: date
    today: date


def _season(
    desk: Desk, mark: str, engines: tuple[str, ...], whole: bool, done: tuple[str, ...],
    log_jobs: bool, on: date, by: str | None, note: str,
) -> None:  # fmt: skip
    from fleetcare.errors import RefusedError

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
        lists = _Lists(file, fleet, desk.book(fleet, words=True), mark, on, desk.today())
        only_shown = not engines and not whole
        if only_shown and (done or log_jobs):
            raise RefusedError(f"which engines were done? fleetcare {mark} ENGINE…, or --all")
        names = _chosen(fleet, history, engines, whole or only_shown, laid_up=mark == "launch")
        if not names:
            state = "every one is laid up" if mark == "lay-up" else "none is laid up"
            if not only_shown:
                raise RefusedError(f"no engine to {mark.replace('-', ' ')}: {state}")
            click.echo("Every engine is laid up." if mark == "lay-up" else "No engine is laid up.")
        jobs = _listed(lists, names)
        if names:
            _show(desk, lists, names, jobs)
        if only_shown:
            _how(desk, lists, names, history)
            return
        picked = _picked(desk, mark, jobs, done, log_jobs)
        _log(desk, lists, names, picked, (desk.by(fleet, by), note))
        _left(desk, jobs, picked)


def _chosen(
    fleet: Fleet, history: History, engines: tuple[str, ...], whole: bool, laid_up: bool
) -> list[str]:
    """The engines named, refused when already so; or all that are not yet."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import natural
    from fleetcare.usage.places import is_laid_up

    if whole:
        names = [
            name for name in fleet.engines
            if is_laid_up(history, name) is laid_up and history.of(name).retired is None
        ]  # fmt: skip
        return sorted(names, key=natural)
    names = list(dict.fromkeys(fleet.engine(engine).name for engine in engines))
    for name in names:
        if is_laid_up(history, name) is not laid_up:
            state = "is not laid up" if laid_up else "is laid up already"
            raise RefusedError(f'engine "{name}" {state}; nothing was stored')
    return names


def _listed(lists: _Lists, names: Sequence[str]) -> list[SeasonJob]:
    """The jobs that belong to it: rows of the due list, with the season's entry counted."""
    from fleetcare.flags.season import season_jobs
    from fleetcare.fleet.names import natural

    if not names:
        return []
    ends = _ends(lists, names)
    order = {name: at for at, name in enumerate(sorted(names, key=natural))}
    now = sorted(
        _rows(lists, names, lists.today).values(), key=lambda row: order[row.engine]
    )  # sorted keeps the order of the rule set
    ahead: dict[tuple[str, str], Due] = {}
    for end in {end for end in ends.values() if end is not None}:
        mine = [name for name in names if ends[name] == end]
        ahead |= _rows(lists, mine, end)
    days = {name: end.toordinal() for name, end in ends.items() if end is not None}
    return season_jobs(now, ahead, lists.mark, lists.on, days)


def _ends(lists: _Lists, names: Sequence[str]) -> dict[str, date | None]:
    """By engine the last day looked at."""
    from fleetcare.flags.season import until
    from fleetcare.usage.components import Carriage

    carriage = Carriage(lists.fleet, lists.file.history(), lists.today.toordinal())
    ends = {}
    for name in names:
        boat = carriage.last_boat_of(name) if name in carriage.known else None
        use = lists.book.uses[lists.fleet.boats[boat].use if boat else "owner"]
        ends[name] = until(use, lists.fleet.settings, lists.mark, lists.on)
    return ends


def _rows(lists: _Lists, names: Sequence[str], day: date) -> dict[tuple[str, str], Due]:
    """The due list's rows of these engines on a day, as they stand once the entry is stored."""
    from fleetcare.cli.looking import forecast_of
    from fleetcare.due.rows import due_list
    from fleetcare.flags.season import with_marks

    history = with_marks(lists.file.history(day), names, lists.mark, lists.on)
    forecast = forecast_of(lists.file, lists.book, lists.today)
    rows = due_list(lists.fleet, history, lists.book, day, forecast=forecast)
    wanted = set(names)
    return {(row.engine, row.task): row for row in rows if row.engine in wanted}


def _show(desk: Desk, lists: _Lists, names: Sequence[str], jobs: Sequence[SeasonJob]) -> None:
    from fleetcare.flags.season import work
    from fleetcare.show.season import season_text

    def set_of(engine: str) -> RuleSet:
        return lists.book.set_of(lists.fleet.engines[engine].rules or lists.fleet.settings.rules)

    ends = [end for end in _ends(lists, names).values() if end is not None]
    click.echo(
        season_text(
            jobs, names, lists.mark, lists.on, max(ends, default=None), work(jobs, set_of),
            desk.width(),
        )
    )  # fmt: skip


def _how(desk: Desk, lists: _Lists, names: Sequence[str], history: History) -> None:
    """What the bare command ends with: how to log it, and who is done but for some jobs."""
    from fleetcare.show.table import wrapped

    left = _left_over(lists, names, history)
    if left:
        word = "Laid up" if lists.mark == "lay-up" else "Launched"
        click.echo(f"\n{word} already, with jobs left")
        for task, engines in left.items():
            click.echo(wrapped(f"  {task}: {', '.join(engines)}", desk.width()))
    if names:
        click.echo("\nNothing is stored yet. To log it:")
        click.echo(f"  fleetcare {lists.mark} --all")
        click.echo(wrapped(f"  or name engines: fleetcare {lists.mark} {names[0]}", desk.width()))
        click.echo("  with the jobs done: --done TASK, or --log-jobs for every one")


def _left_over(lists: _Lists, names: Sequence[str], history: History) -> dict[str, list[str]]:
    """By job of the season, the engines laid up or launched already that still wait for it."""
    from fleetcare.cli.effects import state
    from fleetcare.due.records import CLEAR
    from fleetcare.due.triggers import ANSWERS_BEFORE

    marked = {
        name: history.of(name).seasons[-1][0]
        for name in lists.fleet.engines
        if history.of(name).retired is None and history.of(name).seasons[-1:]
        and history.of(name).seasons[-1][1] == lists.mark and name not in names
    }  # fmt: skip
    left: dict[str, list[str]] = {}
    if marked:
        for row in state(lists.file, lists.book, list(marked), lists.today)[0].values():
            first = marked[row.engine] - ANSWERS_BEFORE
            not_done = row.last_done_on is None or row.last_done_on < first
            if row.rule.season == lists.mark and row.status != CLEAR and not_done:
                left.setdefault(row.task, []).append(row.engine)
    return left


def _picked(
    desk: Desk, mark: str, jobs: Sequence[SeasonJob], done: tuple[str, ...], log_jobs: bool
) -> list[SeasonJob]:
    """The jobs that were done: named, all, or asked for on a terminal."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean, folded

    if log_jobs:
        return list(jobs)
    if done:
        by_name = {folded(job.task): job for job in jobs}
        for name in done:
            if folded(name) not in by_name:
                near = did_you_mean(name, [job.task for job in jobs])
                hint = near or "Log it by itself: fleetcare done ENGINE TASK"
                raise RefusedError(f'"{name}" is not on the list of this {mark}. {hint}')
        return [by_name[name] for name in dict.fromkeys(map(folded, done))]
    if not jobs or not desk.is_terminal() or desk.dry_run:
        return []
    click.echo()
    while True:
        typed: str = click.prompt(ASKED, default="none")
        numbers = numbers_of(typed, len(jobs))
        if numbers is not None:
            return [jobs[number - 1] for number in numbers]
        click.echo(f"  numbers from 1 to {len(jobs)}, all or none", err=True)


def numbers_of(text: str, most: int) -> list[int] | None:
    """The numbers that 1 3 5-7, all or none mean; None when it means nothing."""
    words = text.replace(",", " ").lower().split()
    if words in (["all"], ["none"], []):
        return list(range(1, most + 1)) if words == ["all"] else []
    found: list[int] = []
    for word in words:
        first, dash, last = word.partition("-")
        if not first.isdecimal() or (dash and not last.isdecimal()):
            return None
        low, high = int(first), int(last or first)
        if not 1 <= low <= high <= most:
            return None
        found += range(low, high + 1)
    return list(dict.fromkeys(found))


def _log(
    desk: Desk, lists: _Lists, names: Sequence[str], picked: Sequence[SeasonJob],
    written: tuple[str, str],
) -> None:  # fmt: skip
    """Store the season's entries and the jobs done with them, in one go."""
    from fleetcare.cli.many import store_many, stored_words
    from fleetcare.log.entries import Job, Launch, LayUp
    from fleetcare.show.table import wrapped

    by, note = written
    kind = LayUp if lists.mark == "lay-up" else Launch
    marks: list[Entry] = [kind(on=lists.on, by=by, note=note, engine=name) for name in names]
    jobs: list[Entry] = [
        Job(on=lists.on, by=by, note=note, engine=engine, task=job.task)
        for job in picked
        for engine in job.engines
    ]
    numbers = store_many(desk, lists.file, [*marks, *jobs])
    click.echo()
    for job in picked:
        count = len(job.engines)
        who = ", ".join(job.engines) if count < 4 else f"{count} engines"
        click.echo(wrapped(f"{job.task} done: {who}", desk.width()))
    click.echo(wrapped(stored_words(numbers, desk.dry_run), desk.width()))
    done = "laid up" if lists.mark == "lay-up" else "launched"
    would = "would be " if desk.dry_run else ""
    count = len(names)
    desk.note(f"{count} {'engine' if count == 1 else 'engines'} {would}{done} on {lists.on}.")


def _left(desk: Desk, jobs: Sequence[SeasonJob], picked: Sequence[SeasonJob]) -> None:
    """The jobs still to do."""
    from fleetcare.show.table import wrapped

    left = [job.task for job in jobs if job not in picked]
    if left and picked:
        click.echo(wrapped(f"Still to do: {', '.join(left)}", desk.width()))
