"""fleetcare morning: what must not go out today."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, paint, pass_desk
from fleetcare.cli.options import as_of, fleet_options, format_option


@click.command()
@fleet_options
@as_of
@format_option
@click.option("--if-any", is_flag=True, help="Say nothing when every boat goes.")
@pass_desk
def morning(desk: Desk, as_of: date, form: str, if_any: bool) -> None:
    """What must not go out today: one line a boat, worst first.

    Example: fleetcare morning --if-any
    """
    from fleetcare.cli.looking import printed, view
    from fleetcare.flags.morning import GO, laid_up_boats
    from fleetcare.flags.morning import morning as verdicts_of
    from fleetcare.show.lists import morning_table
    from fleetcare.show.values import verdict_values

    seen = view(desk, as_of)
    verdicts = verdicts_of(seen.rows, seen.flags, seen.fleet, seen.history, as_of)
    if if_any and all(item.verdict == GO for item in verdicts):
        return
    away = laid_up_boats(seen.rows, verdicts)
    head = ("boat", "engine", "verdict", "reason", "reading_age_days")
    printed(
        form, lambda: [verdict_values(item) for item in verdicts], as_of, head,
        lambda: morning_table(verdicts, desk.width(), paint, not if_any, away),
    )  # fmt: skip
