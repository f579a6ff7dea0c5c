"""What the plan is made from, read in one go, and the plan that comes of it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.due.followups import Standing
    from fleetcare.due.records import Due
    from fleetcare.fleet.booked import Bookings
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.history import History
    from fleetcare.plan.making import Made
    from fleetcare.plan.records import Plan
    from fleetcare.plan.solve import Solution
    from fleetcare.plan.supplies import Arrival
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile
    from fleetcare.usage.outlooks import Forecast

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for on the command line."""

    as_of: date
    horizon: int
    bookings: tuple[Path, ...] = ()
    closed: tuple[Path, ...] = ()
    arrivals: tuple[str, ...] = ()
    frozen: int = 7
    effort: int = 1


@dataclass(frozen=True, slots=True)
class Ground:
    """The fleet as of a day, at one moment of its file: `mark` tells that moment from others."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: list[Due]
    stands: Mapping[str, Sequence[Standing]]
    forecast: Forecast
    kept: Plan | None
    mark: tuple[int, str]
    shelf: Mapping[str, int]
    bookings: Bookings | None = None
    held: frozenset[str] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan with what it was made from."""

    ground: Ground
    made: Made
    solution: Solution
    plan: Plan


def ground(desk: Desk, as_of: date, bookings: Sequence[Path], horizon: int) -> Ground:
    """Read the fleet file once, and work out every row; bookings inform the forecast."""
    from fleetcare.cli.planned import kept_plan
    from fleetcare.due.rows import due_and_standing
    from fleetcare.flags.flag import held_engines
    from fleetcare.usage.outlooks import Forecast, booked_from

    with desk.open() as file:
        with file.reading():
            fleet = file.fleet()
            book = desk.book(fleet, words=True)
            history = file.history(as_of, last_jobs=True, whole=book.again_soon())
            fits, entry = file.fits(as_of)
            kept = kept_plan(file, as_of)
            shelf = _shelf(file, fleet, book, as_of)
            mark = mark_of(file)
        found = _booked(desk, fleet, bookings, as_of, horizon) if bookings else None
        forecast = Forecast(
            book.uses, fits, booked_from(found, as_of.toordinal()) if found else None
        )
        rows, stands = due_and_standing(fleet, history, book, as_of, None, forecast)
        if forecast.made:
            file.keep_fits(forecast.made, fits, entry, as_of)
    held = frozenset(held_engines(stands))
    return Ground(fleet, history, book, rows, stands, forecast, kept, mark, shelf, found, held)


def _shelf(file: FleetFile, fleet: Fleet, book: RuleBook, as_of: date) -> dict[str, int]:
    """What is there of each item that was ever delivered or counted; nothing limits others."""
    from fleetcare.cli.naming import rules_of
    from fleetcare.plan.items import items_known
    from fleetcare.plan.shelf import on_hand, shelf
    from fleetcare.store.shelf import fetch_shelf

    entries = fetch_shelf(file.connection, as_of)
    if not entries:
        return {}
    items = items_known(book.sets, entries, as_of.toordinal())
    stocks = shelf(
        fleet, file.history(as_of), entries, lambda engine: rules_of(fleet, book, engine), items,
        as_of.toordinal(),
    )  # fmt: skip
    return {item: on_hand(stocks, item) for item in stocks}


def mark_of(file: FleetFile) -> tuple[int, str]:
    """What tells one state of the log and the kept plan from another."""
    from fleetcare.store.fits import last_entry
    from fleetcare.store.plans import fetch_plan

    plan = fetch_plan(file.connection)
    return last_entry(file.connection), plan[1] if plan else ""


def _booked(desk: Desk, fleet: Fleet, files: Sequence[Path], as_of: date, horizon: int) -> Bookings:
    """What calendars say of the boats' days; what they leave in doubt is said, and is not free."""
    from fleetcare.cli.bookings import read_bookings
    from fleetcare.show.booked import misread_lines

    last = as_of + max(YEAR, timedelta(days=horizon))
    found = read_bookings(fleet, files, as_of - YEAR, last)
    for line in misread_lines(found, desk.width()):
        desk.note(line)
    return found


def planned(desk: Desk, asked: Asked, check: Callable[[Ground], object]) -> Planned:
    """The plan of the fleet over the days asked for; `check` refuses before the long work."""
    seen = ground(desk, asked.as_of, asked.bookings, asked.horizon)
    check(seen)
    made = problem(desk, seen, asked)
    return solved(desk, seen, made, asked.effort)


def problem(desk: Desk, seen: Ground, asked: Asked) -> Made:
    """The problem that the fleet poses over the days asked for."""
    from fleetcare.plan.making import Wishes, problem_of
    from fleetcare.plan.workshop import Calendar

    first = asked.as_of.toordinal()
    taken = {}
    if seen.bookings is not None:
        taken = {boat: busy.taken for boat, busy in seen.bookings.boats.items()}
    closed = _closed(desk, seen.fleet, asked)
    calendar = Calendar(first, asked.horizon + 1, taken, closed)
    wishes = Wishes(
        calendar, seen.shelf, tuple(arrivals(asked.arrivals, seen.book, asked.as_of)), seen.kept,
        asked.frozen,
    )  # fmt: skip
    return problem_of(
        seen.fleet, seen.history, seen.book, seen.rows, seen.stands, seen.forecast, wishes
    )


def _closed(desk: Desk, fleet: Fleet, asked: Asked) -> dict[str, frozenset[int]]:
    """Days on which places are closed, by the calendars given; what they leave in doubt is said."""
    from fleetcare.cli.naming import zone_named
    from fleetcare.errors import RefusedError
    from fleetcare.plan.workshop import places_apart
    from fleetcare.share.closed import closed_days, together

    missing = [str(path) for path in asked.closed if not path.is_file()]
    if missing:
        raise RefusedError(f"--closed: there is no file {', '.join(missing)}")
    apart, zone = places_apart(fleet.settings), zone_named(fleet.settings.timezone)
    last = asked.as_of + timedelta(days=asked.horizon)
    found = together([closed_days(path, apart, asked.as_of, last, zone) for path in asked.closed])
    for item in found.misread:
        where = f"{item.source} line {item.line}" if item.line else item.source
        desk.note(f"{where}: {item.why}{'; closed on the days it may mean' * bool(item.unknown)}")
    return found.days


def arrivals(texts: Sequence[str], book: RuleBook, as_of: date) -> Iterator[Arrival]:
    """Parts on order out of ITEM=DATE or ITEM=DATE:COUNT, each an item that some job uses up."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.days import day
    from fleetcare.fleet.figures import count
    from fleetcare.fleet.names import did_you_mean, folded
    from fleetcare.plan.supplies import Arrival
    from fleetcare.rules.kits import items_of

    known = (item for ruleset in book.sets.values() for item in items_of(ruleset))
    items = {folded(item): item for item in known}
    for text in texts:
        name, equals, rest = text.partition("=")
        when, colon, many = rest.partition(":")
        if not equals or not when:
            raise RefusedError(f'--arrives "{text}": write ITEM=DATE or ITEM=DATE:COUNT')
        item = items.get(folded(name))
        if item is None:
            hint = did_you_mean(name, items.values()) or "fleetcare rules show names the parts."
            raise RefusedError(f'--arrives: no job uses up "{name}". {hint}')
        on = day(when, "--arrives", as_of)
        number = count(many, "--arrives") if colon else None
        for fault in (on, number):
            if isinstance(fault, Fault):
                raise RefusedError(str(fault))
        assert isinstance(on, date)
        assert number is None or isinstance(number, int)
        yield Arrival(item, on.toordinal(), number)


def solved(desk: Desk, seen: Ground, made: Made, effort: int) -> Planned:
    """The best plan found, told."""
    from fleetcare.plan.making import days_kept
    from fleetcare.plan.moved import moved_since
    from fleetcare.plan.telling import plan_of

    with _waiting(desk, len(made.problem.jobs), len(made.problem.benches)):
        solution = _solution(made, effort)
    since = None if seen.kept is None else seen.kept.first
    kept = days_kept(seen.kept, seen.fleet)
    moved = moved_since(made, solution.answer, kept, seen.rows, since)
    return Planned(seen, made, solution, plan_of(made, solution, moved))


def _solution(made: Made, effort: int) -> Solution:
    """The answer; one that was interrupted is no worse than what a single pass finds."""
    from dataclasses import replace

    from fleetcare.plan.evaluate import evaluate
    from fleetcare.plan.solve import solve

    problem = made.problem
    found = solve(problem, effort, effort > 0)
    if not found.cut_short:
        return found
    quick = solve(problem, 0, False)
    if evaluate(problem, quick.answer).key < evaluate(problem, found.answer).key:
        return replace(quick, cut_short=True)
    return found


@contextmanager
def _waiting(desk: Desk, jobs: int, engines: int) -> Iterator[None]:
    """Says what is being done, on a terminal only; wiped out at the end."""
    shown = sys.stderr.isatty() and not desk.quiet
    if shown:
        words = f"planning {jobs} jobs of {engines} engines; Ctrl-C takes the best so far"
        click.echo(words, nl=False, err=True)
    try:
        yield
    finally:
        if shown:
            click.echo("\r" + " " * 78 + "\r", nl=False, err=True)
