"""fleetcare demo: an invented fleet, and the main job on it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import fleet_options

TODAY = date(2026, 7, 18)
FLEETS = {
    "ondrel": "Ondrel Boat Hire: 24 hire boats and two spare engines",
    "tavvik": "Tavvik Bay Sailing Club: eight tenders in salt water and a dinghy",
    "pim": "Pim, who owns two small engines",
}


@click.command(short_help="Build an invented fleet and walk through it.")
@fleet_options
@click.argument("folder", required=False, type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--of",
    "which",
    type=click.Choice(list(FLEETS)),
    default="ondrel",
    show_default=True,
    help="Which fleet.",
)
@pass_desk
def demo(desk: Desk, folder: Path | None, which: str) -> None:
    """Build an invented fleet and walk through it: morning list, due list, calendar feed.

    Its today is 18 July 2026. The files stay where it says, to look at and to play with.

    Example: fleetcare demo ./ondrel
    """
    import tempfile

    place = folder or Path(tempfile.mkdtemp(prefix="fleetcare-demo-"))
    fleet, ics = place / "fleet.db", place / "fleet.ics"
    click.echo(f"{FLEETS[which]}. All of it is invented; its today is {TODAY}.\n")
    _build(desk, fleet, which)
    for title, words in _tour(fleet, ics):
        click.echo(f"\n== {title}\n$ fleetcare {' '.join(_quoted(word) for word in words)}")
        _run(words)
    click.echo(f"\nThe fleet is in {fleet}, the calendar feed in {ics}.")
    click.echo(f"Try: fleetcare why --fleet {fleet} --as-of {TODAY} {_why(which)}")


def _why(which: str) -> str:
    return {"ondrel": 'OB-21 "swivel grease"', "tavvik": "TB-6 impeller", "pim": "Five impeller"}[
        which
    ]


def _build(desk: Desk, fleet: Path, which: str) -> None:
    """Make the fleet file by importing the example's tables, as a user would."""
    import uuid

    from fleetcare.exchange.bring_in import Import, read_tables
    from fleetcare.rules.shipped import all_texts, examples_folder, read_book
    from fleetcare.store.append import set_fleet_id
    from fleetcare.store.fleet_file import FleetFile

    tables = read_tables([examples_folder() / which])
    book = read_book(None, set(all_texts(None)), words=True)
    with FleetFile.make(fleet) as file, file.writing() as connection:
        set_fleet_id(connection, str(uuid.uuid5(uuid.NAMESPACE_OID, f"fleetcare example {which}")))
        stamp = f"{TODAY.isoformat()}T06:00:00+00:00"
        report = Import(file, book, TODAY, stamp, keep_good=False).take(tables)
    desk.note(f"built from {sum(report.taken.values())} rows of {examples_folder() / which}")


def _tour(fleet: Path, ics: Path) -> list[tuple[str, list[str]]]:
    where = ["--fleet", str(fleet), "--as-of", TODAY.isoformat()]
    return [
        ("What must not go out this morning", ["morning", *where]),
        ("What is overdue and leads to overheating", ["due", *where, "--leads-to", "overheating"]),
        (
            "What is overdue and leads to a seized swivel",
            ["due", *where, "--leads-to", "seized swivel"],
        ),
        ("The whole fleet on a calendar", ["feed", "write", str(ics), *where]),
    ]


def _quoted(word: str) -> str:
    import shlex

    return shlex.quote(word)


def _run(words: list[str]) -> None:
    """Run a command of our own as if it had been typed."""
    context = click.get_current_context().find_root()
    group = context.command
    group.main(args=words, prog_name="fleetcare", standalone_mode=False)
