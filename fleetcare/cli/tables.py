"""fleetcare import and fleetcare export: tables in and out, our own and other people's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetcare.cli.context import Desk, pass_desk
from fleetcare.cli.options import dry_run, fleet_options, format_option
from fleetcare.cli.tables_asked import asked_of, reading_options

if TYPE_CHECKING:
    from fleetcare.cli.tables_taking import Taking
    from fleetcare.exchange.accounts import Report

PARTLY = 6


@click.command("import", short_help="Take tables in: other people's sheets, or our own four.")
@fleet_options
@dry_run
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--keep-good", is_flag=True, help="Take the good rows; the report names the others.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option(
    "--report", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Write the refused rows as CSV, to be mended and imported.",
)  # fmt: skip
@click.option(
    "--missing", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="Write the engines that the fleet does not know as a table, to be completed.",
)  # fmt: skip
@click.option("--all", "every", is_flag=True, help="Name every row, not only those left out.")
@reading_options
@format_option
@pass_desk
def bring_in(desk: Desk, /, **said: Any) -> None:
    """Take tables in, CSV or XLSX: a sheet as people keep them, or our own four.

    A sheet has a row of headings: the day, the engine or its boat, and the meter's figure, hours
    run, fuel, or the job done. Start with --dry-run: it says what each heading was read as and
    what would become of every row. Nothing is guessed: what can be read two ways is refused, with
    the option that says which. All rows are taken or none; one that is there already is not taken
    again. A folder stands for its tables.

    \b
    Our own, as export writes them:
    settings  name,value
    boats     boat,use,water,since,place,also
    engines   engine,boat,family,hp,stroke,year,meter,digits,steering,litres_hour,
              rules,without,since,reading,new,also  (and last:TASK columns)
    log       on,event,engine,boat,task,part,reading,hours,fuel,water,condition,
              count,component,other,old_reading,until,item,cost,by,note

    Example: fleetcare import ./tables --dry-run
    """
    from fleetcare.cli.tables_taking import Taking
    from fleetcare.store.headings import fetch_headings

    _refuse_unkeepable(said)
    with desk.open() as file:
        kept: dict[str, str] = {}
        if said["profile"]:
            with file.reading():
                kept = fetch_headings(file.connection, said["profile"])
        taking = Taking(
            desk, file, said["files"], asked_of(said, kept, desk.today()), kept, said["keep_good"],
            said["profile"] or "", said["keep_names"],
        )  # fmt: skip
        try:
            _taken(desk, taking, said)
        except (KeyboardInterrupt, click.Abort):
            click.echo("nothing was taken", err=True)
            raise


def _refuse_unkeepable(said: Mapping[str, Any]) -> None:
    """Refuse words that a profile could not keep; names of files may be any."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import wrong_with_text

    for name, value in said.items():
        for text in _texts(value) if name not in ("files", "report") else ():
            wrong = wrong_with_text(text, is_note=True)
            if wrong:
                raise RefusedError(f'import: "{text:.40}" {wrong}')


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


def _taken(desk: Desk, taking: Taking, said: dict[str, Any]) -> None:
    """Understand, try, ask where somebody is there, take, and tell."""
    from fleetcare.exchange.accounts import RowsRefusedError

    asks = desk.is_terminal() and not said["yes"]
    taking.understand(ask=asks)
    taking.tell()
    if said["missing"]:
        taking.write_missing(said["missing"])
    if desk.dry_run or asks:
        report = taking.preview() if asks else taking.attempt(keep=False, keep_good=True)
        _told(desk, taking, report, said, "would take")
        if desk.dry_run:
            if report.left_out and not taking.keep_good:
                raise _refusal(report, "would be taken", said)
            _end(report)
            return
        taking.ask(report)
    try:
        report = taking.attempt(keep=True, keep_good=taking.keep_good)
    except RowsRefusedError as error:
        if said["report"]:
            taking.write_report(error.report, said["report"])
        raise _refused(taking, error.report, said) from error
    if asks:
        _say(desk, _summary(report, "took"))
    else:
        _told(desk, taking, report, said, "took")
    if report.entries:
        desk.note("fleetcare undo takes the entries back, all of them")
    _end(report)


def _told(desk: Desk, taking: Taking, report: Report, said: dict[str, Any], verb: str) -> None:
    """The report: what was skipped, left out, worth a look; the rows themselves; the counts."""
    from fleetcare.cli.looking import printed
    from fleetcare.cli.tables_taking import say_refused
    from fleetcare.exchange import telling
    from fleetcare.show.table import wrapped

    for line in (*telling.skipped_lines(report), *telling.doubt_lines(report)):
        desk.note(wrapped(line, desk.width()))
    sheets = taking.tables.sheets if taking.tables else ()
    most = None if said["every"] else telling.SHOWN
    say_refused(desk, telling.refused_lines(report, sheets, most))
    if said["report"]:
        taking.write_report(report, said["report"])
    if said["form"] != "table":
        printed(
            said["form"], lambda: telling.row_values(report), desk.today(), telling.ROW_HEADS,
            str, lambda: telling.totals(report),
        )  # fmt: skip
        desk.note(_summary(report, verb))
        return
    for line in telling.every_row(report) if said["every"] else ():
        click.echo(line)
    _say(desk, _summary(report, verb))


def _say(desk: Desk, line: str) -> None:
    """A result: one line in a pipe, within its width on a terminal."""
    from fleetcare.show.table import wrapped

    click.echo(wrapped(line, desk.width()) if desk.is_terminal() else line)


def _summary(report: Report, verb: str) -> str:
    from fleetcare.exchange.telling import summary

    return summary(report, verb)


def _refused(taking: Taking, report: Report, said: dict[str, Any]) -> Exception:
    """Why nothing was taken, row by row, and what can be done about it."""
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.telling import SHOWN, refused_lines

    sheets = taking.tables.sheets if taking.tables else ()
    lines = refused_lines(report, sheets, None if said["every"] else SHOWN)
    return RefusedError("\n".join((*lines, str(_refusal(report, "was taken", said)))))


def _refusal(report: Report, taken: str, said: dict[str, Any]) -> Exception:
    from fleetcare.errors import RefusedError

    left, good = len(report.left_out), sum(report.taken.values())
    rows = "1 row is refused" if left == 1 else f"{left} rows are refused"
    others = f"; --keep-good takes the other {good}" if good else ""
    table = "" if said["report"] else "; --report FILE writes those refused as a table"
    return RefusedError(
        f"nothing {taken}: {rows} of {report.rows}. Mend and import again{others}{table}"
    )


def _end(report: Report) -> None:
    if report.left_out:
        click.get_current_context().exit(PARTLY)


@click.command("export", short_help="Write the fleet as four tables that import reads again.")
@fleet_options
@click.argument("place", metavar="DIR|FILE.xlsx", type=click.Path(path_type=Path))
@pass_desk
def take_out(desk: Desk, place: Path) -> None:
    """Write the fleet as four tables, which import reads again to the same due list.

    CSV files in a folder, or the sheets of one workbook when the name ends in .xlsx. A text that a
    spreadsheet would run as a formula has an apostrophe before it, which import takes off again.

    Example: fleetcare export ./tables
    """
    from fleetcare.errors import RefusedError
    from fleetcare.exchange.csvfile import write_cells
    from fleetcare.exchange.take_out import rows
    from fleetcare.store.fetch import live_entries
    from fleetcare.store.files import write_private

    with desk.open() as file, file.reading():
        found = rows(file.fleet(), live_entries(file.log()))
    if place.suffix.lower() == ".xlsx":
        from fleetcare.exchange.book_out import workbook

        write_private(place, workbook(found))
        click.echo(f"wrote {place}")
        return
    if place.is_file():
        raise RefusedError(f"{place} is a file; give a folder, or a name that ends in .xlsx")
    for name, (head, body) in found.items():
        path = place / f"{name}.csv"
        write_private(path, write_cells(head, body).encode("utf-8"))
        click.echo(f"wrote {path}")
