"""fleetcare sheet: the work sheet of a service day, of an engine, or of all that is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import ANY_DAY, as_of, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.due.records import Due
    from fleetcare.plan.records import Plan
    from fleetcare.rules.working_order import Order
    from fleetcare.show.sheet import Asked, Sheet

FILE = click.Path(path_type=Path, dir_okay=False, allow_dash=True)
NAMED = 6  # planned days named in a refusal, at most


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What was asked for on the line."""

    engines: tuple[str, ...]
    on: date | None
    due: bool
    boat: str | None
    place: str | None
    within: int | None
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Files:
    """Where to."""

    paper: str
    html: Path | None
    pdf: Path | None
    form: Path | None


@click.command(short_help="The work sheet of a service day, of an engine, or of what is due.")
@fleet_options
@as_of
@format_option
@click.argument("engines", nargs=-1, metavar="[ENGINE...]")
@click.option("--on", type=ANY_DAY, metavar="DAY", help="A service day of the plan that is kept.")
@click.option("--due", is_flag=True, help="Every engine of which something is due.")
@click.option("--boat", metavar="NAME", help="Only this boat's engines.")
@click.option("--place", metavar="NAME", help="Only boats of this place.")
@click.option("--within", type=click.IntRange(0, 3650), metavar="DAYS", help="Due by then, too.")
@click.option("--task", "tasks", multiple=True, metavar="TASK",
              help="These jobs, whatever is due (repeat).")  # fmt: skip
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True,
              help="What it is printed on.")  # fmt: skip
@click.option("--html", type=FILE, metavar="FILE", help="Write it as a page that prints.")
@click.option("--pdf", type=FILE, metavar="FILE", help="Write it as PDF.")
@click.option("--form", "blank", type=FILE, metavar="FILE",
              help="Write what done --sheet FILE reads back.")  # fmt: skip
@pass_desk
def sheet(
    desk: Desk, as_of: date, form: str, engines: tuple[str, ...], on: date | None, due: bool,
    boat: str | None, place: str | None, within: int | None, tasks: tuple[str, ...], paper: str,
    html: Path | None, pdf: Path | None, blank: Path | None,
) -> None:  # fmt: skip
    """The work sheet: what to open and what to do, in working order, with what to mind.

    Of the engines named, what is due or wanted now; of --on a day of the kept plan; with neither
    of the next planned day. Jobs of --task stand on it whatever is due.

    Example: fleetcare sheet OB-21 --html ob-21.html --form ob-21.txt
    """
    from fleetcare.cli.looking import view
    from fleetcare.cli.planned import kept_plan

    wanted = _Wanted(engines, on, due, boat, place, within, tasks)
    _refuse_mixtures(wanted)
    plan = None
    if _is_planned(wanted):
        with desk.open() as file:
            plan = kept_plan(file)
    seen = view(desk, as_of)
    made = _made(seen, wanted, plan, as_of)
    if not made.visits:
        raise _nothing(made, wanted)
    _give(desk, made, form, _Files(paper, html, pdf, blank))


def _is_planned(wanted: _Wanted) -> bool:
    return wanted.on is not None or not (wanted.engines or wanted.due)


def _refuse_mixtures(wanted: _Wanted) -> None:
    from fleetcare.errors import RefusedError

    if wanted.due and (wanted.on or wanted.engines):
        raise RefusedError("--due is of every engine and of today: give it without ENGINE and --on")
    if wanted.tasks and (not wanted.engines or wanted.on):
        raise RefusedError("--task: on which engine? fleetcare sheet ENGINE --task TASK")
    if wanted.tasks and wanted.within is not None:
        raise RefusedError("--task names the jobs; --within would choose others")
    if _is_planned(wanted) and wanted.within is not None:
        raise RefusedError("--within goes with ENGINE or --due; a planned day has its own jobs")


def _made(seen: View, wanted: _Wanted, plan: Plan | None, as_of: date) -> Sheet:
    """The sheet that was asked for."""
    from fleetcare.show.sheet import Ground, sheet_of

    on = as_of
    if _is_planned(wanted):
        day, asked = _planned(seen, wanted, plan, as_of)
        on = date.fromordinal(day)
    elif wanted.tasks:
        asked = _named_jobs(seen, wanted)
    else:
        asked = _due_jobs(seen, wanted, as_of)
    standing = {name: flag.standing for name, flag in seen.flags.items()}
    ground = Ground(seen.fleet, seen.history, seen.book, seen.rows, standing, _order(), as_of)
    return sheet_of(ground, _of_place(seen, asked, wanted), on)


def _order() -> Order:
    from fleetcare.errors import FaultsError
    from fleetcare.rules.shipped import word_table
    from fleetcare.rules.working_order import read_order

    order = read_order(word_table("order"), "intervals/order.toml")
    if isinstance(order, list):
        raise FaultsError(order)
    return order


# -- which engines and jobs ------------------------------------------------------------------------


def _planned(
    seen: View, wanted: _Wanted, plan: Plan | None, as_of: date
) -> tuple[int, list[Asked]]:
    """A day of the kept plan, the next one when none is named, and its visits."""
    from fleetcare.errors import RefusedError
    from fleetcare.show.sheet import Asked

    if plan is None:
        raise RefusedError(
            "no plan is kept. Name engines, or --due; fleetcare plan --fix keeps a plan"
        )
    days = sorted({day.on for day in plan.days})
    coming = [day for day in days if day >= as_of.toordinal()]
    on = wanted.on.toordinal() if wanted.on is not None else coming[0] if coming else None
    if on not in days:
        told = ", ".join(date.fromordinal(day).isoformat() for day in coming[:NAMED])
        told = f"coming ones: {told}" if told else "it has none to come; fleetcare plan --fix"
        what = f"{wanted.on} is no service day" if wanted.on else "there is no service day left"
        raise RefusedError(f"{what} of the plan that is kept ({told})")
    assert on is not None
    names = {seen.fleet.engine(engine).name for engine in wanted.engines}
    asked = [
        Asked(visit.engine, visit.tasks, plan.first)
        for day in plan.days
        if day.on == on
        for visit in day.visits
        if not names or _name(seen, visit.engine) in names
    ]
    if names and not asked:
        raise RefusedError(
            f"{', '.join(sorted(names))}: not planned on {date.fromordinal(on)}. What is due of it "
            f"now: fleetcare sheet ENGINE"
        )
    return on, asked


def _name(seen: View, engine: str) -> str:
    """The name an engine has now."""
    return seen.fleet.engine(engine).name if seen.fleet.has_engine(engine) else engine


def _named_jobs(seen: View, wanted: _Wanted) -> list[Asked]:
    from fleetcare.cli.naming import typed_task
    from fleetcare.show.sheet import Asked

    names = dict.fromkeys(seen.fleet.engine(engine).name for engine in wanted.engines)
    return [
        Asked(
            name,
            tuple(
                dict.fromkeys(
                    typed_task(seen.fleet, seen.book, name, task) for task in wanted.tasks
                )
            ),
        )
        for name in names
    ]


def _due_jobs(seen: View, wanted: _Wanted, as_of: date) -> list[Asked]:
    """What is due or wanted of the engines named, or of all by place and boat."""
    from fleetcare.fleet.names import natural
    from fleetcare.show.sheet import Asked

    jobs: dict[str, list[str]] = {}
    boats: dict[str, str] = {}
    for row in seen.rows:
        if _is_wanted(row, wanted.within, as_of):
            jobs.setdefault(row.engine, []).append(row.task)
            boats[row.engine] = row.boat or ""
    if wanted.engines:
        named = dict.fromkeys(seen.fleet.engine(engine).name for engine in wanted.engines)
        return [Asked(name, tuple(jobs[name])) for name in named if name in jobs]

    def place(name: str) -> tuple[object, ...]:
        boat = boats[name]
        where = seen.fleet.boats[boat].place if boat else ""
        return not boat, natural(where), natural(boat), natural(name)

    return [Asked(name, tuple(jobs[name])) for name in sorted(jobs, key=place)]


def _is_wanted(row: Due, within: int | None, as_of: date) -> bool:
    """Whether a row is due; what was put off waits, unless it leads to the worst."""
    if row.put_off_until is not None and not row.is_precursor:
        return False
    if row.status != "clear":
        return True
    last = as_of.toordinal() + (within or 0)
    return within is not None and row.due_on is not None and row.due_on <= last


def _of_place(seen: View, asked: Sequence[Asked], wanted: _Wanted) -> list[Asked]:
    """Only those of the boat or the place asked for."""
    from fleetcare.errors import RefusedError

    if wanted.boat is None and wanted.place is None:
        return list(asked)
    boats = {row.engine: row.boat for row in seen.rows}
    kept = list(asked)
    if wanted.boat is not None:
        boat = seen.fleet.boat(wanted.boat).name
        kept = [item for item in kept if boats.get(item.engine) == boat]
    if wanted.place is not None:
        places = {name: boat.place for name, boat in seen.fleet.boats.items()}
        if wanted.place not in places.values():
            known = ", ".join(sorted(set(places.values()) - {""})) or "none"
            raise RefusedError(f'no boat has the place "{wanted.place}"; there are: {known}')
        kept = [item for item in kept if places.get(boats.get(item.engine) or "") == wanted.place]
    return kept


def _nothing(made: Sheet, wanted: _Wanted) -> Exception:
    from fleetcare.errors import RefusedError
    from fleetcare.show.sheet_view import sheet_view

    if made.left_out:
        told = "; ".join(sheet_view(made).left_out)
        return RefusedError(f"nothing is left to do on {made.on}: {told}")
    if wanted.engines:
        return RefusedError(
            f"nothing is due of {', '.join(wanted.engines)}. What comes soon: --within DAYS; a job "
            f"of your choice: --task TASK"
        )
    return RefusedError("nothing to do there. fleetcare due --all shows every job")


# -- what becomes of it ----------------------------------------------------------------------------


def _give(desk: Desk, made: Sheet, form: str, files: _Files) -> None:
    """Print the sheet, or write the files asked for."""
    from fleetcare.cli.looking import printed
    from fleetcare.show.sheet_text import HEAD, sheet_more, sheet_rows, sheet_text
    from fleetcare.show.sheet_view import sheet_view

    if any((files.html, files.pdf, files.form)):
        _write(made, files)
        return
    printed(
        form, lambda: sheet_rows(made), made.as_of, HEAD,
        lambda: sheet_text(sheet_view(made), desk.width()), lambda: sheet_more(made),
    )  # fmt: skip


def _write(made: Sheet, files: _Files) -> None:
    from fleetcare.show.sheet_form import form_text
    from fleetcare.show.sheet_page import sheet_page
    from fleetcare.show.sheet_view import sheet_view, weekday
    from fleetcare.show.words import ENGLISH

    shown = sheet_view(made)
    day = weekday(made.on, ENGLISH)
    content: list[tuple[Path, bytes]] = []
    if files.html is not None:
        content.append((files.html, sheet_page(shown, day, files.paper).encode()))
    if files.pdf is not None:
        from fleetcare.show.sheet_pdf import sheet_pdf

        content.append((files.pdf, sheet_pdf(shown, day, made.as_of, files.paper)))
    if files.form is not None:
        name = files.form.name if files.form.name != "-" else "FILE"
        content.append((files.form, form_text(made, name).encode()))
    for path, data in content:
        _save(path, data, f"{shown.summary}, {day}")


def _save(path: Path, data: bytes, told: str) -> None:
    from fleetcare.store.files import write_whole

    if str(path) == "-":
        click.echo(data, nl=False)
        return
    write_whole(path, data)
    click.echo(f"{path}: {told}.")
