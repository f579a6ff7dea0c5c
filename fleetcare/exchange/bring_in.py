"""Taking the four tables in: every row accounted for, all or nothing unless asked otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from fleetcare.errors import Fault, RefusedError
from fleetcare.exchange import cells
from fleetcare.exchange.accounts import Report, RowsRefusedError, source_of
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.csvfile import by_column, read_cells
from fleetcare.exchange.found import FoundSheet
from fleetcare.exchange.found_rows import FoundRows
from fleetcare.exchange.own_tables import OwnSheet
from fleetcare.exchange.sifting import Placed, sift
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import tidy
from fleetcare.fleet.settings import as_pairs, changed
from fleetcare.log.entries import Entry, Incident, Job, PutOff
from fleetcare.log.faults import faults as log_faults
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook, task_of
from fleetcare.store.append import (
    Taken,
    add_boat,
    add_engine,
    add_entries,
    check_engines,
    concerned,
    set_value,
)
from fleetcare.store.fetch import FLEET_ID, fetch_fleet, fetch_history, fetch_log
from fleetcare.store.fleet_file import FleetFile

RULES_LIST = "fleetcare rules list shows them."


@dataclass(slots=True)
class Tables:
    """The rows of all files, by table, each with its place; and the sheets they stood in."""

    settings: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    boats: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    engines: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    log: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    own: list[OwnSheet] = field(default_factory=list)
    sheets: list[FoundSheet] = field(default_factory=list)


def read_tables(paths: Sequence[Path]) -> Tables:
    """Every row of the files given; a folder stands for its CSV files."""
    tables = Tables()
    files: list[Path] = []
    for path in paths:
        files += sorted(path.glob("*.csv")) if path.is_dir() else [path]
    if not files:
        raise RefusedError(f"{paths[0]}: holds no CSV file; nothing was taken")
    for path in files:
        head, rows = read_cells(path)
        twice = [name for name, times in Counter(head).items() if times > 1]
        if twice:
            raise RefusedError(f'{path}: has the heading "{twice[0]}" twice')
        table = cells.table_of(head)
        if table is None:
            raise RefusedError(
                f"{path}: its headings are not those of settings, boats, engines or log "
                f"({', '.join(head)[:80]}); fleetcare import --help shows them"
            )
        placed, faults = by_column(path.name, head, rows)
        getattr(tables, table).extend(placed)
        tables.faults += faults
    return tables


class Import:
    """One import into an open fleet file, inside one write transaction."""

    def __init__(
        self,
        file: FleetFile,
        book: RuleBook,
        today: date,
        at: str,
        keep_good: bool,
        asked: Asked | None = None,
    ) -> None:
        self.file, self.book, self.today, self.at = file, book, today, at
        self.keep_good, self.asked = keep_good, asked or Asked()
        self.report = Report()
        self.names = Taken(file.connection)
        self.default_rules = ""

    def take(self, tables: Tables) -> Report:
        """Take every row, or raise RowsRefusedError with what is wrong and take none."""
        report = self.report
        lists = (tables.settings, tables.boats, tables.engines, tables.log)
        report.rows = sum(map(len, lists)) + len(tables.faults)
        for fault in tables.faults:
            report.refuse(fault.where, Fault("", fault.what, fault.mend))
        places = [place for rows in lists for place, _ in rows]
        places += [fault.where for fault in tables.faults]
        names = [*map(source_of, places), *(sheet.grid.name for sheet in tables.sheets)]
        report.sources = list(dict.fromkeys(names))
        fleet = fetch_fleet(self.file.connection)
        self._settings(tables.settings, fleet)
        self._boats(tables.boats, fleet)
        fleet = fetch_fleet(self.file.connection)
        self.default_rules = fleet.settings.rules
        known = self._engines(tables.engines, fleet)
        fleet = fetch_fleet(self.file.connection)
        self._log([*known, *self._entries(tables.log, fleet)], tables.sheets, fleet)
        if report.left_out and not self.keep_good:
            raise RowsRefusedError(report)
        return report

    def _bad(self, place: str, fault: Fault) -> None:
        self.report.refuse(place, fault)

    def _settings(self, rows: Iterable[tuple[str, dict[str, str]]], fleet: Fleet) -> None:
        now = {FLEET_ID: fleet.id, **dict(as_pairs(fleet.settings))}
        given: dict[str, str] = {}
        for place, row in rows:
            name, value = row.get("name", ""), row.get("value", "")
            wrong = self._setting_wrong(name, value, fleet)
            if wrong:
                self._bad(place, wrong)
            elif given.setdefault(name, value) != value:
                self._bad(place, Fault("value", f'of "{name}" is "{given[name]}" further up'))
            elif now.get(name) == value:
                self.report.there(place)
            else:
                set_value(self.file.connection, name, value)  # the fleet's id among them
                now[name] = value
                self.report.take(place, "settings")

    def _setting_wrong(self, name: str, value: str, fleet: Fleet) -> Fault | None:
        if name == FLEET_ID:
            return _id_wrong(value, fleet)
        after = changed(fleet.settings, name, value)
        if isinstance(after, Fault):
            column = "value" if name in dict(as_pairs(fleet.settings)) else "name"
            return Fault(f"{column}: {after.where}", after.what, after.mend)
        if name == "rules" and value not in self.book.sets:
            return Fault("value", f'no rule set "{value}"', RULES_LIST)
        return None

    def _boats(self, rows: Iterable[tuple[str, dict[str, str]]], fleet: Fleet) -> None:
        for place, row in rows:
            boat = cells.boat(row)
            if isinstance(boat, Fault):
                self._bad(place, boat)
            elif fleet.boats.get(boat.name) == boat:
                self.report.there(place)
            elif boat.since > self.today:
                self._bad(place, Fault("since", f"{boat.since} lies in the future"))
            else:
                self._add(place, "boats", boat)

    def _engines(self, rows: Iterable[tuple[str, dict[str, str]]], fleet: Fleet) -> list[Placed]:
        jobs: list[Placed] = []
        for place, row in rows:
            engine = cells.engine(row)
            if isinstance(engine, Engine):
                engine = self._engine_resolved(engine, fleet)
            if isinstance(engine, Fault):
                self._bad(place, engine)
                continue
            known = _known_as(engine, fleet)
            last = cells.last_jobs(row, known or engine.name)
            if not isinstance(last, Fault):
                last = self._known_tasks(engine, last)
            if isinstance(last, Fault):
                self._bad(place, last)
                continue
            if known:
                self.report.there(place)
            elif not self._add(place, "engines", engine):
                continue
            jobs += [(place, job) for job in last]
        self.report.rows += len(jobs)
        return jobs

    def _known_tasks(self, engine: Engine, jobs: list[Job]) -> list[Job] | Fault:
        """The jobs with their tasks as the rules write them, or what is wrong with the first."""
        ruleset = self.book.sets[engine.rules or self.default_rules]
        known = []
        for job in jobs:
            task, column = task_of(ruleset, job.task), f"{cells.LAST}{job.task}"
            if isinstance(task, Fault):
                return Fault(column, f"{task.where} {task.what}", task.mend)
            if job.on > self.today:
                return Fault(column, f"{job.on} lies in the future", "Is the clock right?")
            known.append(replace(job, task=task))
        return known

    def _engine_resolved(self, engine: Engine, fleet: Fleet) -> Engine | Fault:
        """The engine with boat and tasks as the fleet and the rules write them."""
        if engine.boat and not fleet.has_boat(engine.boat):
            return Fault("boat", f'no boat "{engine.boat}"')
        if engine.since > self.today:
            return Fault("since", f"{engine.since} lies in the future")
        rules = engine.rules or self.default_rules
        if rules not in self.book.sets:
            return Fault("rules", f'no rule set "{rules}"', RULES_LIST)
        without = []
        for name in engine.without:
            task = task_of(self.book.sets[rules], name)
            if isinstance(task, Fault):
                return Fault("without", f"{task.where} {task.what}", task.mend)
            without.append(task)
        boat = fleet.boat(engine.boat).name if engine.boat else None
        return replace(engine, boat=boat, without=tuple(without))

    def _add(self, place: str, table: str, thing: Boat | Engine) -> bool:
        try:
            if isinstance(thing, Boat):
                add_boat(self.file.connection, thing, self.names)
            else:
                add_engine(self.file.connection, thing, self.names)
        except RefusedError as error:
            self._bad(place, Fault(table.removesuffix("s"), str(error)))
            return False
        self.report.take(place, table)
        return True

    # -- the log --------------------------------------------------------------------------------

    def _entries(self, rows: Iterable[tuple[str, dict[str, str]]], fleet: Fleet) -> list[Placed]:
        found: list[Placed] = []
        for place, row in rows:
            entry = cells.entry(row)
            if not isinstance(entry, Fault):
                entry = self._resolved(entry, fleet)
            if isinstance(entry, Fault):
                self._bad(place, entry)
            else:
                found.append((place, entry))
        return found

    def _resolved(self, entry: Entry, fleet: Fleet) -> Entry | Fault:
        """The entry with every name as the fleet and the rules write it."""
        names: dict[str, str] = {}
        for column in ("engine", "other"):
            name = getattr(entry, column, "")
            if name:
                if not fleet.has_engine(name):
                    return Fault(column, _unknown(fleet.engine, name))
                names[column] = fleet.engine(name).name
        boat = getattr(entry, "boat", "")
        if boat:
            if not fleet.has_boat(boat):
                return Fault("boat", _unknown(fleet.boat, boat))
            names["boat"] = fleet.boat(boat).name
        if entry.on > self.today:
            return Fault("on", f"{entry.on} lies in the future", "Is the clock right?")
        if isinstance(entry, Job | PutOff):
            task = task_of(self._rules_of(fleet.engines[names["engine"]], fleet), entry.task)
            if isinstance(task, Fault):
                return Fault("task", f"{task.where} {task.what}", task.mend)
            names["task"] = task
        if isinstance(entry, Incident) and entry.kind not in self.book.incidents:
            known = ", ".join(self.book.incidents)
            return Fault("condition", f'"{entry.kind}" is no incident', f"One of {known}")
        return replace(entry, **names)  # type: ignore[arg-type]  # only columns the entry has

    def _rules_of(self, engine: Engine, fleet: Fleet) -> RuleSet:
        return self.book.set_of(engine.rules or fleet.settings.rules)

    def _log(self, entries: list[Placed], sheets: Sequence[FoundSheet], fleet: Fleet) -> None:
        """Add what is not there yet; what breaks the log is named row by row."""
        kept = fetch_log(self.file.connection)
        known = Counter(_key(item.entry) for item in kept if item.entry is not None)
        fresh: list[Placed] = []
        seen: Counter[tuple[str, tuple[str, ...]]] = Counter()
        for place, entry in entries:
            key = _key(entry)
            nth = source_of(place), key  # a file says each of its rows once
            seen[nth] += 1
            if seen[nth] <= known[key]:
                self.report.there(place, (entry,))
            else:
                known[key] += 1
                fresh.append((place, entry))
        history = fetch_history(self.file.connection)
        found = FoundRows(fleet, self.book, history, kept, self.asked, self.today, self.report)
        rows = found.fresh(sheets)
        tried = [*fresh, *((row.place, entry) for row in rows for entry in row.entries)]
        good, bad = self._sifted(fleet, tried)
        add = [placed for placed in fresh if id(placed[1]) in good]
        for place, fault in bad:
            if place not in found.places:
                self.report.refuse(place, fault)
        self.report.taken["log"] += 0  # a count that tables always have
        for place, entry in add:
            self.report.take(place, "log", (entry,))
        whole = [entry for _, entry in add] + found.kept(rows, good, dict(reversed(bad)))
        if whole:
            add_entries(self.file.connection, whole, self.at, checked=False)
            check_engines(self.file.connection, concerned(whole))

    def _sifted(
        self, fleet: Fleet, tried: list[Placed]
    ) -> tuple[set[int], list[tuple[str, Fault]]]:
        """The identities of the entries that the log can hold, and why it cannot the others."""
        history = fetch_history(self.file.connection)
        for _, entry in tried:
            history.add(entry)
        history.sort()
        bad: list[tuple[str, Fault]] = []
        if log_faults(fleet, history):
            tried, bad = sift(fleet, fetch_history(self.file.connection), tried)
        return {id(entry) for _, entry in tried}, bad


def _id_wrong(value: str, fleet: Fleet) -> Fault | None:
    """Only an empty fleet takes another's id: it names every event that was ever sent."""
    if value == fleet.id:
        return None
    if not value.isascii() or not value.replace("-", "").isalnum() or len(value) > 64:
        return Fault("value", "is no fleet id")
    if fleet.boats or fleet.engines:
        return Fault("value", "is another fleet's id", "Import into a new fleet.")
    return None


def _known_as(engine: Engine, fleet: Fleet) -> str:
    """The name of the engine of the fleet that this is, whatever it was called since; or none."""
    names = (engine.name, *engine.also)
    if not all(map(fleet.has_engine, names)):
        return ""
    known = fleet.engine(engine.name)
    same = replace(engine, name=known.name, also=known.also, first=known.first) == known
    return known.name if same and all(fleet.engine(name) == known for name in names) else ""


def _unknown(find: object, name: str) -> str:
    try:
        find(name)  # type: ignore[operator]  # Fleet.engine or Fleet.boat
    except RefusedError as error:
        return str(error)
    return ""


def _key(entry: Entry) -> tuple[str, ...]:
    """What makes rows equal; spaces do not, since tables lose those around a cell."""
    return tuple(tidy(cell) if cell else "" for cell in cells.entry_cells(entry))
