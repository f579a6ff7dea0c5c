"""Writing to the fleet file: settings, boats, engines, and entries added to the log.

Call these inside `writing(...)`: what they refuse is then taken back whole.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from datetime import date
from fractions import Fraction
from typing import Any

from fleetcare.errors import FaultsError, RefusedError, UnusableFileError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.names import folded, wrong_with, wrong_with_text
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults, hanging_on
from fleetcare.log.history import Exchange, History
from fleetcare.log.rows import to_row
from fleetcare.store.fetch import (
    FLEET_ID,
    Kept,
    boat_ids,
    engine_ids,
    fetch_entries,
    fetch_fleet,
    fetch_history,
)
from fleetcare.store.integrity import damages
from fleetcare.store.swaps import fetch_swaps, hanging_swaps


def set_value(connection: sqlite3.Connection, name: str, value: str) -> None:
    """Set one setting."""
    connection.execute(
        "insert into setting (name, value) values (?, ?) "
        "on conflict (name) do update set value = excluded.value",
        (name, value),
    )


def set_fleet_id(connection: sqlite3.Connection, fleet_id: str) -> None:
    """Give the fleet its id; it never changes once anything else is in the file."""
    set_value(connection, FLEET_ID, fleet_id)


class Taken:
    """The names in use, read once so that many boats and engines can be added in one go."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        fleet = fetch_fleet(connection)
        self.boats = {folded(name) for item in fleet.boats.values() for name in _all_names(item)}
        self.engines = {
            folded(name) for item in fleet.engines.values() for name in _all_names(item)
        }

    def take(self, kind: str, name: str, also: Sequence[str]) -> None:
        """Take the names of a boat or engine; refused when one is no name or in use."""
        taken = self.engines if kind == "engine" else self.boats
        for text in (name, *also):
            wrong = wrong_with(text)
            if wrong:
                raise RefusedError(f'{kind} name "{text!r:.60}" {wrong}; choose another')
            if folded(text) in taken:
                raise RefusedError(f'{kind} "{text}" exists already; choose another name')
        names = {folded(text) for text in (name, *also)}
        if len(names) <= len(also):
            raise RefusedError(f'{kind} "{name}" is given the same name twice')
        taken |= names


def _all_names(item: Boat | Engine) -> tuple[str, ...]:
    first = (item.first_name,) if isinstance(item, Engine) else ()
    return (item.name, *item.also, *first)


def add_boat(connection: sqlite3.Connection, boat: Boat, taken: Taken | None = None) -> None:
    """Add a boat; `taken` spares reading the names in use again."""
    (taken or Taken(connection)).take("boat", boat.name, boat.also)
    refuse_controls(place=boat.place)
    connection.execute(
        "insert into boat (name, use, water, since, place, also) values (?, ?, ?, ?, ?, ?)",
        (boat.name, boat.use, int(boat.water), boat.since.toordinal(), boat.place,
         ";".join(boat.also)),
    )  # fmt: skip


def add_engine(connection: sqlite3.Connection, engine: Engine, taken: Taken | None = None) -> None:
    """Add an engine; `taken` spares reading the names in use again."""
    others = dict.fromkeys((*engine.also, engine.first_name))
    also = tuple(name for name in others if name != engine.name)
    (taken or Taken(connection)).take("engine", engine.name, also)
    without = {f"without {task:.40}": task for task in engine.without}
    refuse_controls(family=engine.family, rules=engine.rules, **without)
    connection.execute(
        "insert into engine (name, first_name, boat, family, hp, stroke, year, meter, digits, "
        "steering, litres_hour, rules, without, since, reading, new, also) "
        "values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            engine.name, engine.first_name,
            None if engine.boat is None else _boat_key(connection, engine.boat),
            engine.family, _text(engine.hp), engine.stroke, engine.year, int(engine.meter),
            engine.digits, engine.steering, _text(engine.litres_hour), engine.rules,
            ";".join(engine.without), engine.since.toordinal(), engine.reading,
            int(engine.new), ";".join(engine.also),
        ),
    )  # fmt: skip


def refuse_controls(note: str = "", **texts: str) -> None:
    """Refuse texts with characters that a terminal would obey, or no file can hold."""
    for name, text in (("note", note), *texts.items()):
        wrong = wrong_with_text(text, is_note=name == "note")
        if wrong:
            raise RefusedError(f"{name} {wrong}")


def _text(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


def _boat_key(connection: sqlite3.Connection, boat: str) -> int:
    key: int = connection.execute("select id from boat where name = ?", (boat,)).fetchone()[0]
    return key


def rename_engine(connection: sqlite3.Connection, engine: Engine, name: str) -> Engine:
    """Give an engine another name; the old ones still find it, and its events stay its own."""
    names = dict.fromkeys((engine.first_name, *engine.also, engine.name))
    if name not in names or name == engine.name:  # back to a name of its own it may go
        Taken(connection).take("engine", name, ())
    also = tuple(other for other in names if other != name)
    renamed = replace(engine, name=name, first=engine.first_name, also=also)
    connection.execute(
        "update engine set name = ?, also = ? where name = ?",
        (name, ";".join(also), engine.name),
    )
    return renamed


def also_called(connection: sqlite3.Connection, engine: Engine, other: str) -> None:
    """Let an engine be found by another name too."""
    Taken(connection).take("engine", other, ())
    connection.execute(
        "update engine set also = ? where name = ?", (";".join((*engine.also, other)), engine.name)
    )


def add_entries(
    connection: sqlite3.Connection, entries: Sequence[Entry], at: str, checked: bool = True
) -> list[int]:
    """Add entries of one command to the log and give their numbers.

    Every engine they concern is read back and checked whole; a fault raises FaultsError.
    """
    engines, boats = engine_ids(connection), boat_ids(connection)
    number = _last_number(connection, at)
    act = number + 1
    rows = []
    for entry in entries:
        number += 1
        row = to_row(entry)
        refuse_controls(**{name: text for name, text in row.items() if isinstance(text, str)})
        rows.append((number, act, at, *_cells(row, engines, boats)))
    connection.executemany(_INSERT, rows)
    if checked:
        check_engines(connection, concerned(entries))
    return list(range(act, number + 1))


def _last_number(connection: sqlite3.Connection, at: str) -> int:
    """The number of the last entry. Before the first one of a day the file is looked over.

    So damage is told within a day, while there is a copy from before it, and not written into.
    """
    last = connection.execute("select id, at from log order by id desc limit 1").fetchone()
    if last is None:
        return 0
    if last[1][:10] != at[:10]:
        found = damages(connection)
        if found:
            raise UnusableFileError(
                f"the fleet file is damaged, and nothing more is written into it: {found[0]}"
            )
    number: int = last[0]
    return number


_INSERT = (
    "insert into log (id, act, at, day, event, engine, boat, task, part, reading, hours, fuel, "
    "water, condition, count, component, other, old_reading, until, item, cost, by, note) "
    "values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


def _cells(row: dict[str, Any], engines: dict[str, int], boats: dict[str, int]) -> tuple[Any, ...]:
    until: date | None = row.get("until")
    water = row.get("water")
    for kind, known, column in (
        ("engine", engines, "engine"), ("engine", engines, "other"), ("boat", boats, "boat")
    ):  # fmt: skip
        if row.get(column, "") and row[column] not in known:
            raise RefusedError(f'{kind} "{row[column]}" is not in the fleet (any more)')
    return (
        row["on"].toordinal(), row["event"], engines.get(row.get("engine", "")),
        boats.get(row.get("boat", "")), row.get("task"), row.get("part"), row.get("reading"),
        row.get("hours"), row.get("fuel"), None if water is None else int(water),
        row.get("condition"), row.get("count"), row.get("component"),
        engines.get(row.get("other", "")), row.get("old_reading"),
        None if until is None else until.toordinal(), row.get("item"), row.get("cost"),
        row["by"], row["note"],
    )  # fmt: skip


def concerned(entries: Iterable[Entry]) -> set[str]:
    """The engines that entries touch."""
    names = set()
    for entry in entries:
        names |= {getattr(entry, "engine", ""), getattr(entry, "other", "")}
    return names - {""}


def check_engines(connection: sqlite3.Connection, engines: Iterable[str]) -> None:
    """Raise every fault in the logs of these engines and in the boats' moves."""
    names = set(engines)
    history = fetch_history(connection, engines=names)
    found = faults(fetch_fleet(connection), history, sorted(names))
    if found:
        raise FaultsError(found)


def withdraw(
    connection: sqlite3.Connection, numbers: Sequence[int], on: date, by: str, at: str
) -> list[int]:
    """Withdraw entries by new ones that name them; what would leave the log broken is refused."""
    kept = fetch_entries(connection, numbers)
    swaps, hanging = fetch_swaps(connection), hanging_swaps(connection)
    number = _last_number(connection, at)
    act = number + 1
    touched: set[str] = set()
    if len(set(numbers)) < len(numbers):
        raise RefusedError("an entry is named twice")
    for target in numbers:
        if target not in kept:
            raise RefusedError(f"there is no entry {target}; fleetcare log shows them")
        if kept[target].withdrawn:
            raise RefusedError(f"entry {target} is withdrawn already")
        touched |= _touched_by(connection, kept[target])
        refuse_controls(by=by)
        number += 1
        connection.execute(
            "insert into log (id, act, at, day, event, by, withdraws) "
            "values (?, ?, ?, ?, 'withdraw', ?, ?)",
            (number, act, at, on.toordinal(), by, target),
        )
    _refuse_hanging(swaps, fetch_swaps(connection))
    for later, earlier in hanging_swaps(connection):
        if (later, earlier) not in hanging:
            raise RefusedError(
                f"entry {later}, a swap, stands on entry {earlier}, a swap that counted otherwise "
                f"when it was written. Enter it anew instead"
            )
    try:
        check_engines(connection, touched)
    except FaultsError as error:
        raise RefusedError(
            f"taking back entry {', '.join(map(str, numbers))} would leave the log wrong: "
            f"{error.faults[0].where} {error.faults[0].what}. Withdraw the later entry first"
        ) from error
    return list(range(act, number + 1))


def meant_by(connection: sqlite3.Connection, item: Kept) -> Kept:
    """The entry that a withdrawal names, however long the chain; another entry is meant itself."""
    while item.withdraws is not None:
        item = fetch_entries(connection, [item.withdraws])[item.withdraws]
    return item


def _touched_by(connection: sqlite3.Connection, item: Kept) -> set[str]:
    """The engines an entry, or what a withdrawal names, touches."""
    entry = meant_by(connection, item).entry
    return concerned([entry]) if entry is not None else set()


def _refuse_hanging(before: list[Exchange], after: list[Exchange]) -> None:
    """Refuse to leave a later swap standing on one that no longer counts."""
    for swap in before:
        if swap not in after:
            later = hanging_on(History(swaps=after), swap)
            if later is not None:
                raise RefusedError(
                    f"entry {later.number}, a later swap of the {later.component}, stands on "
                    f"entry {swap.number}. Withdraw that one first: fleetcare undo {later.number}"
                )


def exists_already(kept: Iterable[Kept], entry: Entry) -> Kept | None:
    """A counting entry that says the same, whatever its number, role and note."""
    plain = [field.name for field in fields(entry) if field.name not in ("number", "by", "note")]
    for item in kept:
        if item.entry is None or item.withdrawn or type(item.entry) is not type(entry):
            continue
        if all(getattr(item.entry, name) == getattr(entry, name) for name in plain):
            return item
    return None
