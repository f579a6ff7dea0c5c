"""fleetcare import and fleetcare export: the four tables."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options

if TYPE_CHECKING:
    from fleetcare.exchange.accounts import Report
    from fleetcare.exchange.bring_in import Tables
    from fleetcare.store.fleet_file import FleetFile

PARTLY = 6


@click.command("import", short_help="Take tables in: settings, boats, engines, log.")
@fleet_options
@dry_run
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--keep-good", is_flag=True, help="Take the good rows; the report names the others.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@pass_desk
def bring_in(desk: Desk, files: tuple[Path, ...], keep_good: bool, yes: bool) -> None:
    """Take tables in: settings, boats, engines, log, as CSV (a folder stands for its files).

    All rows are taken or none. A row that is there already is not taken again.

    \b
    settings  name,value
    boats     boat,use,water,since,place,also
    engines   engine,boat,family,hp,stroke,year,meter,digits,steering,litres_hour,
              rules,without,since,reading,new,also  (and last:TASK columns)
    log       on,event,engine,boat,task,part,reading,hours,fuel,water,condition,
              count,component,other,old_reading,until,item,cost,by,note

    Example: fleetcare import ./tables
    """
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.bring_in import read_tables

    tables = read_tables(files)
    with desk.open() as file:
        if desk.is_terminal() and not yes and not desk.dry_run:
            _summary(_take(desk, file, tables, keep_good, keep=False), "would take")
            if not click.confirm("Take them?"):
                raise RefusedError("nothing was taken")
        report = _take(desk, file, tables, keep_good, keep=not desk.dry_run)
    _summary(report, "would take" if desk.dry_run else "took")
    if report.left_out:
        click.get_current_context().exit(PARTLY)


def _take(desk: Desk, file: FleetFile, tables: Tables, keep_good: bool, keep: bool) -> Report:
    """One try at the import, kept or taken back."""
    from fleetcare.exchange.bring_in import Import
    from fleetcare.rules.shipped import all_texts, read_book

    own = desk.own_rules(file.fleet())
    wanted = {row.get("rules", "") for _, row in tables.engines} | {
        row.get("value", "") for _, row in tables.settings if row.get("name") == "rules"
    }
    used = {engine.rules for engine in file.fleet().engines.values()}
    names = (wanted | used | {file.fleet().settings.rules}) & set(all_texts(own))
    book = read_book(own, names)
    with file.writing(keep=keep):
        return Import(file, book, desk.today(), desk.stamp(), keep_good).take(tables)


def _summary(report: Report, verb: str) -> None:
    taken = ", ".join(f"{count} {table}" for table, count in report.taken.items() if count)
    click.echo(
        f"{verb} {taken or 'nothing'}; {report.there_already} there already; "
        f"{len(report.left_out)} left out; {report.rows} rows read"
    )
    for fault in report.left_out:
        click.echo(f"  left out: {fault}", err=True)


@click.command("export", short_help="Write the fleet as four tables that import reads again.")
@fleet_options
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@pass_desk
def take_out(desk: Desk, folder: Path) -> None:
    """Write the fleet as four CSV tables, which import reads again to the same due list.

    Example: fleetcare export ./tables
    """
    from fleetcare.exchange.take_out import tables
    from fleetcare.store.fetch import live_entries
    from fleetcare.store.files import write_whole

    with desk.open() as file:
        texts = tables(file.fleet(), live_entries(file.log()))
    for name, text in texts.items():
        write_whole(folder / name, text.encode("utf-8"))
        click.echo(f"wrote {folder / name}")
