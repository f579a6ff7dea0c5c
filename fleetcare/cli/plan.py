"""fleetcare plan: service days, over the days to come."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, dry_run, fleet_options, format_option
from fleetcare.cli.plan_year import tell_year

if TYPE_CHECKING:
    from fleetcare.cli.plan_look import Asked, Ground, Planned
    from fleetcare.plan.records import Plan
    from fleetcare.show.plan import Beside

INTERRUPTED = 130
ICS = click.Path(path_type=Path)


@click.command(short_help="Service days: which job of which engine on which day, and why.")
@fleet_options
@dry_run
@as_of
@format_option
@click.option("--horizon", type=click.IntRange(1, 365), default=60, show_default=True,
              metavar="DAYS", help="How far ahead.")  # fmt: skip
@click.option("--bookings", multiple=True, type=ICS, metavar="FILE.ics",
              help="Booked days of the boats; a boat is not asked for on them.")  # fmt: skip
@click.option("--closed", multiple=True, type=ICS, metavar="FILE.ics",
              help="Days on which the workshop is closed beside its weekdays.")  # fmt: skip
@click.option("--arrives", multiple=True, metavar="ITEM=DATE[:COUNT]",
              help="A part that is not there before a day.")  # fmt: skip
@click.option("--place", metavar="NAME", help="Show only the boats that lie there.")
@click.option("--frozen", type=click.IntRange(0, 365), default=7, show_default=True,
              metavar="DAYS", help="Days in which the kept plan stays if it can.")  # fmt: skip
@click.option("--effort", type=click.IntRange(0, 20), default=1, show_default=True,
              help="How long to look for better; 0 is quick and proves little.")  # fmt: skip
@click.option("--all", "whole", is_flag=True, help="Show every day in full.")
@click.option("--why", metavar="DAY|ENGINE", help="Why here and not another day, and its cost.")
@click.option("--year", is_flag=True, help="The year ahead by month: minutes, parts, boat-days.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
              help="Draw it into a picture too.")  # fmt: skip
@click.option("--fix", is_flag=True, help="Keep this plan; calendars and sheets follow it.")
@pass_desk
def plan(
    desk: Desk, as_of: date, form: str, horizon: int, bookings: tuple[Path, ...],
    closed: tuple[Path, ...], arrives: tuple[str, ...], place: str | None, frozen: int,
    effort: int, whole: bool, why: str | None, year: bool, svg: Path | None, fix: bool,
) -> None:  # fmt: skip
    """Service days: which job of which engine on which day, what is late, and why.

    Jobs of an engine share what must be opened; boats come in when they are not booked. First as
    few late jobs as can be that lead to overheating or a seized swivel, then as few left without
    a day, then the least cost of boat-days, access, life thrown away and life run over.

    Example: fleetcare plan --as-of 2026-07-18 --horizon 21
    """
    from fleetcare.cli.plan_look import Asked, planned

    asked = Asked(as_of, horizon, bookings, closed, arrives, frozen, effort)
    if year:
        tell_year(desk, asked, form)
        return
    found = planned(desk, asked, lambda seen: _check(seen, asked, place, why))
    _tell(desk, found, form, whole, place, why)
    if svg is not None:
        _draw(desk, found, svg)
    if fix:
        _keep(desk, found, aside=form != "table")
    if found.plan.cut_short:
        click.get_current_context().exit(INTERRUPTED)


def _tell(
    desk: Desk, found: Planned, form: str, whole: bool, place: str | None, why: str | None
) -> None:
    """Print the plan, or why it is so, in the form asked for."""
    from fleetcare.cli.plan_why import tell_why
    from fleetcare.plan.telling import titles
    from fleetcare.show import values
    from fleetcare.show.plan import plan_text
    from fleetcare.show.plan_values import HEAD, plan_rows, plan_values

    if why is not None:
        tell_why(found, why, form, desk.width())
        return
    shown, names, beside = _at_place(found, place), titles(found.made), _beside(found)
    if form == "table":
        click.echo(plan_text(shown, beside, desk.width(), whole))
    elif form == "json":
        head = {"fleetcare": values.SCHEMA, "as_of": values.iso(shown.first)}
        told = plan_values(shown, names, beside.held, beside.stuck, beside.put_off)
        click.echo(values.json_text({**head, **told}))
    elif form == "csv":
        click.echo(values.as_csv(plan_rows(shown, names), HEAD))
    else:
        click.echo(values.as_ndjson(plan_rows(shown, names)))


def _check(seen: Ground, asked: Asked, place: str | None, why: str | None) -> None:
    """Refuse names and days that mean nothing, before there is a plan."""
    from fleetcare.cli.naming import boats_at
    from fleetcare.cli.plan_why import asked_of

    if place is not None:
        boats_at(seen.fleet, place)
    if why is not None:
        asked_of(seen, asked.as_of, asked.horizon, why)


def _at_place(found: Planned, place: str | None) -> Plan:
    """The plan, or what of it concerns the boats that lie at a place."""
    from fleetcare.cli.naming import boats_at
    from fleetcare.plan.telling import only_engines

    if place is None:
        return found.plan
    boats = boats_at(found.ground.fleet, place)
    return only_engines(found.plan, {row.engine for row in found.ground.rows if row.boat in boats})


def _draw(desk: Desk, found: Planned, path: Path) -> None:
    from fleetcare.show.plan_svg import plan_svg
    from fleetcare.store.files import write_whole

    calendar = found.made.calendar
    minutes = {place.name: place.minutes for place in found.made.problem.places}
    write_whole(path, plan_svg(found.plan, minutes, calendar.taken))
    desk.note(f"{path}: the picture.")


def _beside(found: Planned) -> Beside:
    from fleetcare.show.plan import Beside

    made = found.made
    return Beside(
        {place.name: place.minutes for place in made.problem.places}, found.ground.held,
        {one.engine: sorted(one.stuck) for one in made.benches}, len(made.put_off),
    )  # fmt: skip


def _keep(desk: Desk, found: Planned, aside: bool) -> None:
    """Keep the plan in one transaction, unless anything was written since the fleet was read.

    What was kept is said `aside`, on stderr, where stdout has something for a program.
    """
    from fleetcare.cli.plan_look import mark_of
    from fleetcare.errors import RefusedError
    from fleetcare.plan.kept import as_text
    from fleetcare.show.plan import counted
    from fleetcare.store.plans import keep_plan

    if found.plan.cut_short:
        desk.note("Interrupted: nothing was kept.")
        return
    with desk.open() as file, file.writing(keep=not desk.dry_run) as connection:
        if mark_of(file) != found.ground.mark:
            raise RefusedError(
                "something was logged, or another plan kept, while this one was made; it was not "
                "kept. Again: fleetcare plan --fix"
            )
        keep_plan(connection, found.plan.first, as_text(found.plan))
    days = counted(len(found.plan.days), "service day")
    click.echo(f"{'would keep' if desk.dry_run else 'kept'} this plan: {days}", err=aside)
