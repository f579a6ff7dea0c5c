"""fleetcare rules: the rule sets, their sources, and a verdict on one's own file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options

if TYPE_CHECKING:
    from fleetcare.rules.rule import Limit, Rule


@click.group()
def rules() -> None:
    """Rule sets: list, show, test."""


def _own(desk: Desk) -> Path | None:
    """The folder of own rule sets, when there is a fleet to have one."""
    if not desk.path().exists():
        return None
    with desk.open() as file:
        return desk.own_rules(file.fleet())


@rules.command("list")
@fleet_options
@pass_desk
def list_sets(desk: Desk) -> None:
    """List the rule sets: shipped ones and your own.

    Example: fleetcare rules list
    """
    from fleetcare.rules.sets import read_set
    from fleetcare.rules.shipped import all_texts
    from fleetcare.show.table import table

    texts, shipped = all_texts(_own(desk)), all_texts(None)
    rows = []
    for name in texts:
        item = read_set(name, texts)
        over = f"over {item.extends}" if item.extends else ""
        whose = "shipped" if shipped.get(name) == texts[name] else "yours"
        rows.append([item.name, f"{len(item.rules)} tasks {over}".strip(), whose, item.title])
    click.echo(table(("Set", "Holds", "From", "Title"), rows, desk.width(), (3, 1)))


@rules.command()
@fleet_options
@click.argument("name")
@click.argument("task", required=False)
@pass_desk
def show(desk: Desk, name: str, task: str | None) -> None:
    """Show a rule set: every task with its limits and source, or one task whole.

    Example: fleetcare rules show small-petrol impeller
    """
    from fleetcare.cli.naming import known_set
    from fleetcare.cli.options import refuse
    from fleetcare.errors import Fault
    from fleetcare.rules.sets import read_set, task_of
    from fleetcare.rules.shipped import all_texts
    from fleetcare.show.table import table, wrapped

    texts = all_texts(_own(desk))
    item = read_set(known_set(name, texts), texts)
    if task is not None:
        found = task_of(item, task)
        rule = item.rules[refuse(found) if isinstance(found, Fault) else found]
        click.echo(_whole(rule, desk.width()))
        return
    click.echo(f"{item.title} ({item.where})\n{wrapped(item.basis, desk.width())}")
    rows = [
        [rule.name, _when(rule), ", ".join(rule.leads_to), rule.source]
        for rule in item.rules.values()
    ]
    click.echo(table(("Task", "When", "Leads to", "Source"), rows, desk.width(), (3, 1, 2)))
    for kit in item.kits.values():
        holds = ", ".join(f"{part.count} {part.item}" for part in kit.holds)
        click.echo(wrapped(f"kit {kit.name}, {float(kit.price):.2f}: {holds} ({kit.source})",
                           desk.width()))  # fmt: skip


def _limit(limit: Limit | None) -> str:
    from fleetcare.fleet.figures import shown

    if limit is None:
        return "no limit"
    parts = [f"{shown(limit.hours)} h"] if limit.hours else []
    if limit.months:
        parts.append(f"{limit.months} {'month' if limit.months == 1 else 'months'}")
    if limit.days:
        parts.append(f"{limit.days} days")
    return " or ".join(parts)


def _when(rule: Rule) -> str:
    from fleetcare.fleet.waters import WORDS

    parts = []
    if rule.limits:
        by_water = [_limit(limit) for limit in rule.limits]
        if len(set(by_water)) == 1:
            parts.append(by_water[0])
        else:
            parts += [f"{water} {text}" for water, text in zip(WORDS, by_water, strict=True)]
    if rule.first:
        parts.append(f"first service {_limit(rule.first[0])}")
    if rule.every_start:
        parts.append("every start")
    elif rule.each_run:
        parts.append("each run in " + " or ".join(WORDS[water] for water in sorted(rule.each_run)))
    if rule.after:
        parts.append("after " + ", ".join(rule.after))
    if rule.idle_months:
        parts.append(f"idle {rule.idle_months} months")
    if rule.season:
        parts.append(f"at {rule.season}")
    return "; ".join(parts)


def _whole(rule: Rule, width: int) -> str:
    from fleetcare.show.table import wrapped

    pairs = (
        ("when", _when(rule)),
        ("mixing of waters", "strictest seen" if rule.strictest else "in proportion"),
        ("clock of", rule.component), ("leads to", ", ".join(rule.leads_to)),
        ("chain", rule.chain), ("restarts", ", ".join(rule.restarts)),
        ("access", ", ".join(rule.access)), ("bench minutes", str(rule.minutes)),
        ("who", rule.who), ("parts", ", ".join(f"{p.count} {p.item}" for p in rule.parts)),
        ("cautions", " ".join(rule.cautions)), ("source", rule.source),
    )  # fmt: skip
    lines = [f"{rule.name}: {rule.title}", *(f"  {name}: {text}" for name, text in pairs if text)]
    return "\n".join(wrapped(line, width) for line in lines)


@rules.command()
@fleet_options
@click.argument("file", type=click.Path(path_type=Path))
@pass_desk
def test(desk: Desk, file: Path) -> None:
    """Say whether your rule file is good, and every job whose status it would change.

    Example: fleetcare rules test ./intervals/harbour.toml
    """
    from fleetcare.rules.sets import read_set
    from fleetcare.rules.shipped import all_texts, read_text

    texts = {**all_texts(_own(desk)), file.stem: (read_text(file), str(file))}
    item = read_set(file.stem, texts)
    click.echo(f"{file} is good: {len(item.rules)} tasks, named {item.name}.")
    if not desk.path().exists():
        desk.note("No fleet here, so there is no status it could change.")
        return
    lines = _changed(desk, texts, file.stem)
    click.echo("\n".join(lines) if lines else "It changes no job's status.")


def _changed(desk: Desk, texts: dict[str, tuple[str, str]], name: str) -> list[str]:
    """Every job whose status the file would change, before and after."""
    from dataclasses import replace

    from fleetcare.due.rows import due_list
    from fleetcare.rules.sets import read_set
    from fleetcare.usage.outlooks import Forecast

    with desk.open() as store:
        fleet, history = store.fleet(), store.history(desk.today())
    before = desk.book(fleet)
    using = [e for e in fleet.engines.values() if (e.rules or fleet.settings.rules) == name]
    sets = {set_name: read_set(set_name, texts) for set_name in {*before.sets, name}}
    after = replace(before, sets=sets)
    if not using:
        desk.note(f"No engine uses {name}; shown as if all did.")
        fleet_after = replace(
            fleet, engines={key: replace(e, rules=name) for key, e in fleet.engines.items()}
        )
    else:
        fleet_after = fleet
    forecast, today = Forecast(before.uses), desk.today()
    old = {
        (row.engine, row.task): row.status
        for row in due_list(fleet, history, before, today, forecast=forecast)
    }
    new = {
        (row.engine, row.task): row.status
        for row in due_list(fleet_after, history, after, today, forecast=forecast)
    }
    return [
        f"{engine}: {task} was {old.get((engine, task), 'not listed')}, "
        f"would be {new.get((engine, task), 'not listed')}"
        for engine, task in sorted({*old, *new})
        if old.get((engine, task)) != new.get((engine, task))
    ]
