"""fleetcare run: hours or fuel used."""

from __future__ import annotations

from datetime import date

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on

LITRES_A_GALLON_X1000 = 3785  # 1 US gallon = 3.785411784 l, by definition


@click.command()
@fleet_options
@dry_run
@click.argument("engine")
@click.argument("hours", type=HOURS, required=False)
@written_on
@click.option("--fuel", type=HOURS, metavar="AMOUNT", help="Fuel burned instead of hours.")
@click.option("--water", type=click.Choice(["fresh", "brackish", "salt"]), help="Where it ran.")
@click.option("--hire-time", is_flag=True, help="The hours are from hire out to hire in.")
@click.option("--reading", type=HOURS, metavar="FIGURE", help="What the meter shows after it.")
@pass_desk
def run(
    desk: Desk, engine: str, hours: int | None, on: date, by: str | None, note: str,
    fuel: int | None, water: str | None, hire_time: bool, reading: int | None,
) -> None:  # fmt: skip
    """Write down hours run on a day, or the fuel burned.

    Example: fleetcare run OB-01 3.5 --hire-time
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.waters import water_of
    from fleetcare.log.entries import Run

    if (hours is None) == (fuel is None):
        raise RefusedError(f"how long did it run? fleetcare run {engine} HOURS, or --fuel AMOUNT")
    with desk.open() as file:
        fleet = file.fleet()
        entry = Run(
            on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(engine).name,
            hours=hours, fuel=litres(fuel, fleet.settings.fuel_unit), reading=reading,
            water=water_of(water) if water else None, hire_time=hire_time,
        )  # fmt: skip
        log_and_tell(desk, file, desk.book(fleet, words=True), [entry])


def litres(amount: int | None, unit: str) -> int | None:
    """Hundredths of a litre out of hundredths of the fleet's unit."""
    if amount is None or unit == "litres":
        return amount
    return round(amount * LITRES_A_GALLON_X1000 / 1000)
