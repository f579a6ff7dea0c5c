"""An import under way: understood, tried, asked about, taken."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk, sentence
from fleetcare.cli.tables_asked import decided, remembered

if TYPE_CHECKING:
    from fleetcare.exchange.accounts import Report
    from fleetcare.exchange.asked import Asked
    from fleetcare.exchange.bring_in import Tables
    from fleetcare.rules.sets import RuleBook
    from fleetcare.store.fleet_file import FleetFile

MOST_NAMES = 12
LONG_READ = 500_000  # bytes
_HINT = re.compile(r'--as "([^"]+)=([^"=]+)"')


@dataclass(slots=True)
class Taking:
    """One import: the files, what was said of them, how far it came."""

    desk: Desk
    file: FleetFile
    paths: Sequence[Path]
    asked: Asked
    kept: Mapping[str, str]
    keep_good: bool
    profile: str = ""
    keep_names: bool = False
    tables: Tables | None = field(default=None)

    def understand(self, ask: bool) -> Tables:
        """Read the files; what they leave open is asked on a terminal, and refused in a script."""
        from fleetcare.exchange.asked import UndecidedError
        from fleetcare.exchange.sources import read_found

        self._be_patient()
        while True:
            try:
                self.tables = read_found(self.paths, self.asked, self.kept, self.file.fleet())
                return self.tables
            except UndecidedError as question:
                if not ask:
                    raise
                self.asked = decided(self.asked, question)

    def _be_patient(self) -> None:
        size = sum(path.stat().st_size for path in self.paths if path.is_file())
        if size > LONG_READ and sys.stderr.isatty():
            self.desk.note(f"reading {', '.join(path.name for path in self.paths)} …")

    def tell(self) -> None:
        """Say how the sheets of others were read, and what is worth saying of our own."""
        from fleetcare.exchange.telling import understood
        from fleetcare.show.table import wrapped

        for own in self.tables.own if self.tables else ():
            for said in own.grid.said:
                self.desk.note(wrapped(f"{own.grid.name}: {said}", self.desk.width()))
        for sheet in self.tables.sheets if self.tables else ():
            for line in understood(sheet, self.desk.width()):
                self.desk.note(line)

    def attempt(self, keep: bool, keep_good: bool) -> Report:
        """One try at taking the rows, kept or taken back; RowsRefusedError takes all back."""
        from fleetcare.exchange.bring_in import Import
        from fleetcare.store.headings import keep_headings

        desk = self.desk
        tables = self.tables or self.understand(ask=False)
        book = self._book(tables)
        with self.file.writing(keep=keep) as connection:
            taking = Import(self.file, book, desk.today(), desk.stamp(), keep_good, self.asked)
            report = taking.take(tables)
            if self.keep_names:
                self._keep_names(keep)
            if self.profile:
                keep_headings(connection, self.profile, self._meanings(tables))
        return report

    def _book(self, tables: Tables) -> RuleBook:
        from fleetcare.rules.shipped import all_texts, read_book

        fleet = self.file.fleet()
        own = self.desk.own_rules(fleet)
        wanted = {row.get("rules", "") for _, row in tables.engines} | {
            row.get("value", "") for _, row in tables.settings if row.get("name") == "rules"
        }
        used = {engine.rules for engine in fleet.engines.values()} | {fleet.settings.rules}
        return read_book(own, (wanted | used) & set(all_texts(own)))

    def _keep_names(self, keep: bool) -> None:
        from fleetcare.store.append import also_called

        for theirs, ours in self.asked.names:
            fleet = self.file.fleet()
            if fleet.has_engine(ours) and not fleet.has_engine(theirs):
                engine = fleet.engine(ours)
                also_called(self.file.connection, engine, theirs)
                would = "is" if keep else "would be"
                self.desk.note(f'"{engine.name}" {would} also called "{theirs}"')

    def _meanings(self, tables: Tables) -> dict[str, str]:
        from fleetcare.exchange.headings import key_of

        kept = remembered(self.asked)
        for sheet in tables.sheets:
            for meaning, column in sheet.layout.columns.items():
                kept[key_of(sheet.layout.heads[column])] = meaning
        return kept

    # -- on a terminal --------------------------------------------------------------------------

    def preview(self) -> Report:
        """What would be taken, once names that are nearly right were asked about."""
        report = self.attempt(keep=False, keep_good=True)
        names = self._asked_names(report)
        if names:
            self.asked = replace(self.asked, names=(*self.asked.names, *names))
            self.understand(ask=True)
            report = self.attempt(keep=False, keep_good=True)
        return report

    def _asked_names(self, report: Report) -> list[tuple[str, str]]:
        from fleetcare.exchange.telling import where_of

        places: dict[tuple[str, str], list[str]] = {}
        for account in report.in_order():
            match = _HINT.search(account.mend)
            if match and match[2] != "NAME":
                places.setdefault((match[1], match[2]), []).append(account.place)
        return [
            (theirs, ours)
            for (theirs, ours), rows in list(places.items())[:MOST_NAMES]
            if click.confirm(f'Is "{theirs}" ({where_of(rows)}) "{ours}"?', default=False)
        ]

    def ask(self, report: Report) -> None:
        """Ask whether to take what the preview showed; a no is a refusal."""
        from fleetcare.errors import RefusedError

        left = len(report.left_out)
        question = "Take them?"
        if left and not self.keep_good:
            rows = "the refused row" if left == 1 else f"the {left} refused rows"
            question = f"Leave out {rows} and take the others?"
        if not click.confirm(question):
            raise RefusedError("nothing was taken")
        self.keep_good = self.keep_good or bool(left)

    # -- the end --------------------------------------------------------------------------------

    def write_report(self, report: Report, path: Path) -> None:
        """Write the refused rows as a table, one for each sheet that has some."""
        from fleetcare.errors import RefusedError
        from fleetcare.exchange.report_rows import refused_tables
        from fleetcare.store.files import write_whole

        if any(path.resolve() == other.resolve() for other in self.paths):
            raise RefusedError(f"--report: {path} is one of the files read; choose another name")
        tables = self.tables
        texts = refused_tables(report.accounts, tables.own, tables.sheets) if tables else {}
        if not texts:
            self.desk.note(f"no row was refused, so {path} is not written")
        for source, text in texts.items():
            place = path if len(texts) == 1 else path.with_name(f"{path.stem}-{_plain(source)}.csv")
            write_whole(place, b"\xef\xbb\xbf" + text.encode("utf-8"))
            rows = text.count("\r\n") - 1
            self.desk.note(
                f"{place}: the refused rows of {source}, {rows} {'line' if rows == 1 else 'lines'} "
                f"to mend and import"
            )

    def write_missing(self, path: Path) -> None:
        """Write the engines that the fleet does not know, to be completed and imported first."""
        from fleetcare.errors import RefusedError
        from fleetcare.exchange.missing import missing_engines
        from fleetcare.store.files import write_whole

        if path.exists():
            raise RefusedError(f"--missing: {path} exists already; choose another name")
        sheets = self.tables.sheets if self.tables else ()
        text = missing_engines(sheets, self.file.fleet(), self.asked)
        if not text:
            self.desk.note(f"the fleet knows every engine, so {path} is not written")
            return
        write_whole(path, text.encode("utf-8"))
        count = text.count("\r\n") - 1
        self.desk.note(
            f"{path}: {count} {'engine' if count == 1 else 'engines'} that the fleet does not "
            f"know. Fill in boat and hp, import it, then these files again"
        )


def _plain(source: str) -> str:
    name = re.sub(r"[^\w.-]+", "-", source.removesuffix(".csv").removesuffix(".xlsx"))
    return name.strip("-.") or "rows"


def say_refused(desk: Desk, lines: Sequence[str]) -> None:
    """Name the refused rows on stderr, a line each; on a terminal within its width."""
    from fleetcare.show.table import wrapped

    for line in lines:
        text = f"  left out: {sentence(line)}"
        click.echo(wrapped(text, desk.width()) if sys.stderr.isatty() else text, err=True)
