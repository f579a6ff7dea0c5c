"""fleetcare wear: what the findings say of how long parts last."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import as_of, fleet_options, format_option

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.repair.costs import Rates
    from fleetcare.repair.wear import Wear
    from fleetcare.rules.sets import RuleBook

MONEY = click.FloatRange(0, 1_000_000)


@click.command(short_help="What the findings say of how long parts last.")
@fleet_options
@as_of
@format_option
@click.argument("task", required=False)
@click.option("--water", type=click.Choice(["fresh", "brackish", "salt"]), help="Only this water.")
@click.option("--use", metavar="USE", help="Only boats of this use: hire, club, owner.")
@click.option("--all", "whole", is_flag=True, help="Show what has too few findings, every finding.")
@click.option(
    "--hourly-rate", type=MONEY, metavar="SUM", help="A workshop hour (default: the setting)."
)
@click.option(
    "--boat-day", type=MONEY, metavar="SUM", help="A boat's day lost (default: the setting)."
)
@click.option("--planned-cost", type=MONEY, metavar="SUM", help="What TASK costs when planned.")
@click.option("--failure-cost", type=MONEY, metavar="SUM", help="What its failure costs.")
@click.option("--svg", type=click.Path(path_type=Path), metavar="FILE", help="Draw TASK's curves.")
@click.option(
    "--write", "own_set", type=click.Path(path_type=Path), metavar="FILE.toml",
    help="Write a rule set of your own with the shorter limits.",
)  # fmt: skip
@pass_desk
def wear(
    desk: Desk, as_of: date, form: str, task: str | None, water: str | None, use: str | None,
    whole: bool, hourly_rate: float | None, boat_day: float | None, planned_cost: float | None,
    failure_cost: float | None, svg: Path | None, own_set: Path | None,
) -> None:  # fmt: skip
    """What the findings say of how long parts last, by job, water and use.

    Without TASK a list; with it everything, and the curve of how many parts are still good. It
    may advise a shorter limit and never a longer one.

    Example: fleetcare wear impeller --as-of 2026-07-18
    """
    from fleetcare.errors import RefusedError
    from fleetcare.repair.costs import rates_of
    from fleetcare.repair.wear import wear as judged

    if task is None and (svg or planned_cost is not None or failure_cost is not None):
        name = "--svg" if svg else "--planned-cost and --failure-cost"
        raise RefusedError(f"{name}: of which job? fleetcare wear TASK …")
    if own_set is not None:
        _refuse_name(own_set)
    with desk.open() as file:
        fleet, history = file.fleet(), file.history(as_of)
    book = desk.book(fleet, words=True)
    job = _task(book, task) if task else None
    rates = rates_of(fleet.settings, hourly_rate, boat_day, planned_cost, failure_cost)
    items = [
        item
        for item in judged(fleet, history, book, as_of, rates, job)
        if use in (None, item.lives.group.use) and water in (None, _water(item))
    ]
    click.echo(_told(items, rates, form, as_of, desk.width(), whole, in_full=job is not None))
    if svg is not None and job is not None:
        _draw(desk, svg, items, job, as_of)
    if own_set is not None:
        _write_rules(desk, fleet, book, items, own_set, as_of)


def _water(item: Wear) -> str:
    from fleetcare.fleet.waters import WORDS

    return WORDS[item.lives.group.water]


def _task(book: RuleBook, typed: str) -> str:
    """The job as the rule sets write it, refused when no part's life is held against it."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.repair.findings import renews
    from fleetcare.rules.sets import task_of

    fault = None
    for ruleset in book.sets.values():
        found = task_of(ruleset, typed)
        if isinstance(found, Fault):
            fault = fault or found
        elif renews(ruleset, ruleset.rules[found]):
            return found
        else:
            fault = Fault(
                f'task "{found}"', "has no limit that a part's life is held against",
                "fleetcare wear lists those that have.",
            )  # fmt: skip
    raise RefusedError(str(fault))


def _told(
    items: list[Wear], rates: Rates, form: str, as_of: date, width: int, whole: bool, in_full: bool
) -> str:
    """What was asked for, in the form asked for."""
    from fleetcare.repair.wear import curve
    from fleetcare.show import values
    from fleetcare.show.wear import (
        HEAD,
        curve_values,
        wear_detail,
        wear_more,
        wear_text,
        wear_values,
    )  # fmt: skip

    if form == "table":
        if in_full and items:
            return wear_detail([(item, curve(item)) for item in items], rates, width, whole)
        return wear_text(items, rates, width, whole)
    rows = [wear_values(item) for item in items]
    if form == "csv":
        return values.as_csv(rows, HEAD)
    if in_full:
        rows = [
            {**row, "curve": curve_values(item, curve(item))}
            for row, item in zip(rows, items, strict=True)
        ]
    if form == "ndjson":
        return values.as_ndjson(rows)
    return values.as_json(rows, as_of, **wear_more(rates))


def _draw(desk: Desk, path: Path, items: list[Wear], task: str, as_of: date) -> None:
    from fleetcare.repair.wear import curve
    from fleetcare.show.wear_plot import svg
    from fleetcare.store.files import write_whole

    if not items:
        desk.note(f"Nothing was found of {task}; {path} was not written.")
        return
    drawn = svg([(item, curve(item)) for item in items], f"{task}: how long it lasts, {as_of}")
    write_whole(path, drawn.encode())
    desk.note(f"wrote {path}")


def _refuse_name(path: Path) -> None:
    """Refuse a file that is there already, or whose name cannot be a rule set's."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import tidy, wrong_with
    from fleetcare.rules.shipped import all_texts

    if path.suffix != ".toml":
        raise RefusedError(f"--write: {path} must end in .toml, as every rule set does")
    wrong = wrong_with(path.stem) or (tidy(path.stem) != path.stem and "has needless spaces")
    if wrong:
        raise RefusedError(f'--write: a rule set cannot be called "{path.stem}": it {wrong}')
    if path.stem in all_texts(None):
        raise RefusedError(f'--write: "{path.stem}" is a shipped rule set; give yours another name')
    if path.exists():
        raise RefusedError(f"--write: {path} is there already; nothing was written")


def _write_rules(
    desk: Desk, fleet: Fleet, book: RuleBook, items: list[Wear], path: Path, as_of: date
) -> None:
    from collections import Counter

    from fleetcare.show.wear_rules import shorter_rules
    from fleetcare.store.files import write_whole

    short = Counter(item.lives.group.ruleset for item in items if item.shorter is not None)
    if not short:
        click.echo(f"No limit needs to be shorter; {path} was not written.")
        return
    usual = fleet.settings.rules
    base = usual if usual in short else short.most_common(1)[0][0]
    text = shorter_rules(path.stem, book.set_of(base), items, as_of)
    assert text is not None
    write_whole(path, text.encode())
    click.echo(f"wrote {path}: {short[base]} shorter limits over {base}")
    for name in sorted(short.keys() - {base}):
        desk.note(f"Limits of the set {name} are not in it: {short[name]} would be shorter.")
    desk.note(f"Look at it, then try it: fleetcare rules test {path}")
