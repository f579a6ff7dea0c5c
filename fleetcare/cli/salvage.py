"""fleetcare salvage: one sound engine from several."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, dry_run, fleet_options, format_option, written_on

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.repair.builds import Salvage, Yard
    from fleetcare.repair.costs import Rates
    from fleetcare.repair.donors import State
    from fleetcare.store.fleet_file import FleetFile

MONEY = click.FloatRange(0, 1_000_000)


@click.command(short_help="One sound engine, or more, from several of a family.")
@fleet_options
@dry_run
@as_of
@format_option
@click.argument("engines", nargs=-1, required=True, metavar="ENGINE...")
@click.option("--build", "wanted", type=click.IntRange(1, 40), default=1, show_default=True,
              metavar="N", help="How many sound engines.")  # fmt: skip
@click.option("--is", "said", multiple=True, metavar="'ENGINE COMPONENT=CONDITION'",
              help="What you know better: good, fair, not known, bad, missing.")  # fmt: skip
@click.option("--buy", multiple=True, metavar="COMPONENT=PRICE", help="What could be bought.")
@click.option(
    "--hourly-rate", type=MONEY, metavar="SUM", help="A workshop hour (default: the setting)."
)
@click.option(
    "--boat-day", type=MONEY, metavar="SUM", help="A boat's day lost (default: the setting)."
)
@click.option("--do", is_flag=True, help="Log the swaps: histories move with the parts.")
@written_on
@pass_desk
def salvage(
    desk: Desk, as_of: date, form: str, engines: tuple[str, ...], wanted: int,
    said: tuple[str, ...], buy: tuple[str, ...], hourly_rate: float | None,
    boat_day: float | None, do: bool, on: date, by: str | None, note: str,
) -> None:  # fmt: skip
    """One sound engine, or more, from several of a family: the best build, and why.

    Conditions come from the record; on a terminal what it does not know is asked. With --do the
    swaps are logged on the day of --on.

    Example: fleetcare salvage OB-19 "Spare B" --as-of 2026-07-18
    """
    from fleetcare.errors import RefusedError
    from fleetcare.repair.builds import salvage as planned
    from fleetcare.repair.costs import rates_of

    day = on if do else as_of
    with desk.open() as file:
        fleet = file.fleet()
        names = tuple(dict.fromkeys(fleet.engine(engine).name for engine in engines))
        _refuse_strangers(desk, fleet, names)
        yard = _yard(desk, file, fleet, names, day, rates_of(fleet.settings, hourly_rate, boat_day))
        yard = _corrected(desk, fleet, yard, said, buy)
        plan = planned(yard, wanted)
        if plan is None:
            raise RefusedError(_too_few(yard, wanted))
        click.echo(_told(desk, plan, form, day, yard.rates))
        if do:
            _log(desk, file, fleet, plan, on, by, note)


def _refuse_strangers(desk: Desk, fleet: Fleet, names: tuple[str, ...]) -> None:
    """Refuse engines of several families, whose components do not fit each other."""
    from fleetcare.errors import RefusedError

    if len(names) < 2:
        raise RefusedError("it takes two engines at least: fleetcare salvage ENGINE ENGINE…")
    families = {name: fleet.engines[name].family for name in names}
    if len(set(families.values()) - {""}) > 1:
        told = ", ".join(f"{name} is {family or 'of none'}" for name, family in families.items())
        raise RefusedError(f"components of several families do not fit each other: {told}")
    for name, family in families.items():
        if not family:
            desk.note(f"{name} has no family on record; taken to be like the others.")


def _yard(
    desk: Desk, file: FleetFile, fleet: Fleet, names: tuple[str, ...], day: date, rates: Rates
) -> Yard:
    """The engines with what the record says of their components."""
    from fleetcare.cli.naming import rules_of
    from fleetcare.due.followups import undone_by_engine
    from fleetcare.due.joints import stuck_joints
    from fleetcare.due.rows import due_list
    from fleetcare.errors import FaultsError, RefusedError
    from fleetcare.repair.builds import Yard
    from fleetcare.repair.donors import states_of
    from fleetcare.rules.moving import read_moving
    from fleetcare.rules.shipped import word_table
    from fleetcare.usage.components import Carriage

    history, book = file.history(day), desk.book(fleet, words=True)
    carriage = Carriage(fleet, history, day.toordinal(), undone_by_engine(history, book))
    for name in names:
        if name not in carriage.known:
            raise RefusedError(f'"{name}" is not known yet on {day}')
    moving = read_moving(word_table("components"), "intervals/components.toml")
    if isinstance(moving, list):
        raise FaultsError(moving)
    ruleset = rules_of(fleet, book, names[0])
    rows = [row for row in due_list(fleet, history, book, day) if row.engine in names]
    return Yard(
        names, states_of(carriage, book, ruleset, rows, names), ruleset, moving,
        {(row.engine, row.task): row for row in rows}, stuck_joints(carriage, ruleset, names),
        {}, rates,
    )  # fmt: skip


def _corrected(
    desk: Desk, fleet: Fleet, yard: Yard, said: tuple[str, ...], buy: tuple[str, ...]
) -> Yard:
    """The yard with what the user knows better, and what could be bought."""
    from dataclasses import replace

    from fleetcare.repair.donors import UNKNOWN, State

    states = dict(yard.states)
    for text in said:
        engine, kind, word = _statement(fleet, yard, text)
        states[engine, kind] = State(word, "as you said")
    if desk.is_terminal() and not said:
        for (engine, kind), state in states.items():
            if state.word == UNKNOWN:
                states[engine, kind] = _asked(engine, kind, state)
    return replace(yard, states=states, prices=dict(_price(text) for text in buy))


def _statement(fleet: Fleet, yard: Yard, text: str) -> tuple[str, str, str]:
    """Engine, component and condition out of one --is."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.components import COMPONENTS
    from fleetcare.repair.donors import CONDITIONS

    place, equals, word = text.partition("=")
    kind = next((one for one in COMPONENTS if place.strip().endswith(f" {one}")), "")
    word = word.strip().lower()
    if not equals or not kind or word not in CONDITIONS:
        raise RefusedError(
            f"--is \"{text}\": write 'ENGINE COMPONENT=CONDITION', the condition one of "
            f"{', '.join(CONDITIONS)}"
        )
    name = fleet.engine(place.strip().removesuffix(kind).strip()).name
    if name not in yard.engines:
        raise RefusedError(f'--is: "{name}" is not one of the engines to choose from')
    return name, kind, word


def _asked(engine: str, kind: str, state: State) -> State:
    """What someone at the terminal knows of a component that the record does not."""
    from fleetcare.repair.donors import CONDITIONS, UNKNOWN, State

    words = ", ".join(word for word in CONDITIONS if word != UNKNOWN)
    while True:
        answer = click.prompt(
            f"{engine}, {kind} ({words}; Enter: not known)", default="", show_default=False
        )
        word = answer.strip().lower()
        if word in ("", UNKNOWN):
            return state
        if word in CONDITIONS:
            return State(word, "as you said")


def _price(text: str) -> tuple[str, Fraction]:
    """A component and its price out of one --buy."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.fleet.components import COMPONENTS
    from fleetcare.fleet.figures import number
    from fleetcare.fleet.names import did_you_mean

    kind, equals, price = (one.strip() for one in text.partition("="))
    if kind not in COMPONENTS or not equals:
        hint = did_you_mean(kind, COMPONENTS) or f"One of: {', '.join(COMPONENTS)}."
        raise RefusedError(f'--buy "{text}": write COMPONENT=PRICE. {hint}')
    found = number(price, f"--buy {kind}")
    if isinstance(found, Fault):
        raise RefusedError(str(found))
    return kind, found


def _too_few(yard: Yard, wanted: int) -> str:
    from fleetcare.fleet.components import COMPONENTS
    from fleetcare.repair.builds import bench_of
    from fleetcare.repair.donors import BAD, MISSING
    from fleetcare.repair.salvage import most_engines

    most = most_engines(bench_of(yard))
    short = [
        kind
        for kind in COMPONENTS
        if kind not in yard.prices
        and sum(yard.states[one, kind].word not in (BAD, MISSING) for one in yard.engines) < wanted
    ]
    lacking = f"; there are not so many usable: {', '.join(short)}" if short else ""
    return (
        f"{len(yard.engines)} engines make {most} sound {'one' if most == 1 else 'ones'} at most, "
        f"not {wanted}{lacking}. --buy COMPONENT=PRICE, if one could be bought"
    )


def _told(desk: Desk, plan: Salvage, form: str, day: date, rates: Rates) -> str:
    from fleetcare.show import values
    from fleetcare.show.salvage import HEAD, salvage_rows, salvage_text, salvage_values

    if form == "table":
        return salvage_text(plan, desk.width(), rates)
    if form == "csv":
        return values.as_csv(salvage_rows(plan), HEAD)
    if form == "ndjson":
        return values.as_ndjson(salvage_rows(plan))
    head = {"fleetcare": values.SCHEMA, "as_of": day.isoformat()}
    return values.json_text({**head, **salvage_values(plan)})


def _log(
    desk: Desk, file: FleetFile, fleet: Fleet, plan: Salvage, on: date, by: str | None, note: str
) -> None:
    """Log the swaps of a plan in one transaction."""
    from fleetcare.cli.effects import log_and_tell
    from fleetcare.log.entries import Entry, Swap

    entries: list[Entry] = [
        Swap(
            on=on, by=desk.by(fleet, by), note=note or "one sound engine from several",
            engine=engine, other=other, component=kind,
        )
        for engine, other, kind in plan.swaps()
    ]  # fmt: skip
    for engine, chosen in plan.builds:
        for item in chosen:
            if item.source is None:
                desk.note(
                    f"The {item.kind} bought for {engine} is not logged: fleetcare engine add it "
                    f"as an engine in store, then fleetcare swap {engine} with it."
                )
    if entries:
        log_and_tell(desk, file, desk.book(fleet, words=True), entries)
    else:
        click.echo("No component moves; nothing was stored.")
