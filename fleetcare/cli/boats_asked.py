"""Boats as they are asked for: what a use assumes, in words; a boat and its engine in turn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, sentence

if TYPE_CHECKING:
    from fleetcare.fleet.boats import Boat
    from fleetcare.fleet.engines import Engine
    from fleetcare.fleet.settings import Settings
    from fleetcare.rules.words import Use
    from fleetcare.store.fleet_file import FleetFile

USES, WATERS = ("hire", "club", "owner"), ("fresh", "brackish", "salt")
ASSUMED_USE, ASSUMED_WATER = "hire", "salt"  # the most hours, the most wear: never too late
WRONG_USE = (
    "The use stands in until the log knows better; a wrong one halves how often the dates of the "
    "first season hold."
)


def use_words(use: Use, settings: Settings) -> str:
    """What a use assumes: hours a year and the season."""
    from fleetcare.fleet.days import MONTHS

    hours = f"about {float(use.hours_a_year):g} hours a year"
    season = use.season(settings)
    if season is None:
        return f"{use.name}: {hours}, all year round"
    begin, end = (f"{day} {MONTHS[month - 1]}" for month, day in season)
    return f"{use.name}: {hours}, {begin} to {end}"


def tell_uses(desk: Desk, uses: Mapping[str, Use], settings: Settings) -> None:
    """What each use assumes, and what a wrong one costs."""
    from fleetcare.show.table import wrapped

    for name in USES:
        click.echo(wrapped(f"  {use_words(uses[name], settings)}", desk.width()))
    click.echo(wrapped(f"  {WRONG_USE}", desk.width()))


def asked_use(before: str | None) -> str:
    """The use, asked for; the one given before is offered."""
    use: str = click.prompt("  Use", type=click.Choice(USES), default=before)
    return use


def given_boat(text: str, since: date) -> tuple[Boat, list[str]]:
    """The boat of NAME,USE,WATER, and which of them were left out and assumed."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.boats import Boat
    from fleetcare.fleet.names import did_you_mean, folded, tidy
    from fleetcare.fleet.waters import Water

    cells = [cell.strip() for cell in text.split(",")]
    if len(cells) > 3 or not cells[0]:
        raise RefusedError(
            f'--boat takes NAME,USE,WATER, such as "Lapwing,hire,salt", not "{text}"'
        )
    cells += [""] * (3 - len(cells))
    found = {}
    for what, word, known in (("use", cells[1], USES), ("water", cells[2], WATERS)):
        if word and folded(word) not in known:
            hint = did_you_mean(word, known) or f"There are {', '.join(known)}."
            raise RefusedError(f'--boat {cells[0]}: no {what} "{word}". {hint}')
        found[what] = folded(word)
    assumed = [what for what, word in found.items() if not word]
    water = Water[(found["water"] or ASSUMED_WATER).upper()]
    return Boat(tidy(cells[0]), found["use"] or ASSUMED_USE, water, since), assumed


def added_words(boat: Boat, assumed: list[str] | tuple[str, ...] = ()) -> str:
    """What was added, and what of it is a guess."""
    guess = f" ({' and '.join(assumed)} assumed)" if assumed else ""
    return f"added boat {boat.name}: {boat.use}, {boat.water.word} water{guess}"


@dataclass(slots=True)
class AskingBoats:
    """Boats asked for one by one; each is stored, with its engine, before the next is asked."""

    desk: Desk
    file: FleetFile
    use: str | None = None
    water: str | None = None

    def run(self, uses: Mapping[str, Use], settings: Settings) -> int:
        """Ask until no name is given; how many were added."""
        count = 0
        while name := self._typed("Name of a boat, Enter to end"):
            if not count:
                tell_uses(self.desk, uses, settings)
            count += self._one(name)
        return count

    def _typed(self, text: str) -> str:
        typed: str = click.prompt(text, default="", show_default=False)
        return typed.strip()

    def _one(self, name: str) -> bool:
        """One boat and its engine; False when refused, which is said."""
        from fleetcare.errors import RefusedError
        from fleetcare.fleet.boats import Boat
        from fleetcare.fleet.names import tidy
        from fleetcare.fleet.waters import Water
        from fleetcare.store.append import add_boat, add_engine

        self.use = asked_use(self.use)
        self.water = click.prompt("  Home water", type=click.Choice(WATERS), default=self.water)
        water = Water[(self.water or ASSUMED_WATER).upper()]
        boat = Boat(tidy(name), self.use, water, self.desk.today())
        try:
            engine = self._engine(boat)
            with self.file.writing() as connection:
                add_boat(connection, boat)
                if engine is not None:
                    add_engine(connection, engine)
        except RefusedError as error:
            click.echo(f"  {sentence(str(error))}; not added", err=True)
            return False
        click.echo(added_words(boat))
        if engine is not None:
            click.echo(f"added engine {engine.name}, on {boat.name}")
        return True

    def _engine(self, boat: Boat) -> Engine | None:
        """The engine on it, or None."""
        from fleetcare.errors import Fault
        from fleetcare.exchange.cells import engine as from_cells

        name = self._typed(f"  Engine, Enter for {boat.name}, - none") or boat.name
        if name == "-":
            return None
        while True:
            hp = self._typed("  Horsepower, Enter if not known")
            figure = self._typed("  Meter reads, Enter for no meter")
            made = from_cells(
                {
                    "engine": name, "boat": boat.name, "hp": hp, "reading": figure,
                    "meter": "yes" if figure else "no", "since": boat.since.isoformat(),
                }
            )  # fmt: skip
            if not isinstance(made, Fault):
                return made
            click.echo(f"  {made}", err=True)
