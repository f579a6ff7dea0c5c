"""What the file tells is what the log's own history tells, entry for entry.

The columns come out of the file by statements made for speed; `log.history.history`, which takes
entries one by one, is what they are held against, on random lawful fleets.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.due.rows import due_list
from fleetcare.errors import RefusedError
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import as_pairs
from fleetcare.log.entries import Entry
from fleetcare.log.history import EngineLog, History, JobMark, history
from fleetcare.show.values import due_rows
from fleetcare.store.append import (
    add_boat,
    add_engine,
    add_entries,
    concerned,
    set_fleet_id,
    set_value,
    withdraw,
)
from fleetcare.store.fetch import fetch_history, live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.built import book_of, fleet_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES, fleets
from tests.store.small_file import AT, may

Drawn = tuple[dict[str, list[dict[str, str]]], dict[str, str], date]
ahead = settings(max_examples=30)


@contextmanager
def kept(fleet: Fleet, entries: Sequence[Entry]) -> Iterator[FleetFile]:
    """A real file with all of it, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder, FleetFile.make(Path(folder, "f.db")) as file:
        with file.writing() as connection:
            set_fleet_id(connection, fleet.id)
            for name, value in as_pairs(fleet.settings):
                set_value(connection, name, value)
            for boat in fleet.boats.values():
                add_boat(connection, boat)
            for engine in fleet.engines.values():
                add_engine(connection, engine)
            add_entries(connection, entries, AT)
        yield file


def withdraw_any(file: FleetFile, picks: Sequence[int]) -> dict[int, int]:
    """Withdrawals of any entries, lawful or not, withdrawals too: what each one names."""
    named: dict[int, int] = {}
    with file.writing() as connection:
        number = connection.execute("select max(id) from log").fetchone()[0] or 0
        for pick in picks if number else ():
            target = pick % number + 1
            number += 1
            named[number] = target
            connection.execute(
                "insert into log (id, act, at, day, event, withdraws) "
                "values (?, ?, ?, 1, 'withdraw', ?)",
                (number, number, AT, target),
            )
    return named


def withdraw_lawfully(file: FleetFile, picks: Sequence[int]) -> None:
    """Withdrawals of those entries whose withdrawal is not refused."""
    for pick in picks:
        number = len(file.log())
        try:
            with file.writing() as connection:
                withdraw(connection, [pick % number + 1], date(2030, 1, 1), "", AT)
        except RefusedError:
            continue


def counts(number: int, named: dict[int, int]) -> bool:
    """An entry counts unless an entry that counts withdraws it."""
    return not any(counts(other, named) for other, target in named.items() if target == number)


def by_value(log: EngineLog) -> dict[str, Any]:
    """The columns; of one day in the order of their values, since there the order says nothing."""
    return {
        "figures": sorted(zip(log.figure_days, log.figures, strict=True)),
        "runs": sorted(zip(log.run_days, log.run_hours, log.run_waters, strict=True)),
        "fuel": log.fuel_runs,
        "meters": log.meters,
        "jobs": {task: sorted(marks, key=_mark) for task, marks in log.jobs.items()},
        "seen": log.seen,
        "incidents": log.incidents,
        "places": log.places,
        "seasons": log.seasons,
        "put-offs": log.put_offs,
        "retired": log.retired,
    }


def _mark(mark: JobMark) -> tuple[int, int, int]:
    return mark.day, -1 if mark.reading is None else mark.reading, mark.number


def are_in_order(log: EngineLog) -> bool:
    return log.figure_days == sorted(log.figure_days) and log.run_days == sorted(log.run_days)


def same(ours: History, pure: History, engines: Sequence[str]) -> None:
    for name in engines:
        assert by_value(ours.of(name)) == by_value(pure.of(name)), name
        assert are_in_order(ours.of(name))
    assert ours.swaps == pure.swaps
    assert ours.moves == pure.moves
    assert ours.boats_retired == pure.boats_retired


days_back = st.integers(0, 500)
picks = st.lists(st.integers(0, 10_000), max_size=12)


@ahead
@given(fleets(), days_back)
def test_the_history_out_of_the_file_is_that_of_its_entries(drawn: Drawn, back: int) -> None:
    tables, _, as_of = drawn
    fleet, entries = fleet_of(tables)
    with kept(fleet, entries) as file:
        assert file.fleet() == fleet
        assert live_entries(file.log()) == entries
        same(file.history(), history(entries, date.max), list(fleet.engines))
        for day in (as_of, as_of - timedelta(days=back)):
            same(file.history(day), history(entries, day), list(fleet.engines))


@ahead
@given(fleets(), picks)
def test_withdrawn_entries_are_in_no_history_whatever_the_chain(
    drawn: Drawn, chosen: list[int]
) -> None:
    tables, _, as_of = drawn
    fleet, entries = fleet_of(tables)
    with kept(fleet, entries) as file:
        named = withdraw_any(file, chosen)
        live = [entry for entry in entries if counts(entry.number, named)]
        assert live_entries(file.log()) == live
        assert {item.number for item in file.log() if item.withdrawn} == {
            number for number in range(1, len(entries) + len(named) + 1)
            if not counts(number, named)
        }  # fmt: skip
        same(file.history(as_of), history(live, as_of), list(fleet.engines))


@ahead
@given(fleets(), picks, st.sets(st.sampled_from(["Plover", "Teal", "Snipe"])))
def test_the_history_of_some_engines_is_theirs_alone(
    drawn: Drawn, chosen: list[int], engines: set[str]
) -> None:
    tables, _, as_of = drawn
    fleet, entries = fleet_of(tables)
    with kept(fleet, entries) as file:
        named = withdraw_any(file, chosen)
        told = fetch_history(file.connection, as_of, engines=engines)
        theirs = [
            entry
            for entry in entries
            if counts(entry.number, named)
            and (not concerned([entry]) or concerned([entry]) & engines)
        ]
        wanted = [name for name in fleet.engines if name in engines]
        same(told, history(theirs, as_of), wanted)
        assert set(told.engines) == set(wanted)


@ahead
@given(fleets(), picks, days_back)
def test_the_last_jobs_alone_give_the_same_due_list(
    drawn: Drawn, chosen: list[int], back: int
) -> None:
    tables, texts, as_of = drawn
    fleet, entries = fleet_of(tables)
    book = book_of(texts, USES)
    with kept(fleet, entries) as file:
        for step in (0, 1):
            if step and entries:
                withdraw_lawfully(file, chosen)
            live = live_entries(file.log())
            for day in (as_of, as_of - timedelta(days=back)):
                pure = due_list(fleet, history(live, day), book, day)
                short = due_list(file.fleet(), file.history(day, last_jobs=True), book, day)
                assert due_rows(short, ()) == due_rows(pure, ())


def test_the_last_jobs_leave_the_others_out() -> None:
    tables: dict[str, list[dict[str, str]]] = {
        "settings": [],
        "boats": [{"boat": "Otter", "use": "hire", "water": "salt", "since": "2025-05-01"}],
        "engines": [
            {"engine": name, "boat": "Otter", "since": "2025-05-01", "reading": "0"}
            for name in ("Plover", "Teal", "Snipe")
        ],
        "log": [
            *(
                {"on": f"2025-05-{day:02}", "event": "job", "engine": name, "task": "plugs"}
                for day in (3, 5, 9)
                for name in ("Plover", "Teal", "Snipe")
            ),
            {"on": "2025-05-09", "event": "job", "engine": "Plover", "task": "plugs",
             "reading": "4"},
            {"on": "2025-05-06", "event": "meter", "engine": "Teal", "old_reading": "3",
             "reading": "0"},
        ],
    }  # fmt: skip
    fleet, entries = fleet_of(tables)
    with kept(fleet, entries) as file:
        short = file.history(last_jobs=True)
        days = {
            name: [mark.day for mark in log.jobs["plugs"]] for name, log in short.engines.items()
        }
        ninth = date(2025, 5, 9).toordinal()
        assert days["Plover"] == days["Snipe"] == [ninth]
        assert len(days["Teal"]) == 3  # its meter was replaced
        assert short.of("Plover").jobs["plugs"] == [JobMark(ninth, 400, 10)]
        early = file.history(date(2025, 5, 8), last_jobs=True).of("Plover").jobs["plugs"]
        assert [mark.day for mark in early] == [date(2025, 5, 5).toordinal()]


def test_a_swapped_component_brings_the_job_it_had_before_and_not_only_the_last() -> None:
    text = """
        boat Otter, hire, lies in salt from 2025-05-01
        engine Plover on Otter since 2025-05-01, reading 0
        engine Teal on Otter since 2025-05-01, reading 0
        Plover impeller done on 2025-05-03
        Plover swaps gearcase with Teal on 2025-05-05
        Plover impeller done on 2025-05-09
    """
    fleet, entries = fleet_of(tables(text))
    task = {"name": "impeller", "component": "gearcase", "limits": {"months": 6}, "source": "none"}
    book, as_of = book_of({"small-petrol": toml("small-petrol", "", [task])}, USES), may(20)
    with kept(fleet, entries) as file:
        rows = due_list(fleet, file.history(as_of, last_jobs=True), book, as_of)
    assert {row.engine: row.days_since for row in rows} == {"Plover": 11, "Teal": 17}


@ahead
@given(fleets(), picks)
def test_the_log_of_an_engine_is_all_that_names_it_and_what_withdrew_that(
    drawn: Drawn, chosen: list[int]
) -> None:
    tables, _, _ = drawn
    fleet, entries = fleet_of(tables)
    with kept(fleet, entries) as file:
        withdraw_any(file, chosen)
        for name in fleet.engines:
            about: set[int] = set()
            for item in file.log():
                if item.withdraws in about or (item.entry and name in concerned([item.entry])):
                    about.add(item.number)
            assert [item.number for item in file.log(name)] == sorted(about)
