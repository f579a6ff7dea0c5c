"""fleetcare trace: which cause, which look next."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, dry_run, fleet_options


@click.command(short_help="It overheats, its steering is stiff: which cause, which test next.")
@fleet_options
@dry_run
@as_of
@click.argument("engine")
@click.argument("symptom", metavar="overheating|stiff-steering")
@click.option(
    "--seen", multiple=True, metavar="TEST=OUTCOME", help="What a test showed. As often as needed."
)
@click.option("--skip", multiple=True, metavar="TEST", help="A test nobody can make, or knows of.")
@click.option("--log", "keep", is_flag=True, help="Log what was seen, as found and incident do.")
@click.option("--by", metavar="ROLE", help="Who: a role, such as jetty.")
@click.option("--note", default="", help="Anything else worth keeping.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True,
    help="How to print it; JSON asks nothing.",
)  # fmt: skip
@pass_desk
def trace(
    desk: Desk, engine: str, symptom: str, as_of: date, seen: tuple[str, ...],
    skip: tuple[str, ...], keep: bool, by: str | None, note: str, form: str,
) -> None:  # fmt: skip
    """Which cause, which test next, and when to stop first.

    On a terminal it asks one test after the other: Enter for don't know, b goes back, q stops
    and prints the line that takes it up again. In a script it prints how far the answers lead.
    The shares are judgement, not statistics.

    Example: fleetcare trace OB-14 overheating --seen tell-tale=pulsing
    """
    from fleetcare.cli.trace_asking import Asking
    from fleetcare.cli.trace_case import case_of, log
    from fleetcare.errors import RefusedError
    from fleetcare.show.trace import trace_text, trace_values
    from fleetcare.show.values import json_text

    if keep and form == "json":
        raise RefusedError("--log tells what it stored; with JSON, run the commands under log")
    with desk.open() as file:
        case = case_of(desk, file, engine, symptom, as_of, seen, skip)
        if form == "json":
            click.echo(json_text(trace_values(case.traced(), case.page)))
        elif desk.is_terminal() and not keep:
            if Asking(case).run():
                log(desk, file, case, by, note)
        else:
            lines = case.command(), case.command(repaired=True)
            click.echo(trace_text(case.traced(), case.page, *lines, logged=keep))
            if keep:
                click.echo()
                log(desk, file, case, by, note)
