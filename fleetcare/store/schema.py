"""The schema of the fleet file and its changes over time.

Each migration runs inside the one transaction that `file.py` holds, so that two programs opening
an old file at once cannot both change it. A released migration is never edited; a new one is
added below it and VERSION goes up. Tables are STRICT; the log is guarded by three triggers: no
update, no delete, and no insert over a number that exists (which "insert or replace" would be).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

APPLICATION_ID = 0x666C6361  # "flca"
VERSION = 3

GUARDS: dict[str, str] = {
    "log_no_update": (
        "create trigger log_no_update before update on log begin "
        "select raise(abort, 'the log is only added to'); end"
    ),
    "log_no_delete": (
        "create trigger log_no_delete before delete on log begin "
        "select raise(abort, 'the log is only added to'); end"
    ),
    "log_no_replace": (
        "create trigger log_no_replace before insert on log "
        "when exists (select 1 from log where id = new.id) begin "
        "select raise(abort, 'the log is only added to'); end"
    ),
}
TABLES = (
    "setting", "boat", "engine", "log", "sent", "sent_feed", "fit", "subscriber", "pushed",
    "collected", "plan", "heading",
)  # fmt: skip

_TABLES_1 = (
    """create table setting (
        name text primary key,
        value text not null
    ) strict, without rowid""",
    """create table boat (
        id integer primary key,
        name text not null unique,
        use text not null check (use in ('hire', 'club', 'owner')),
        water integer not null check (water between 0 and 2),
        since integer not null,
        place text not null default '',
        also text not null default ''
    ) strict""",
    """create table engine (
        id integer primary key,
        name text not null unique,
        first_name text not null unique,
        boat integer references boat(id),
        family text not null default '',
        hp text,
        stroke integer check (stroke in (2, 4)),
        year integer,
        meter integer not null check (meter in (0, 1)),
        digits integer check (digits between 2 and 9),
        steering text not null default '',
        litres_hour text,
        rules text not null default '',
        without text not null default '',
        since integer not null,
        reading integer check (reading between 0 and 100000000),
        new integer not null check (new in (0, 1)),
        also text not null default ''
    ) strict""",
    """create table log (
        id integer primary key,
        act integer not null,
        at text not null,
        day integer not null,
        event text not null,
        engine integer references engine(id),
        boat integer references boat(id),
        task text,
        part text,
        reading integer check (reading between 0 and 100000000),
        hours integer check (hours between 0 and 2400),
        fuel integer check (fuel between 0 and 10000000),
        water integer check (water between 0 and 2),
        condition text,
        count integer check (count >= 0),
        component text,
        other integer references engine(id),
        old_reading integer check (old_reading between 0 and 1000000000),
        until integer,
        item text,
        cost integer,
        by text not null default '',
        note text not null default '',
        withdraws integer references log(id)
    ) strict""",
    # What the due list reads stands in indexes of its own, sorted and without the rest of the row:
    # figures and runs in half the time of the table, jobs in a fifth.
    "create index log_figures on log(engine, day, reading) "
    "where reading is not null and event <> 'meter'",
    "create index log_runs on log(engine, day, hours, water) where hours is not null",
    "create index log_jobs on log(engine, task, day, reading) where event = 'job'",
    "create index log_found on log(engine) where event = 'job' and condition is not null",
    "create index log_others on log(engine, day) "
    "where event not in ('reading', 'run', 'job') or fuel is not null",
    "create index log_acts on log(act)",
    "create index log_withdraws on log(withdraws) where withdraws is not null",
    """create table sent (
        uid text primary key,
        day integer not null,
        title text not null,
        status text not null,
        sequence integer not null check (sequence >= 0),
        changed text not null
    ) strict, without rowid""",
    """create view readable_log as
        select log.id, date((log.day - 719163) * 86400, 'unixepoch') as day,
               log.event, engine.name as engine, boat.name as boat, log.task,
               log.reading / 100.0 as reading, log.hours / 100.0 as hours, log.condition,
               log.by, log.note, log.withdraws
        from log left join engine on engine.id = log.engine left join boat on boat.id = log.boat""",
)

_TABLES_2 = (
    # What the forecast learned of an engine's own past, and what of its log it was learned from.
    # It can be thrown away at any time: it is made again from the log.
    """create table fit (
        engine integer primary key references engine(id),
        entry integer not null,
        day integer not null,
        ground text not null,
        learned text not null,
        outlook blob not null
    ) strict""",
    # Who subscribed to which feed; of its address only the hash is kept.
    """create table subscriber (
        id integer primary key,
        name text not null unique,
        audience text not null,
        alarm text not null default '',
        hash text not null unique,
        made text not null
    ) strict""",
    # What an event said when it was last sent that moves by itself, and what that rested on, so
    # that a feed in which nothing changed stays as it is.
    "alter table sent add column moving text not null default ''",
    "alter table sent add column basis text not null default ''",
    # What was last sent of each feed as a whole, by its audience.
    """create table sent_feed (
        audience text primary key,
        note text not null,
        holds text not null,
        first text not null,
        warning text not null,
        changed text not null
    ) strict, without rowid""",
    # To-dos put on a calendar server, as last sent, and the tick-offs read back from it.
    """create table pushed (
        calendar text not null,
        uid text not null,
        href text not null,
        etag text not null,
        engine text not null,
        task text not null,
        clock integer not null,
        due integer,
        title text not null,
        status text not null,
        sequence integer not null check (sequence >= 0),
        changed text not null,
        primary key (calendar, uid)
    ) strict, without rowid""",
    """create table collected (
        uid text not null,
        completed text not null,
        entry integer references log(id),
        primary key (uid, completed)
    ) strict, without rowid""",
)

_TABLES_3 = (
    # The plan that is kept, as its own text; only the last row counts, the others show what moved.
    """create table plan (
        id integer primary key,
        made integer not null,
        text text not null
    ) strict""",
    # Which heading of whose spreadsheet means which column, as a person once said.
    """create table heading (
        profile text not null,
        heading text not null,
        meaning text not null,
        primary key (profile, heading)
    ) strict, without rowid""",
)


def migrations() -> Migrations:
    """Every change of the schema, in order."""
    from sqlite_utils.migrations import Migrations

    changes = Migrations("fleetcare")

    @changes()
    def first_tables(db: Database) -> None:
        for statement in (*_TABLES_1, *GUARDS.values()):
            db.conn.execute(statement)

    @changes()
    def forecasts_and_subscribers(db: Database) -> None:
        for statement in _TABLES_2:
            db.conn.execute(statement)

    @changes()
    def plans_and_headings(db: Database) -> None:
        for statement in _TABLES_3:
            db.conn.execute(statement)

    return changes
