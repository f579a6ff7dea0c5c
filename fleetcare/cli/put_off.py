"""fleetcare put-off: a job put off until a day, with the reason."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import ANY_DAY, dry_run, fleet_options, written_on


@click.command("put-off", short_help="Put a job off until a day; it comes back by itself.")
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("task")
@click.option("--until", type=ANY_DAY, required=True, metavar="DATE", help="When it comes back.")
@click.option("--because", required=True, metavar="TEXT", help="Why it can wait.")
@written_on
@pass_desk
def put_off(
    desk: Desk, engine: str, task: str, until: date, because: str, on: date, by: str | None,
    note: str,
) -> None:  # fmt: skip
    """Put a job off until a day; it comes back by itself, and is counted.

    What leads to overheating or a seized swivel stays flagged all the same.

    \b
    Example: fleetcare put-off OB-07 "gear oil" --until 2027-01-31 --because "no oil"
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.cli.naming import fitting_task
    from fleetcare.errors import RefusedError
    from fleetcare.log.entries import PutOff

    if until <= on:
        raise RefusedError(f"--until {until} must lie after {on}")
    with desk.open() as file:
        fleet = file.fleet()
        book, name = desk.book(fleet, words=True), fleet.engine(engine).name
        ruleset, job = fitting_task(fleet, book, name, task)
        text = f"{because} ({note})" if note else because
        entry = PutOff(
            on=on, by=desk.by(fleet, by), note=text, engine=name, task=job, until=until
        )  # fmt: skip
        log_and_tell(desk, file, book, [entry])
        if ruleset.rules[job].is_precursor:
            desk.note(
                f"{job} leads to {ruleset.rules[job].leads_to[0]}: overdue, or without a record, "
                f"it is flagged all the same."
            )
