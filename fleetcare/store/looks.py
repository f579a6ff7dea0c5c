"""What stands in the rows of the fleet file and cannot be: each with the entry or name it is of.

Nothing here trusts what it reads: days may be none, names twice, entries of nobody.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.names import folded, wrong_with
from fleetcare.fleet.settings import Settings, changed
from fleetcare.log.rows import COLUMNS, from_row
from fleetcare.store.fetch import FLEET_ID, names, withdrawn
from fleetcare.store.kept_looks import kept_faults
from fleetcare.store.seal import SEAL
from fleetcare.store.swaps import hanging_swaps
from fleetcare.store.telling import RESTORE

FIRST, LAST = date.min.toordinal(), date.max.toordinal()
_LOG = (
    "select id, act, at, day, event, engine, boat, task, part, reading, hours, fuel, water, "
    "condition, count, component, other, old_reading, until, item, cost, by, note, withdraws "
    "from log order by id"
)
_COLUMNS = tuple(_LOG.removeprefix("select ").split(" from ")[0].split(", "))
_CLOCK = "Is the clock right, or was it then?"


def row_faults(connection: sqlite3.Connection, today: date | None = None) -> Iterator[Fault]:
    """Everything in the rows that cannot be; with `today` also what lies after it."""
    yield from _dangling(connection)
    yield from _settings(connection)
    yield from _names(connection)
    yield from _fleet(connection)
    yield from _entries(connection, today)
    for later, earlier in hanging_swaps(connection):
        yield Fault(
            f"entry {later}", f"a swap, stands on entry {earlier}, a swap that counts otherwise "
            f"now than when it was written", f"Take it back: fleetcare undo {later}",
        )  # fmt: skip
    yield from kept_faults(connection)


def _dangling(connection: sqlite3.Connection) -> Iterator[Fault]:
    for table, row, onto, _ in connection.execute("pragma foreign_key_check").fetchall():
        where = f"entry {row}" if table == "log" else table
        what = {"log": "an entry", "engine": "an engine", "boat": "a boat"}.get(onto, f"a {onto}")
        if table != "fit":  # told with what else is wrong with it
            yield Fault(where, f"names {what} that is not in the file", RESTORE)


def _settings(connection: sqlite3.Connection) -> Iterator[Fault]:
    rows = connection.execute("select name, value from setting order by name").fetchall()
    if not any(name == FLEET_ID and value for name, value in rows):
        yield Fault("file", "has no fleet id, which calendars know its events by", RESTORE)
    for name, value in rows:
        if name in (FLEET_ID, SEAL):
            continue
        after = changed(Settings(), name, value)
        if isinstance(after, Fault):
            yield Fault(after.where, after.what, "fleetcare check --mend takes it out")


def _names(connection: sqlite3.Connection) -> Iterator[Fault]:
    for kind, columns in (("boat", "name, '', also"), ("engine", "name, first_name, also")):
        seen: dict[str, str] = {}
        for name, first, also in connection.execute(f"select {columns} from {kind} order by id"):  # noqa: S608 - fixed texts
            for text in dict.fromkeys((name, *names(also), *([first] if first else []))):
                wrong = wrong_with(text)
                if wrong:
                    yield Fault(f'{kind} "{text!r:.60}"', f"has a name that {wrong}", RESTORE)
                if seen.setdefault(folded(text), name) != name:
                    yield Fault(
                        f'{kind} "{name}"', f'answers to "{text}", and so does '
                        f'"{seen[folded(text)]}"', RESTORE,
                    )  # fmt: skip


def _fleet(connection: sqlite3.Connection) -> Iterator[Fault]:
    for name, since in connection.execute("select name, since from boat order by id"):
        if not FIRST <= since <= LAST:
            yield Fault(f'boat "{name}"', f"is known since a day that is none ({since})", RESTORE)
    for name, since, meter, reading, new, hp, burn in connection.execute(
        "select name, since, meter, reading, new, hp, litres_hour from engine order by id"
    ):
        where = f'engine "{name}"'
        if not FIRST <= since <= LAST:
            yield Fault(where, f"is known since a day that is none ({since})", RESTORE)
        if meter and reading is None and not new:
            yield Fault(where, "has a meter and no reading of its first day", RESTORE)
        for word, text in (("horsepower", hp), ("litres an hour", burn)):
            if text is not None and not _is_amount(text):
                yield Fault(where, f'has "{text}" for its {word}', RESTORE)


def _is_amount(text: str) -> bool:
    try:
        return Fraction(text) > 0
    except (ValueError, ZeroDivisionError):
        return False


def _entries(connection: sqlite3.Connection, today: date | None) -> Iterator[Fault]:
    engines = dict(connection.execute("select id, name from engine").fetchall())
    boats = dict(connection.execute("select id, name from boat").fetchall())
    events: dict[int, str] = {}
    acts: set[int] = set()
    dead = withdrawn(connection)
    number = 0
    for cells in connection.execute(_LOG).fetchall():
        row = dict(zip(_COLUMNS, cells, strict=True))
        where, last, number = f"entry {cells[0]}", number, cells[0]
        if number != last + 1:
            yield Fault("log", f"has no entry {last + 1}, but has entry {number}", RESTORE)
        if row["act"] != number and row["act"] not in acts:
            yield Fault(where, f"belongs to a command ({row['act']}) that is not there", RESTORE)
        acts.add(row["act"])
        events[number] = row["event"]
        yield from _when(where, row, None if number in dead else today)
        if row["withdraws"] is None and row["event"] != "withdraw":
            yield from _entry(where, row, engines, boats)
    yield from _withdrawals(connection, events)


def _when(where: str, row: dict[str, Any], today: date | None) -> Iterator[Fault]:
    """The day an entry is of, and the moment it was written."""
    for word, day in (("is of", row["day"]), ("puts off until", row["until"])):
        if day is not None and not FIRST <= day <= LAST:
            yield Fault(where, f"{word} a day that is none ({day})", RESTORE)
    try:
        written = datetime.fromisoformat(row["at"]).date()
    except ValueError:
        yield Fault(where, f'was written at no time ("{row["at"]:.40}")', RESTORE)
        return
    if today is None:
        return
    if LAST >= row["day"] > today.toordinal():
        yield Fault(
            where, f"is of {date.fromordinal(row['day'])}, which lies after today ({today})",
            f"{_CLOCK} fleetcare undo {row['id']} takes it back",
        )  # fmt: skip
    elif written > today + timedelta(days=1):
        yield Fault(where, f"was written on {written}, after today ({today})", _CLOCK)


def clock_doubts(connection: sqlite3.Connection) -> Iterator[Fault]:
    """Entries written a day or more before one that was written earlier: the clock was set back."""
    latest, at = 0, ""
    for number, written in connection.execute("select id, at from log order by id"):
        if written[:10] < at[:10] and number == latest + 1:
            yield Fault(
                f"entry {number}", f"was written on {written[:10]} by the clock, after entry "
                f"{latest} of {at[:10]}", "Was the clock set back? Look at the days of both",
            )  # fmt: skip
        latest, at = number, written


def _entry(
    where: str, row: dict[str, Any], engines: dict[int, str], boats: dict[int, str]
) -> Iterator[Fault]:
    """What the entry says, once its names and days are what they should be."""
    days = [row["day"], *([] if row["until"] is None else [row["until"]])]
    if not all(FIRST <= day <= LAST for day in days):
        return  # told already
    made = from_row(
        {
            **{name: row[name] for name in COLUMNS if name in row},
            "on": date.fromordinal(row["day"]), "engine": engines.get(row["engine"]),
            "boat": boats.get(row["boat"]), "other": engines.get(row["other"]),
            "until": None if row["until"] is None else date.fromordinal(row["until"]),
        },
        number=row["id"],
    )  # fmt: skip
    if isinstance(made, Fault):
        yield Fault(where, f"makes no sense: {made.where} {made.what}", RESTORE)


def _withdrawals(connection: sqlite3.Connection, events: dict[int, str]) -> Iterator[Fault]:
    rows = connection.execute(
        "select id, event, withdraws from log where withdraws is not null or event = 'withdraw' "
        "order by id"
    ).fetchall()
    for number, event, target in rows:
        where = f"entry {number}"
        if event != "withdraw":
            yield Fault(where, f'withdraws entry {target}, but is a "{event}"', RESTORE)
        elif target is None:
            yield Fault(where, "is a withdrawal of nothing", RESTORE)
        elif target >= number:
            yield Fault(where, f"withdraws entry {target}, which came later", RESTORE)
        elif target not in events:
            yield Fault(where, f"withdraws entry {target}, which is not there", RESTORE)
