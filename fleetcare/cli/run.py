"""fleetcare run: hours or fuel used, of one engine or many at once."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.many import file_options
from fleetcare.cli.options import HOURS, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.errors import Fault
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry

LITRES_A_GALLON_X1000 = 3785  # 1 US gallon = 3.785411784 l, by definition
FORM = "ENGINE HOURS ENGINE HOURS"


@click.command(short_help="Write down hours run on a day, or the fuel burned.")
@fleet_options
@dry_run
@click.argument("words", nargs=-1, metavar="ENGINE HOURS...")
@written_on
@file_options
@click.option("--fuel", type=HOURS, metavar="AMOUNT", help="Fuel burned instead of hours.")
@click.option("--water", type=click.Choice(["fresh", "brackish", "salt"]), help="Where it ran.")
@click.option("--hire-time", is_flag=True, help="The hours are from hire out to hire in.")
@click.option("--reading", type=HOURS, metavar="FIGURE", help="What the meter shows after it.")
@pass_desk
def run(
    desk: Desk, /, words: tuple[str, ...], source: Path | None, keep_good: bool, fuel: int | None,
    reading: int | None, **more: Any,
) -> None:  # fmt: skip
    """Write down hours run on a day, or the fuel burned.

    HOURS may be a hire's times, out and in: 9:30-12:15. Many at once: on the line, ENGINE HOURS
    ENGINE HOURS, or from a file or a pipe (-), a line an engine: its name, the hours and perhaps
    a date. All are stored or none.

    Example: fleetcare run OB-01 3.5 --hire-time
    """
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.cli.many import ending, given_by, is_many, read, refuse_with_many, take_many
    from fleetcare.errors import Fault, RefusedError

    many = is_many(words, source)
    if many:
        refuse_with_many({"fuel": fuel, "reading": reading})
    elif len(words) != (1 if fuel is not None else 2):
        if not words:
            raise click.UsageError("which engine, and how long did it run? ENGINE HOURS")
        raise RefusedError(f"how long did it run? fleetcare run {words[0]} HOURS, or --fuel AMOUNT")
    with desk.open() as file:
        fleet = file.fleet()
        maker = _Maker(fleet, desk.by(fleet, more.pop("by")), fuel, reading, **more)
        if many:
            given = given_by(words, source, FORM, fleet, desk.today())
            ending(take_many(desk, file, read(*given, maker.run), keep_good).found)
            return
        entry = maker.run(words[0], words[1] if len(words) > 1 else "")
        if isinstance(entry, Fault):
            raise RefusedError(str(entry))
        log_and_tell(desk, file, desk.book(fleet, words=True), [entry])


class _Maker:
    """Makes runs, with what the options say of all of them."""

    def __init__(
        self, fleet: Fleet, by: str, fuel: int | None, reading: int | None, on: date, note: str,
        water: str | None, hire_time: bool,
    ) -> None:  # fmt: skip
        self.fleet, self.by, self.on, self.note = fleet, by, on, note
        self.fuel, self.reading = litres(fuel, fleet.settings.fuel_unit), reading
        self.water, self.hire_time = water, hire_time

    def run(self, engine: str, text: str, day: date | None = None) -> Entry | Fault:
        """A run of hours, or of hires out and in; without a text, of the fuel burned."""
        from fleetcare.errors import Fault
        from fleetcare.fleet.hires import hired, is_hire
        from fleetcare.fleet.waters import water_of
        from fleetcare.log.entries import Run

        name = self.fleet.engine(engine).name
        hours = hired(text, "hours") if text else None
        if isinstance(hours, Fault):
            return hours
        return Run(
            on=day or self.on, by=self.by, note=self.note, engine=name, hours=hours,
            fuel=self.fuel, reading=self.reading,
            water=water_of(self.water) if self.water else None,
            hire_time=self.hire_time or is_hire(text),
        )  # fmt: skip


def litres(amount: int | None, unit: str) -> int | None:
    """Hundredths of a litre out of hundredths of the fleet's unit."""
    if amount is None or unit == "litres":
        return amount
    return round(amount * LITRES_A_GALLON_X1000 / 1000)
