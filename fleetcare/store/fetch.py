"""Reading the fleet file: the fleet, its history as columns, its entries as records."""

from __future__ import annotations

import json
import sqlite3
from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fleetcare.errors import Fault, UnusableFileError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings, changed
from fleetcare.fleet.waters import Water
from fleetcare.log.history import EngineLog, History, JobMark, Seen
from fleetcare.store.seal import SEAL

if TYPE_CHECKING:
    from fleetcare.log.entries import Entry

FLEET_ID = "fleet_id"
LAST_DAY = date.max.toordinal()
ROWS_AT_ONCE = 50_000

# The hot statements: the hundreds of thousands of figures and runs, and the jobs. Each is answered
# by the index it names alone, engine by engine and day by day.
FIGURES = (
    "select engine, day, reading from log indexed by log_figures "
    "where reading is not null and event <> 'meter' and day <= ?"
)
RUNS = (
    "select engine, day, hours, coalesce(water, -1) from log indexed by log_runs "
    "where hours is not null and day <= ?"
)
JOBS = (
    "select engine, task, day, reading, id from log indexed by log_jobs "
    "where event = 'job' and day <= ?"
)
JOBS_OF = (
    "select engine, day, reading, id from log indexed by log_jobs "
    "where event = 'job' and task = '{task}' and day <= ?"
)
# Of each engine and task the last job: its day and, of that day, the highest reading.
LAST_JOBS = (
    "select engine, task, day, reading, id, max(day * 1000000000 + coalesce(reading, -1)) "
    "from log indexed by log_jobs where event = 'job' and day <= ?"
)
FOUND = (
    "select engine, day, id, part, condition, count, task, by from log indexed by log_found "
    "where event = 'job' and condition is not null and day <= ?"
)
OTHERS = "event not in ('reading', 'run', 'job') or fuel is not null"


@dataclass(frozen=True, slots=True)
class Kept:
    """An entry as the file keeps it: with its command's number, its time, whether withdrawn."""

    number: int
    act: int
    at: str
    entry: Entry | None
    withdraws: int | None
    withdrawn: bool
    by: str
    on: date


def names(text: str) -> tuple[str, ...]:
    """A list kept as one text."""
    return tuple(item for item in text.split(";") if item)


def fetch_fleet(connection: sqlite3.Connection) -> Fleet:
    """Everything there is."""
    settings, fleet_id = Settings(), ""
    for name, value in connection.execute("select name, value from setting order by name"):
        if name == FLEET_ID:
            fleet_id = value
        if name in (FLEET_ID, SEAL):
            continue
        after = changed(settings, name, value)
        if isinstance(after, Fault):
            raise UnusableFileError(f"the fleet file holds a bad setting: {after}")
        settings = after
    boats = {row[1]: _boat(row) for row in connection.execute(_BOATS)}
    boat_names = {row[0]: row[1] for row in connection.execute("select id, name from boat")}
    engines = {row[1]: _engine(row, boat_names) for row in connection.execute(_ENGINES)}
    return Fleet(fleet_id, settings, boats, engines)


_BOATS = "select id, name, use, water, since, place, also from boat order by id"
_ENGINES = (
    "select id, name, first_name, boat, family, hp, stroke, year, meter, digits, steering, "
    "litres_hour, rules, without, since, reading, new, also from engine order by id"
)


def _boat(row: tuple[Any, ...]) -> Boat:
    return Boat(row[1], row[2], Water(row[3]), date.fromordinal(row[4]), row[5], names(row[6]))


def _engine(row: tuple[Any, ...], boats: dict[int, str]) -> Engine:
    return Engine(
        name=row[1], first=row[2], boat=boats.get(row[3]), family=row[4],
        hp=None if row[5] is None else Fraction(row[5]), stroke=row[6], year=row[7],
        meter=bool(row[8]), digits=row[9], steering=row[10],
        litres_hour=None if row[11] is None else Fraction(row[11]), rules=row[12],
        without=names(row[13]), since=date.fromordinal(row[14]), reading=row[15],
        new=bool(row[16]), also=names(row[17]),
    )  # fmt: skip


def engine_ids(connection: sqlite3.Connection) -> dict[str, int]:
    """Engine names to their keys in the file."""
    return dict(connection.execute("select name, id from engine").fetchall())


def boat_ids(connection: sqlite3.Connection) -> dict[str, int]:
    """Boat names to their keys in the file."""
    return dict(connection.execute("select name, id from boat").fetchall())


def withdrawn(connection: sqlite3.Connection) -> set[int]:
    """The numbers of entries that do not count: withdrawn by an entry that itself counts."""
    rows = connection.execute(
        "select id, withdraws from log indexed by log_withdraws where withdraws is not null"
    )
    dead: set[int] = set()
    for number, target in sorted(rows, reverse=True):  # a withdrawal comes after what it names
        if number not in dead:
            dead.add(target)
    return dead


def fetch_history(
    connection: sqlite3.Connection,
    as_of: date | None = None,
    engines: Collection[str] | None = None,
    last_jobs: bool = False,
    whole: Collection[str] = (),
) -> History:
    """The history of the fleet, or of some engines, as of a day (of all days when None).

    With `last_jobs`, engines that never took part in a swap, kept one meter and had no condition
    recorded with a job bring only the last job of each task, which is all a clock asks of them;
    of the tasks in `whole` they bring all.
    """
    last = LAST_DAY if as_of is None else as_of.toordinal()
    dead = withdrawn(connection)
    ids = {key: name for name, key in engine_ids(connection).items()}
    if engines is not None:
        ids = {key: name for key, name in ids.items() if name in engines}
    history = History({name: EngineLog() for name in ids.values()})
    chosen = _Chosen(last, dead, None if engines is None else sorted(ids))
    for row in other_rows(connection, last, dead):
        if _wanted(row, engines):
            history.tell(row["event"], row["day"], row["id"], row)
    logs = {key: history.of(name) for key, name in ids.items()}
    _figures_and_runs(connection, logs, chosen)
    for engine, *seen in chosen.rows(connection, FOUND):
        logs[engine].seen.append(Seen(seen[0], seen[1], seen[2] or "", *seen[3:]))
    _jobs(connection, logs, chosen, _need_all_jobs(history, ids) if last_jobs else None, whole)
    history.sort()
    return history


def other_rows(connection: sqlite3.Connection, last: int, dead: set[int]) -> list[dict[str, Any]]:
    """Rows that are no plain reading, run or job, and count; engines and boats by name."""
    engines = {number: name for name, number in engine_ids(connection).items()}
    boats = {number: name for name, number in boat_ids(connection).items()}
    found = []
    for cells in connection.execute(_OTHER_ROWS, (last,)).fetchall():
        row = dict(zip(_NAMES, cells, strict=True))
        if row["id"] in dead or row["withdraws"] is not None:
            continue
        row["engine"], row["other"] = engines.get(row["engine"]), engines.get(row["other"])
        row["boat"] = boats.get(row["boat"])
        found.append(row)
    return sorted(found, key=lambda row: row["id"])


def _need_all_jobs(history: History, ids: dict[int, str]) -> set[int]:
    """Engines whose last job is not always the one a clock asks for."""
    swapped = {name for swap in history.swaps for name in (swap.engine, swap.other)}
    return {
        key
        for key, name in ids.items()
        if name in swapped
        or history.engines[name].meters
        or any(seen.task for seen in history.engines[name].seen)
    }


def _wanted(row: Mapping[str, Any], engines: Collection[str] | None) -> bool:
    if engines is None:
        return True
    concerned = {row["engine"], row["other"]} - {None}
    return not concerned or bool(concerned & set(engines))


@dataclass(frozen=True, slots=True)
class _Chosen:
    """Which entries a statement is to read: up to a day, not withdrawn, of some engines."""

    last: int
    dead: set[int]
    engines: list[int] | None

    def rows(self, connection: sqlite3.Connection, statement: str, end: str = "") -> sqlite3.Cursor:
        values: list[int | str] = [self.last]
        if self.dead:
            statement += " and id not in (select value from json_each(?))"
            values.append(json.dumps(sorted(self.dead)))
        if self.engines is not None:
            statement += " and engine in (select value from json_each(?))"
            values.append(json.dumps(self.engines))
        return connection.execute(statement + end, values)


def _figures_and_runs(
    connection: sqlite3.Connection, logs: dict[int, EngineLog], chosen: _Chosen
) -> None:
    """Figures and runs into their columns, engine by engine."""
    order = " order by engine, day"
    for engine, (days, figures) in _by_engine(chosen.rows(connection, FIGURES, order), 2):
        log = logs[engine]
        log.figure_days += days
        log.figures += figures
    for engine, (days, hours, waters) in _by_engine(chosen.rows(connection, RUNS, order), 3):
        log = logs[engine]
        log.run_days += days
        log.run_hours += hours
        log.run_waters += waters


def _by_engine(rows: sqlite3.Cursor, width: int) -> Iterator[tuple[int, list[list[int]]]]:
    """Rows in order of engines as columns for each: slices, since a loop a row takes longer.

    In pieces, since whole it takes more memory than the columns; an engine may come twice.
    """
    while piece := rows.fetchmany(ROWS_AT_ONCE):
        columns = list(zip(*piece, strict=True))
        engines, start = columns[0], 0
        while start < len(engines):
            engine = engines[start]
            end = bisect_right(engines, engine, lo=start)
            yield engine, [list(columns[at][start:end]) for at in range(1, width + 1)]
            start = end


def _jobs(
    connection: sqlite3.Connection,
    logs: dict[int, EngineLog],
    chosen: _Chosen,
    need_all: set[int] | None,
    whole: Collection[str],
) -> None:
    """Jobs as clocks see them: all of them, or the last ones of engines not in `need_all`."""
    if need_all is not None:
        for engine, task, day, reading, number, _ in chosen.rows(
            connection, LAST_JOBS, " group by engine, task"
        ):
            if engine not in need_all:
                logs[engine].jobs[task] = [JobMark(day, reading, number)]
        _whole_tasks(connection, logs, chosen, need_all, whole)
        asked = sorted(need_all if chosen.engines is None else need_all & set(chosen.engines))
        chosen = _Chosen(chosen.last, chosen.dead, asked)
        if not need_all:
            return
    for engine, task, day, reading, number in chosen.rows(connection, JOBS):
        logs[engine].jobs.setdefault(task, []).append(JobMark(day, reading, number))


def _whole_tasks(
    connection: sqlite3.Connection,
    logs: dict[int, EngineLog],
    chosen: _Chosen,
    need_all: set[int],
    whole: Collection[str],
) -> None:
    """Every job of these tasks, in place of the last ones."""
    for task in sorted(whole):
        found: dict[int, list[JobMark]] = {}
        statement = JOBS_OF.format(task=task.replace("'", "''"))
        for engine, day, reading, number in chosen.rows(connection, statement):
            if engine not in need_all:
                found.setdefault(engine, []).append(JobMark(day, reading, number))
        for engine, marks in found.items():
            logs[engine].jobs[task] = marks


_COLUMNS = (
    "id, act, at, day, event, engine, boat, task, part, reading, hours, fuel, water, condition, "
    "count, component, other, old_reading, until, item, cost, by, note, withdraws"
)


_NAMES = tuple(_COLUMNS.split(", "))
_OTHER_ROWS = "select " + _COLUMNS + " from log where (" + OTHERS + ") and day <= ?"  # noqa: S608  # fixed texts


def _kept(
    connection: sqlite3.Connection,
    where: str,
    last: int,
    dead: set[int],
    key: int | str | None = None,
) -> list[Kept]:
    """Entries as records, in the order they were written."""
    engines = {number: name for name, number in engine_ids(connection).items()}
    boats = {number: name for name, number in boat_ids(connection).items()}
    statement = "select " + _COLUMNS + " from log where (" + where + ") and day <= ?"  # noqa: S608  # fixed texts
    statement += "" if key is None else "2"
    values: list[int | str] = [last] if key is None else [key, last]
    return [
        _one_kept(row, engines, boats, dead)
        for row in sorted(connection.execute(statement, values).fetchall(), key=_number)
    ]


def _number(row: tuple[Any, ...]) -> int:
    number: int = row[0]
    return number


def _one_kept(
    row: tuple[Any, ...], engines: dict[int, str], boats: dict[int, str], dead: set[int]
) -> Kept:
    on = date.fromordinal(row[3])
    from fleetcare.log.rows import from_row

    entry: Entry | None = None
    if row[23] is None:
        until = None if row[18] is None else date.fromordinal(row[18])
        made = from_row(
            {
                "on": on, "event": row[4], "engine": engines.get(row[5]), "boat": boats.get(row[6]),
                "task": row[7], "part": row[8], "reading": row[9], "hours": row[10],
                "fuel": row[11], "water": row[12], "condition": row[13], "count": row[14],
                "component": row[15], "other": engines.get(row[16]), "old_reading": row[17],
                "until": until, "item": row[19], "cost": row[20], "by": row[21], "note": row[22],
            },
            number=row[0],
        )  # fmt: skip
        if isinstance(made, Fault):
            raise UnusableFileError(f"entry {row[0]} of the fleet file cannot be read: {made}")
        entry = made
    return Kept(row[0], row[1], row[2], entry, row[23], row[0] in dead, row[21], on)


def fetch_log(connection: sqlite3.Connection, engine: str | None = None) -> list[Kept]:
    """Every entry, withdrawals and withdrawn ones too, or those of one engine."""
    dead = withdrawn(connection)
    if engine is None:
        return _kept(connection, "1", LAST_DAY, dead)
    key = engine_ids(connection)[engine]
    return _kept(connection, _ABOUT, LAST_DAY, dead, key)


# An engine's entries, each sort by the index that holds it, for the table may be a hundred times
# as long; what withdrew them, what withdrew that, and so on.
_ABOUT = (
    "id in (with recursive about(id) as ("  # noqa: S608  # fixed texts
    "select id from log where engine = ?1 and reading is not null and event <> 'meter' "
    "union select id from log where engine = ?1 and hours is not null "
    "union select id from log where engine = ?1 and event = 'job' "
    f"union select id from log where (engine = ?1 or other = ?1) and ({OTHERS}) "
    "union select log.id from log join about on log.withdraws = about.id) select id from about)"
)


def fetch_entries(connection: sqlite3.Connection, numbers: Iterable[int]) -> dict[int, Kept]:
    """Entries by their numbers; those that are not there are left out."""
    wanted = json.dumps(sorted(set(numbers)))
    where = "id in (select value from json_each(?1))"
    found = _kept(connection, where, LAST_DAY, withdrawn(connection), wanted)
    return {item.number: item for item in found}


def fetch_act(connection: sqlite3.Connection, act: int | None = None) -> list[Kept]:
    """The entries of one command: of the last one when none is named."""
    if act is None:
        act = connection.execute("select max(act) from log").fetchone()[0]
    return _kept(connection, "act = ?1", LAST_DAY, withdrawn(connection), act or 0)


def live_entries(kept: Iterable[Kept]) -> list[Entry]:
    """The entries that count."""
    return [item.entry for item in kept if item.entry is not None and not item.withdrawn]
