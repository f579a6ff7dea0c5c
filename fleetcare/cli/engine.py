"""fleetcare engine: what there is of them, where they are mounted."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import DAY, HOURS, dry_run, fleet_options, written_on

if TYPE_CHECKING:
    from fleetcare.fleet.engines import Engine
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.log.entries import Entry
    from fleetcare.rules.sets import RuleBook


@click.group()
def engine() -> None:
    """Engines: add, show, list, mount, store, retire, rename."""


@engine.command()
@fleet_options
@dry_run
@click.argument("name")
@click.option("--boat", metavar="NAME", help="The boat it is mounted on; in store without one.")
@click.option("--family", default="", help="Engines of one family exchange parts.")
@click.option("--hp", metavar="NUMBER", help="Horsepower.")
@click.option("--stroke", type=click.Choice(["2", "4"]), help="Two-stroke or four-stroke.")
@click.option("--year", type=click.IntRange(1950, 2100), help="Year of make.")
@click.option("--steering", type=click.Choice(["tiller", "remote"]), help="How it is steered.")
@click.option("--litres-hour", metavar="NUMBER", help="Fuel it burns in an hour of your use.")
@click.option("--rules", default="", metavar="SET", help="Its rule set.")
@click.option("--without", multiple=True, metavar="TASK", help="A task of a part it has not.")
@click.option("--no-meter", is_flag=True, help="It has no hour meter.")
@click.option("--digits", type=click.IntRange(2, 9), help="Whole figures of its meter.")
@click.option(
    "--since",
    type=DAY,
    default="today",
    show_default=True,
    metavar="DATE",
    help="From when the fleet knows it.",
)
@click.option("--reading", type=HOURS, metavar="FIGURE", help="The meter on that day.")
@click.option("--new", "is_new", is_flag=True, help="It is new: clocks start that day.")
@click.option("--also", multiple=True, metavar="NAME", help="Another name it is known by.")
@click.option(
    "--last", multiple=True, metavar="TASK=DATE[@READING]", help="What is known of the past."
)
@pass_desk
def add(desk: Desk, /, last: tuple[str, ...], **given: Any) -> None:
    """Add an engine. What is not known of its past reads "no record", never "fine".

    Example: fleetcare engine add Plover --hp 6 --stroke 4 --reading 250
    """
    from fleetcare.cli.naming import known_set
    from fleetcare.rules.shipped import all_texts
    from fleetcare.show.log_text import entry_words
    from fleetcare.store.append import add_engine, add_entries

    with desk.open() as file:
        fleet = file.fleet()
        made = _made(fleet, given)
        known_set(made.rules or fleet.settings.rules, all_texts(desk.own_rules(fleet)))
        book = desk.book(_with(fleet, made))
        jobs = _past(fleet, book, made, last, desk.today())
        with file.writing(keep=not desk.dry_run) as connection:
            add_engine(connection, made)
            numbers = add_entries(connection, jobs, desk.stamp()) if jobs else []
    where = f"on {made.boat}" if made.boat else "in store"
    click.echo(f"{'would add' if desk.dry_run else 'added'} engine {made.name}, {where}")
    for number, job in zip(numbers, jobs, strict=True):
        desk.say_stored(number, f"{job.on} {entry_words(job)}")


def _made(fleet: Fleet, given: dict[str, Any]) -> Engine:
    """The engine out of the options, read by the same reader as a table's row."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.exchange.cells import engine as from_cells

    reading = given["reading"]
    if reading is None and not (given["no_meter"] or given["is_new"]):
        raise RefusedError(
            "what does its hour meter show? --reading FIGURE, or --no-meter; --new when it is new"
        )
    cells = {
        "engine": given["name"],
        "boat": fleet.boat(given["boat"]).name if given["boat"] else "",
        "meter": "no" if given["no_meter"] else "yes",
        "new": "yes" if given["is_new"] else "no",
        "reading": "" if reading is None else f"{reading / 100:.2f}",
        "since": given["since"].isoformat(),
        "without": ";".join(given["without"]),
        "also": ";".join((given["name"], *given["also"])) if given["also"] else "",
    }
    for name in ("family", "hp", "stroke", "year", "steering", "litres_hour", "rules", "digits"):
        cells[name] = "" if given[name] is None else str(given[name])
    made = from_cells(cells)
    if isinstance(made, Fault):
        raise RefusedError(str(made))
    return made


def _with(fleet: Fleet, made: Engine) -> Fleet:
    from dataclasses import replace

    return replace(fleet, engines={**fleet.engines, made.name: made})


def _past(
    fleet: Fleet, book: RuleBook, made: Engine, last: tuple[str, ...], today: date
) -> list[Entry]:
    """The jobs that --last tells of; tasks of --without are looked up as well."""
    from fleetcare.cli.naming import typed_task
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.exchange.cells import last_job

    known = _with(fleet, made)
    for task in made.without:
        typed_task(known, book, made.name, task)
    jobs: list[Entry] = []
    for text in last:
        task, equals, when = text.partition("=")
        if not equals:
            raise RefusedError(f'--last takes TASK=DATE or TASK=DATE@READING, not "{text}"')
        name = typed_task(known, book, made.name, task)
        job = last_job(made.name, name, when, f"--last {task}")
        if isinstance(job, Fault):
            raise RefusedError(str(job))
        if job.on > today:
            raise RefusedError(f"--last {task}: {job.on} lies in the future (today is {today})")
        jobs.append(job)
    return jobs


@engine.command("list")
@fleet_options
@pass_desk
def list_engines(desk: Desk) -> None:
    """List the engines: where they are, what they read.

    Example: fleetcare engine list
    """
    from fleetcare.fleet.figures import shown
    from fleetcare.show.table import table
    from fleetcare.usage.places import berths, is_laid_up

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
    rows = []
    for item in fleet.engines.values():
        log = history.of(item.name)
        place = berths(item, history)[-1].boat or "in store"
        state = "retired" if log.retired else "laid up" if is_laid_up(history, item.name) else ""
        read = log.figures[-1] if log.figures else item.reading
        hp = "" if item.hp is None else f"{float(item.hp):g}"
        rows.append(
            [item.name, place, state, item.family, hp, "no meter" if read is None else shown(read)]
        )
    head = ("Engine", "Place", "State", "Family", "hp", "Reads")
    click.echo(table(head, rows, desk.width(), (1, 3, 0), right=(4, 5)))


@engine.command()
@fleet_options
@click.argument("name")
@pass_desk
def show(desk: Desk, name: str) -> None:
    """Show one engine: what it is, where it was, what it is called.

    Example: fleetcare engine show OB-08
    """
    from fleetcare.exchange.cells import ENGINES, engine_cells
    from fleetcare.usage.components import Carriage
    from fleetcare.usage.places import berths

    with desk.open() as file:
        fleet, history = file.fleet(), file.history()
    item = fleet.engine(name)
    for column, cell in zip(ENGINES, engine_cells(item), strict=True):
        if cell:
            click.echo(f"{column}: {cell}")
    for stay in berths(item, history)[1:]:
        click.echo(f"from {date.fromordinal(stay.first)}: {stay.boat or 'in store'}")
    carriage = Carriage(fleet, history, desk.today().toordinal())
    for swap in history.swaps:
        if item.name in (swap.engine, swap.other):
            other = swap.other if item.name == swap.engine else swap.engine
            now = carriage.under(item.name, swap.component).component.engine
            click.echo(
                f"{swap.component} exchanged with {other} on {date.fromordinal(swap.day)}; "
                f"it carries that of {now} now"
            )


@engine.command()
@fleet_options
@dry_run
@click.argument("name")
@click.argument("boat")
@written_on
@pass_desk
def mount(desk: Desk, name: str, boat: str, on: date, by: str | None, note: str) -> None:
    """Mount an engine on a boat.

    Example: fleetcare engine mount OB-03 "Boat 3"
    """
    from fleetcare.log.entries import Mount

    with desk.open() as file:
        fleet = file.fleet()
        entry = Mount(
            on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(name).name,
            boat=fleet.boat(boat).name,
        )  # fmt: skip
        desk.store(file, [entry])


@engine.command("into-store")
@fleet_options
@dry_run
@click.argument("name")
@written_on
@pass_desk
def into_store(desk: Desk, name: str, on: date, by: str | None, note: str) -> None:
    """Take an engine off its boat into store.

    Example: fleetcare engine into-store OB-04
    """
    from fleetcare.log.entries import Store

    with desk.open() as file:
        fleet = file.fleet()
        desk.store(
            file,
            [Store(on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(name).name)],
        )


@engine.command()
@fleet_options
@dry_run
@click.argument("name")
@written_on
@pass_desk
def retire(desk: Desk, name: str, on: date, by: str | None, note: str) -> None:
    """Take an engine out of the fleet; its history stays.

    Example: fleetcare engine retire OB-05
    """
    from fleetcare.log.entries import Retire

    with desk.open() as file:
        fleet = file.fleet()
        desk.store(
            file,
            [Retire(on=on, by=desk.by(fleet, by), note=note, engine=fleet.engine(name).name)],
        )


@engine.command()
@fleet_options
@dry_run
@click.argument("name")
@click.argument("new_name")
@pass_desk
def rename(desk: Desk, name: str, new_name: str) -> None:
    """Give an engine another name; the old one still finds it.

    Example: fleetcare engine rename OB-05 Heron
    """
    from fleetcare.fleet.names import tidy
    from fleetcare.store.append import rename_engine

    with desk.open() as file:
        item = file.fleet().engine(name)
        with file.writing(keep=not desk.dry_run) as connection:
            renamed = rename_engine(connection, item, tidy(new_name))
    click.echo(f"{item.name} is now {renamed.name}; it also answers to {', '.join(renamed.also)}")


@engine.command("also-called")
@fleet_options
@dry_run
@click.argument("name")
@click.argument("other")
@pass_desk
def also_called(desk: Desk, name: str, other: str) -> None:
    """Let an engine be found by another name too.

    Example: fleetcare engine also-called OB-05 "the old five"
    """
    from fleetcare.fleet.names import tidy
    from fleetcare.store.append import also_called as add_name

    with desk.open() as file:
        item = file.fleet().engine(name)
        with file.writing(keep=not desk.dry_run) as connection:
            add_name(connection, item, tidy(other))
    click.echo(f"{item.name} is also called {tidy(other)}")
