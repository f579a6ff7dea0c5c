"""fleetcare history --export: a fleet of one engine alone, for whoever takes it over."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet


def export_alone(desk: Desk, engine: str, as_of: date, place: str) -> None:
    """Write it, and say what could not go along."""
    from fleetcare.cli.naming import rules_of
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.alone import alone
    from fleetcare.exchange.alone_out import write_alone
    from fleetcare.store.fetch import live_entries

    with desk.open() as file, file.reading():
        fleet, kept = file.fleet(), file.log()
        item = fleet.engine(engine)
        own = file.log(item.name)
    if item.since > as_of:
        raise RefusedError(f'engine "{item.name}" was not known yet on {as_of}')
    withdrawn = sum(entry.withdrawn and entry.entry is not None for entry in own)
    ruleset = rules_of(fleet, desk.book(fleet), item.name)
    made = alone(fleet, live_entries(kept), ruleset, item.name, as_of, withdrawn)
    written = write_alone(made, Path(place), _own_sets(desk, fleet, ruleset.name), desk.stamp())
    for path in written:
        click.echo(f"wrote {path}")
    count = len(made.entries)
    click.echo(f"{item.name} alone: {count} {'entry' if count == 1 else 'entries'}")
    for line in made.left:
        desk.note(f"  {line}")


def _own_sets(desk: Desk, fleet: Fleet, name: str) -> dict[str, str]:
    """The texts of the rule set and of those beneath it that are the user's own."""
    import tomllib

    from fleetcare.rules.shipped import all_texts, texts_in

    folder = desk.own_rules(fleet)
    texts, own = all_texts(folder), texts_in(folder, own=True)
    found: dict[str, str] = {}
    while name in texts and name not in found:
        text, _ = texts[name]
        if name in own:
            found[name] = text
        name = str(tomllib.loads(text).get("set", {}).get("extends", ""))
    return found
