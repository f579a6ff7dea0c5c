"""What another program, a failing disk or a wrong clock may leave in a fleet file, planted by SQL.

The fleet is the `small` one of conftest.py with a few entries more, see `filled`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetcare.store.schema import GUARDS
from tests.cli.typed import fleetcare

RESTORE, MEND, ACCEPT = "Restore a copy", "check --mend", "check --accept"
UNDO = "fleetcare undo"
AT = "'2026-07-18T08:00:00+00:00'"
ENTRIES = 9
JULY_1 = date(2026, 7, 1).toordinal()


def filled() -> None:
    """Nine entries: two jobs of the past, then these."""
    fleetcare("reading", "Plover", 255, "--on", "2026-05-01")
    fleetcare("reading", "Plover", 260, "--on", "2026-06-01")
    fleetcare("run", "Knot", 3, "--on", "2026-06-01")
    fleetcare("swap", "Plover", "Spare", "gearcase", "--on", "2026-06-10")
    fleetcare("done", "Plover", "plugs", "--on", "2026-06-20")
    fleetcare("put-off", "Plover", "bolts", "--until", "2026-08-01", "--because", "no time")
    fleetcare("undo", 5)


def log_row(**values: object) -> str:
    """One more entry, whatever it says."""
    row: dict[str, object] = {"id": ENTRIES + 1, "act": ENTRIES + 1, "at": AT, "day": JULY_1}
    row.update(values)
    return f"insert into log ({', '.join(row)}) values ({', '.join(map(str, row.values()))})"


def plant(path: Path, *statements: str, sealed: bool = False) -> None:
    """Run statements with the guards off and nothing checked; the seal goes unless it is meant."""
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("pragma ignore_check_constraints = on")
    for name in GUARDS:
        connection.execute(f"drop trigger {name}")
    for statement in statements:
        connection.execute(statement)
    if not sealed:
        connection.execute("delete from setting where name = 'seal'")
    for name, text in GUARDS.items():
        connection.execute(f"drop trigger if exists {name}")
        connection.execute(text)
    connection.close()


def bare(path: Path, *statements: str) -> None:
    """Run statements as another program would."""
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


def with_stale_index(path: Path, sealed: bool = False) -> None:
    """The table says 256.00 where its index still says 255.00."""
    hidden = "select type, name, tbl_name, rootpage, sql from sqlite_master where name = ?"
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("pragma writable_schema = on")
    row = connection.execute(hidden, ("log_figures",)).fetchone()
    connection.execute("delete from sqlite_master where name = 'log_figures'")
    connection.close()
    plant(path, "update log set reading = 25600 where id = 3", sealed=sealed)
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("pragma writable_schema = on")
    connection.execute("insert into sqlite_master values (?, ?, ?, ?, ?)", row)
    connection.close()


@dataclass(frozen=True)
class Plant:
    """What is planted, what check must say of it, and how it ends."""

    says: str
    mend: str
    sql: tuple[str, ...] = ()
    code: int = 1
    by: Callable[[Path], None] | None = None
    sealed: bool = False

    def put(self, path: Path) -> None:
        if self.by is not None:
            self.by(path)
        else:
            plant(path, *self.sql, sealed=self.sealed)


FILE = {
    "a lost guard": Plant(
        "file: has lost its guard log_no_delete", MEND, code=4,
        by=lambda path: bare(path, "drop trigger log_no_delete"),
    ),
    "a toothless guard": Plant(
        "file: has another guard log_no_update than fleetcare makes", MEND, code=4,
        by=lambda path: bare(
            path, "drop trigger log_no_update",
            "create trigger log_no_update before update on log begin select 1; end",
        ),
    ),
    "a strange trigger": Plant(
        "file: has a trigger extra that is not fleetcare's", MEND, code=4,
        by=lambda path: bare(
            path, "create trigger extra after insert on log begin select 1; end"
        ),
    ),
    "a lost index": Plant(
        "file: has lost its index log_runs", MEND, code=4,
        by=lambda path: bare(path, "drop index log_runs"),
    ),
    "another index": Plant(
        "file: has another index log_runs than fleetcare makes", MEND, code=4,
        by=lambda path: bare(
            path, "drop index log_runs", "create index log_runs on log(engine) where 0"
        ),
    ),
    "an index that differs from its table": Plant(
        "file: row 3 missing from index log_figures", MEND, code=4, by=with_stale_index
    ),
    "a lost view": Plant(
        "file: has lost its view readable_log", MEND, code=4,
        by=lambda path: bare(path, "drop view readable_log"),
    ),
    "a lost table": Plant(
        "file: has lost its table heading", RESTORE, code=4,
        by=lambda path: bare(path, "drop table heading"),
    ),
    "a value the file's own rules forbid": Plant(
        "CHECK constraint failed in log", RESTORE, ("update log set water = 7 where id = 5",), 4
    ),
    "a note changed": Plant(
        "log: is not as it was written: something in entries 1 to 9", ACCEPT,
        ("update log set note = 'x' where id = 4",), 4, sealed=True,
    ),
    "an entry cut off the end": Plant(
        "log: ends at entry 8, but entry 9 was written", RESTORE,
        ("delete from log where id = 9",), 4, sealed=True,
    ),
    "an engine changed": Plant(
        "file: a setting, a boat, an engine, a subscriber or the plan is not as fleetcare", ACCEPT,
        ("update engine set reading = 24000 where name = 'Plover'",), 4, sealed=True,
    ),
    "a seal that is none": Plant(
        'file: has a seal that makes no sense ("x")', ACCEPT,
        ("update setting set value = 'x' where name = 'seal'",), 4, sealed=True,
    ),
}  # fmt: skip

ROWS = {
    "an entry of no engine": Plant(
        "entry 4: names an engine that is not in the file", RESTORE,
        ("update log set engine = 99 where id = 4",),
    ),
    "an engine on no boat": Plant(
        "engine: names a boat that is not in the file", RESTORE,
        ("update engine set boat = 99 where name = 'Plover'",),
    ),
    "a missing entry": Plant(
        "log: has no entry 4, but has entry 5", RESTORE, ("delete from log where id = 4",)
    ),
    "an entry of no command": Plant(
        "entry 4: belongs to a command (77) that is not there", RESTORE,
        ("update log set act = 77 where id = 4",),
    ),
    "a withdrawal of nothing": Plant(
        "entry 10: is a withdrawal of nothing", RESTORE, (log_row(event="'withdraw'"),)
    ),
    "a withdrawal of what is not there": Plant(
        "entry 9: withdraws entry 99, which came later", RESTORE,
        ("update log set withdraws = 99 where id = 9",),
    ),
    "a withdrawal of what came later": Plant(
        "entry 9: withdraws entry 10, which came later", RESTORE,
        (log_row(event="'reading'", engine=1, reading=26100),
         "update log set withdraws = 10 where id = 9"),
    ),
    "a withdrawal by something else": Plant(
        'entry 10: withdraws entry 4, but is a "reading"', RESTORE,
        (log_row(event="'reading'", engine=1, reading=26100, withdraws=4),),
    ),
    "a day that is none": Plant(
        "entry 4: is of a day that is none (99999999)", RESTORE,
        ("update log set day = 99999999 where id = 4",),
    ),
    "a day before all days": Plant(
        "entry 4: is of a day that is none (0)", RESTORE, ("update log set day = 0 where id = 4",)
    ),
    "an end that is none": Plant(
        "entry 8: puts off until a day that is none (-5)", RESTORE,
        ("update log set until = -5 where id = 8",),
    ),
    "a day to come": Plant(
        "entry 10: is of 2062-03-01, which lies after today (2026-07-18)", "fleetcare undo 10",
        (log_row(event="'reading'", engine=1, reading=26100, day=date(2062, 3, 1).toordinal()),),
    ),
    "written in time to come": Plant(
        "entry 10: was written on 2062-03-01, after today (2026-07-18)", "Is the clock right",
        (log_row(event="'reading'", engine=1, reading=26100, at="'2062-03-01T08:00:00+00:00'"),),
    ),
    "written at no time": Plant(
        'entry 4: was written at no time ("noon")', RESTORE,
        ("update log set at = 'noon' where id = 4",),
    ),
    "an event that is none": Plant(
        'entry 4: makes no sense: event "regatta" is no event', RESTORE,
        ("update log set event = 'regatta' where id = 4",),
    ),
    "a job without its task": Plant(
        "entry 7: makes no sense: task is empty, and a job needs it", RESTORE,
        ("update log set task = null where id = 7",),
    ),
    "a putting off into the past": Plant(
        "entry 8: makes no sense: until must lie after 2026-07-18", RESTORE,
        (f"update log set until = {JULY_1} where id = 8",),
    ),
    "a setting that is none": Plant(
        'setting "tide": is not a setting', MEND, ("insert into setting values ('tide', 'x')",)
    ),
    "a setting with a value it does not take": Plant(
        'setting "hemisphere": takes northern, southern or tropics, not "up"', MEND,
        ("update setting set value = 'up' where name = 'hemisphere'",),
    ),
    "no fleet id": Plant(
        "file: has no fleet id", RESTORE, ("delete from setting where name = 'fleet_id'",)
    ),
    "two engines of one name": Plant(
        'engine "Knot": answers to "PLOVER", and so does "Plover"', RESTORE,
        ("update engine set also = 'PLOVER' where name = 'Knot'",),
    ),
    "two boats of one name": Plant(
        'boat "lapwing": answers to "lapwing", and so does "Lapwing"', RESTORE,
        ("insert into boat (name, use, water, since) values ('lapwing', 'hire', 0, 739000)",),
    ),
    "a name that cannot be one": Plant(
        "has a name that holds a control character", RESTORE,
        ("update boat set name = 'Dun' || char(7) || 'lin' where name = 'Dunlin'",),
    ),
    "a boat known since no day": Plant(
        'boat "Dunlin": is known since a day that is none (-1)', RESTORE,
        ("update boat set since = -1 where name = 'Dunlin'",),
    ),
    "an engine known since no day": Plant(
        'engine "Spare": is known since a day that is none (9999999)', RESTORE,
        ("update engine set since = 9999999 where name = 'Spare'",),
    ),
    "a meter without its first figure": Plant(
        'engine "Plover": has a meter and no reading of its first day', RESTORE,
        ("update engine set reading = null where name = 'Plover'",),
    ),
    "no horsepower at all": Plant(
        'engine "Plover": has "0" for its horsepower', RESTORE,
        ("update engine set hp = '0' where name = 'Plover'",),
    ),
    "a burn that is no number": Plant(
        'engine "Plover": has "lots" for its litres an hour', RESTORE,
        ("update engine set litres_hour = 'lots' where name = 'Plover'",),
    ),
    "a meter that falls": Plant(
        'engine "Plover": reads 255.0 on 2026-07-01 but read 260.0 on 2026-06-01', "A slip now",
        (log_row(event="'reading'", engine=1, reading=25500),),
    ),
    "a run before the engine was known": Plant(
        'engine "Knot": has a run on 2026-01-01, before the fleet knew it', "Only jobs",
        (log_row(event="'run'", engine=2, hours=100, day=date(2026, 1, 1).toordinal()),),
    ),
    "a figure without a meter": Plant(
        'engine "Knot": has no meter on 2026-07-01, so it cannot read 100.0', "Log its runs",
        (log_row(event="'reading'", engine=2, reading=10000),),
    ),
    "a day of more than a day": Plant(
        'engine "Knot": ran 25.0 h on 2026-07-01, more than a day', "",
        (log_row(event="'run'", engine=2, hours=2400),
         log_row(id=11, act=11, event="'run'", engine=2, hours=100)),
    ),
    "two moves of a boat on a day": Plant(
        'boat "Lapwing": has two moves on 2026-07-01', "",
        (log_row(event="'move'", boat=1, water=2),
         log_row(id=11, act=11, event="'move'", boat=1, water=0)),
    ),
    "an entry after the end": Plant(
        'engine "Plover": was retired on 2026-06-15 but has an entry on 2026-07-18', "",
        (log_row(event="'retire'", engine=1, day=date(2026, 6, 15).toordinal()),),
    ),
    "two mounts on a day": Plant(
        'engine "Spare": has two mounts on 2026-07-01', "",
        (log_row(event="'mount'", engine=3, boat=1),
         log_row(id=11, act=11, event="'mount'", engine=3, boat=2)),
    ),
    "a swap with itself": Plant(
        'engine "Plover": cannot swap with itself', "",
        (log_row(event="'swap'", engine=1, other=1, component="'powerhead'"),),
    ),
    "a swap on a withdrawn one": Plant(
        "entry 10: a swap, stands on entry 6, a swap that counts otherwise now", "undo 10",
        (log_row(event="'swap'", engine=1, other=2, component="'gearcase'"),
         log_row(id=11, act=11, event="'withdraw'", withdraws=6)),
    ),
    "a forecast from an entry that is not there": Plant(
        'forecast of "Plover": was learned from entry 99', MEND,
        ("insert or replace into fit values (1, 99, 739000, '', '', x'')",),
    ),
    "a forecast of no engine": Plant(
        'forecast of "99": is of an engine that is not in the fleet', MEND,
        ("insert into fit values (99, 1, 739000, '', '', x'')",),
    ),
    "an event sent of no day": Plant(
        "event u1: was sent of a day, or at a time, that is none", "sends it anew",
        (f"insert into sent values ('u1', -1, 't', 'due', 0, {AT}, '', '')",),
    ),
    "a feed sent with an event that is not kept": Plant(
        'feed "fleet": was sent with an event that is not kept', "sends it anew",
        (f"insert into sent_feed values ('fleet', '', '', 'gone', '', {AT})",),
    ),
    "a to-do of no engine": Plant(
        'to-do "Teal: plugs": is of an engine "Teal" that is not in the fleet', "calendar server",
        (f"insert into pushed values ('c', 'u', 'h', 'e', 'Teal', 'plugs', 1, 1, 'Teal: plugs', "
         f"'due', 0, {AT})",),
    ),
    "a tick-off of no entry": Plant(
        "collected: names an entry that is not in the file", RESTORE,
        ("insert into collected values ('u', 'c', 99)",),
    ),
    "a subscriber to nothing": Plant(
        'subscriber "Ina": has a feed of boat "Teal", which is not in the fleet',
        'feed revoke "Ina"',
        (f"insert into subscriber values (1, 'Ina', 'boat Teal', '', 'h', {AT})",),
    ),
    "a plan that cannot be read": Plant(
        "kept plan: cannot be read", "plan --fix",
        ("insert into plan values (1, 739000, '{')",),
    ),
}  # fmt: skip
