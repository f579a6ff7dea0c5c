"""fleetcare year: hours, jobs, minutes and parts by boat, looking back."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import ANY_DAY, as_of, fleet_options, format_option


@click.command(short_help="Hours, jobs, minutes and parts by boat, looking back.")
@fleet_options
@as_of
@format_option
@click.argument("year", required=False, type=click.IntRange(1950, 2200))
@click.option("--from", "first", type=ANY_DAY, metavar="DATE", help="The first day, of any span.")
@click.option("--to", "last", type=ANY_DAY, metavar="DATE", help="Its last day.")
@click.option("--boat", metavar="NAME", help="Only this boat.")
@click.option("--engine", metavar="NAME", help="Only this engine, boat by boat.")
@click.option("--by-engine", is_flag=True, help="A row for each engine on each boat.")
@pass_desk
def year(
    desk: Desk, as_of: date, form: str, year: int | None, first: date | None, last: date | None,
    boat: str | None, engine: str | None, by_engine: bool,
) -> None:  # fmt: skip
    """Hours, jobs, minutes and parts by boat, looking back.

    YEAR is the year of --as-of unless it is given; --from and --to make another span, such as a
    season. Where every figure of both years is known, hours stand against the year before.

    Example: fleetcare year --from 2026-04-01 --to 2026-07-18 --by-engine
    """
    from fleetcare.cli.looking import printed
    from fleetcare.flags.year import Asked
    from fleetcare.flags.year import year as looked_back
    from fleetcare.show.year import HEAD, year_more, year_row, year_text, year_values

    begin, end = _span(year, first, last, as_of)
    with desk.open() as file:
        fleet, history = file.fleet(), file.history(as_of)
    asked = Asked(
        begin, end, fleet.boat(boat).name if boat else None,
        fleet.engine(engine).name if engine else None, by_engine,
    )  # fmt: skip
    seen = looked_back(fleet, history, desk.book(fleet, words=True), as_of, asked)
    values_of = year_row if form == "csv" else year_values
    printed(
        form, lambda: [values_of(item) for item in seen.accounts], as_of, HEAD,
        lambda: year_text(seen, end, desk.width()), lambda: year_more(seen),
    )  # fmt: skip


def _span(
    year: int | None, first: date | None, last: date | None, as_of: date
) -> tuple[date, date]:
    """The first and last day asked for; refused where they make no span that has begun."""
    from fleetcare.errors import RefusedError

    if first is None and last is None:
        year = year or as_of.year
        first, last = date(year, 1, 1), date(year, 12, 31)
    elif year is not None:
        raise RefusedError(f"give either {year} or --from and --to")
    elif first is None:
        raise RefusedError("--to needs --from, the first day of the span")
    last = last or as_of
    if last < first:
        raise RefusedError(f"--from {first} lies after --to {last}")
    if first > as_of:
        raise RefusedError(f"{first} has not come yet: today is {as_of}")
    return first, last
