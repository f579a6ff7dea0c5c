"""fleetcare due: a row for every job of every engine."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, paint, pass_desk
from fleetcare.cli.options import as_of, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.due.records import Due
    from fleetcare.store.fleet_file import FleetFile

CHECK_FAILED = 3


@click.command()
@fleet_options
@as_of
@format_option
@click.option("--all", "clear_too", is_flag=True, help="Show the clear ones too.")
@click.option("--within", type=click.IntRange(0, 3650), metavar="DAYS", help="Due by then.")
@click.option("--boat", metavar="NAME", help="Only this boat's engines.")
@click.option("--engine", metavar="NAME", help="Only this engine.")
@click.option("--leads-to", metavar="HARM", help="Only what leads to this, such as overheating.")
@click.option(
    "--bookings", multiple=True, type=click.Path(path_type=Path), metavar="FILE.ics",
    help="Booked days of the boats, for the days to come.",
)  # fmt: skip
@click.option("--check", is_flag=True, help="Exit 3 when a precursor or a hold stands.")
@pass_desk
def due(
    desk: Desk, as_of: date, form: str, clear_too: bool, within: int | None, boat: str | None,
    engine: str | None, leads_to: str | None, bookings: tuple[Path, ...], check: bool,
) -> None:  # fmt: skip
    """What is due, worst first.

    Held engines first, then overdue jobs that lead to overheating or a seized swivel, those
    without record, other overdue ones, due ones by date.

    Example: fleetcare due --leads-to overheating
    """
    from fleetcare.cli.looking import printed, view_of
    from fleetcare.due.readings import readings_worth_taking
    from fleetcare.show.lists import due_table
    from fleetcare.show.values import due_values, worth_values

    with desk.open() as file:
        only = _asked(file, boat, engine)
        seen = view_of(file, desk, as_of, words=False, bookings=bookings, only=only)
    rows = _chosen(seen, as_of, within, boat, engine, leads_to)
    printed(
        form, lambda: (due_values(row, row.engine in seen.held) for row in rows), as_of, HEAD,
        lambda: due_table(rows, seen.held, as_of, desk.width(), paint, clear_too),
        lambda: {"readings": [worth_values(item, as_of) for item in readings_worth_taking(rows)]},
    )  # fmt: skip
    if check and _alarming(rows, seen):
        click.get_current_context().exit(CHECK_FAILED)


def _asked(file: FleetFile, boat: str | None, engine: str | None) -> Collection[str] | None:
    """The engines that rows may be asked of; None for all."""
    if engine is not None:
        return {file.fleet().engine(engine).name}
    if boat is not None:
        return file.engines_of({file.fleet().boat(boat).name})
    return None


def _chosen(
    seen: View, as_of: date, within: int | None, boat: str | None, engine: str | None,
    leads_to: str | None,
) -> list[Due]:  # fmt: skip
    rows = seen.rows
    if engine is not None:
        name = seen.fleet.engine(engine).name
        rows = [row for row in rows if row.engine == name]
    if boat is not None:
        name = seen.fleet.boat(boat).name
        rows = [row for row in rows if row.boat == name]
    if leads_to is not None:
        rows = [row for row in rows if leads_to in row.rule.leads_to]
        _refuse_unknown_harm(seen, leads_to)
    if within is not None:
        last = as_of.toordinal() + within
        rows = [
            row for row in rows
            if row.status in ("overdue", "no record") or (row.due_on or last + 1) <= last
        ]  # fmt: skip
    return rows


def _refuse_unknown_harm(seen: View, leads_to: str) -> None:
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean

    harms = {
        harm
        for ruleset in seen.book.sets.values()
        for rule in ruleset.rules.values()
        for harm in rule.leads_to
    }
    if leads_to not in harms:
        hint = did_you_mean(leads_to, harms) or f"One of: {', '.join(sorted(harms))}."
        raise RefusedError(f'no rule leads to "{leads_to}". {hint}')


def _alarming(rows: list[Due], seen: View) -> bool:
    from fleetcare.flags.flag import alarming

    return any(
        alarming(row) or (row.engine in seen.held and row.boat is not None and not row.laid_up)
        for row in rows
    )


HEAD = (
    "engine", "boat", "component", "part", "task", "title", "status", "governed_by", "life_used",
    "life_floor", "hours_since", "hours_left", "likely_hours", "days_since", "water", "due_early",
    "due_on", "due_late", "overdue_since", "leads_to", "last_done_on", "last_done_hours",
    "raised_by_likely_hours", "held", "put_off_until", "put_off_times", "because", "reason",
)  # fmt: skip
