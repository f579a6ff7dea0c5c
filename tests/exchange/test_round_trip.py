"""Out as four tables and in again: the same due list to the last digit, the same events."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import RefusedError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.waters import Water
from fleetcare.log import entries as kinds
from fleetcare.rules.shipped import examples_folder
from fleetcare.store.append import (
    add_boat,
    add_engine,
    add_entries,
    also_called,
    rename_engine,
    withdraw,
)
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.built import rows_of
from tests.exchange.bring import (
    AT,
    NAMES,
    TODAY,
    in_folder,
    looked_at,
    new,
    own_book,
    take,
    write_out,
)
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

ROOT = Path(__file__).parent.parent.parent
FLEETS, PARTS = 40, 4


def same_tables(one: Path, two: Path) -> bool:
    return all(
        (one / f"{name}.csv").read_bytes() == (two / f"{name}.csv").read_bytes() for name in NAMES
    )


@pytest.mark.parametrize("which", ["ondrel", "tavvik", "pim"])
def test_an_example_fleet_comes_back_to_the_last_digit(which: str, tmp_path: Path) -> None:
    with new(tmp_path / "one.db") as one, FleetFile.make(tmp_path / "two.db") as two:
        take(one, examples_folder() / which)
        folder = write_out(one, tmp_path / "tables")
        take(two, folder)
        rows, events = looked_at(one)
        assert (rows, events) == looked_at(two)
        assert len(rows) > 20 and len(events) > 5
        assert same_tables(write_out(two, tmp_path / "again"), folder)


@pytest.mark.parametrize("part", range(PARTS))
def test_any_fleet_comes_back_to_the_last_digit(part: int, tmp_path: Path) -> None:
    for at, (tables, texts, as_of) in enumerate(sample(FLEETS)[part::PARTS]):
        place = tmp_path / str(at)
        book = own_book(place.with_suffix(".rules"), texts)
        with (
            new(place.with_suffix(".one.db")) as one,
            FleetFile.make(place.with_suffix(".two.db")) as two,
        ):
            take(one, in_folder(place.with_suffix(".in"), tables), book=book)
            live_on(one)
            folder = write_out(one, place.with_suffix(".out"))
            take(two, folder, book=book)
            assert looked_at(two, as_of, book) == looked_at(one, as_of, book)
            assert same_tables(write_out(two, place.with_suffix(".again")), folder)
            assert sum(take(two, folder, book=book).taken.values()) == 0


def live_on(file: FleetFile) -> None:
    """What happens to a fleet after it came: entries withdrawn, engines called otherwise."""
    for number in range(1, len(file.log()), 5):
        try:
            with file.writing() as connection:
                withdraw(connection, [number], TODAY, "jetty", AT)
        except RefusedError:
            continue
    with file.writing() as connection:
        rename_engine(connection, file.fleet().engine("Plover"), "Gull")
        rename_engine(connection, file.fleet().engine("Plover"), "Tern")
        also_called(connection, file.fleet().engine("Plover"), "the old one")


def test_the_sample_holds_what_could_get_lost() -> None:
    events = {row["event"] for tables, _, _ in sample(FLEETS) for row in tables["log"]}
    assert {"swap", "meter", "mount", "move", "put-off", "incident", "retire"} <= events


# -- what a table could lose -------------------------------------------------------------------


def out_and_in(one: FleetFile, tmp_path: Path) -> FleetFile:
    two = FleetFile.make(tmp_path / "two.db")
    take(two, write_out(one, tmp_path / "tables"))
    return two


@pytest.fixture
def one(tmp_path: Path) -> Any:
    """Plover on Otter, at 100 h on New Year's Day."""
    with new(tmp_path / "one.db") as file:
        with file.writing() as connection:
            add_boat(connection, Boat("Otter", "hire", Water.SALT, date(2026, 1, 1)))
            add_engine(connection, Engine("Plover", date(2026, 1, 1), "Otter", reading=10000))
        yield file


def add(file: FleetFile, *entries: kinds.Entry) -> list[int]:
    with file.writing() as connection:
        return add_entries(connection, entries, AT)


def test_a_renamed_engine_keeps_its_events_through_the_tables(
    one: FleetFile, tmp_path: Path
) -> None:
    before = {uid for uid, _, _ in looked_at(one)[1]}
    for name in ("Gull", "Tern"):
        with one.writing() as connection:
            rename_engine(connection, one.fleet().engine("Plover"), name)
    with out_and_in(one, tmp_path) as two:
        assert two.fleet().engines["Tern"].first_name == "Plover"
        assert {uid for uid, _, _ in looked_at(two)[1]} == before
        assert looked_at(two) == looked_at(one)
        assert two.fleet() == one.fleet()


def test_an_engine_back_at_its_first_name_keeps_its_events_too(
    one: FleetFile, tmp_path: Path
) -> None:
    before = looked_at(one)
    for name in ("Gull", "Plover"):
        with one.writing() as connection:
            rename_engine(connection, one.fleet().engine("Plover"), name)
    with out_and_in(one, tmp_path) as two:
        assert looked_at(two) == before
        assert two.fleet() == one.fleet()


def test_another_name_given_later_does_not_become_the_first(one: FleetFile, tmp_path: Path) -> None:
    with one.writing() as connection:
        also_called(connection, one.fleet().engine("Plover"), "Ladle")
    with out_and_in(one, tmp_path) as two:
        assert two.fleet().engines["Plover"].first_name == "Plover"
        assert two.fleet().engine("ladle").name == "Plover"
        assert looked_at(two) == looked_at(one)


def test_withdrawn_entries_and_withdrawals_stay_behind(one: FleetFile, tmp_path: Path) -> None:
    numbers = add(
        one,
        kinds.Reading(on=date(2026, 2, 1), engine="Plover", reading=11000),
        kinds.Reading(on=date(2026, 2, 2), engine="Plover", reading=11200),
        kinds.Job(on=date(2026, 2, 3), engine="Plover", task="impeller"),
    )
    with one.writing() as connection:
        withdraw(connection, numbers[1:2], TODAY, "jetty", AT)
    with out_and_in(one, tmp_path) as two:
        assert [(item.number, item.withdrawn) for item in two.log()] == [(1, False), (2, False)]
        assert looked_at(two) == looked_at(one)


@pytest.mark.parametrize("job_first", [True, False])
def test_of_one_day_the_later_finding_still_comes_later(
    one: FleetFile, tmp_path: Path, job_first: bool
) -> None:
    """Whether a finding still stands hangs on what was seen after it, on its own day as well."""
    on = date(2026, 3, 3)
    bad = kinds.Job(
        on=on, engine="Plover", task="gear oil", part="gear oil", condition="milky"
    )  # fmt: skip
    good = kinds.Finding(on=on, engine="Plover", part="gear oil", condition="clear")
    add(one, *((bad, good) if job_first else (good, bad)))
    with out_and_in(one, tmp_path) as two:
        assert looked_at(two) == looked_at(one)
        history, again = one.history(), two.history()
        assert [item.condition for item in history.of("Plover").seen] == [
            item.condition for item in again.of("Plover").seen
        ]


def test_settings_of_every_kind_come_along(one: FleetFile, tmp_path: Path) -> None:
    wanted = {
        "rules": "hire", "hemisphere": "southern", "season": "10-01/04-30", "by": "=jetty",
        "fuel_unit": "US gallons", "calendar_name": 'Boats, "all" of them', "rules_folder": "/own",
    }  # fmt: skip
    with one.writing() as connection:
        for name, value in wanted.items():
            connection.execute("insert into setting values (?, ?)", (name, value))
    with out_and_in(one, tmp_path) as two:
        assert two.fleet() == one.fleet()
        assert two.fleet().settings.calendar_name == 'Boats, "all" of them'


HOSTILE = (
    "=1+1", "+1", "-1", "@SUM(A1)", "=HYPERLINK(A1)", '"quoted"', "a,b", "'", "''x", "🚤 Ørret",
    "x' or 1=1 --", "%s %d {0} \\n", "<b>bold</b>", "#REF!", "NULL", "none", "1e3", "007", "TRUE",
    "2026-01-01", "かわうそ", "اسم", "\u00e1", "–", "\\",
)  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_a_cell_that_a_spreadsheet_or_a_shell_would_run_comes_back_as_it_was(
    one: FleetFile, tmp_path: Path, text: str
) -> None:
    boat = Boat(text, "club", Water.FRESH, date(2026, 1, 1), text, (f"{text} too",))
    engine = Engine(
        name=text, since=date(2026, 1, 1), boat=text, family=text, reading=0, first=text,
        also=(f"{text} II",),
    )  # fmt: skip
    with one.writing() as connection:
        add_boat(connection, boat)
        add_engine(connection, engine)
    on = date(2026, 2, 1)
    add(
        one,
        kinds.Run(on=on, engine=text, hours=100, by=text, note=text),
        kinds.Finding(on=on, engine=text, part=text, condition=text, by=text, note=text),
        kinds.Delivery(on=on, item=text, count=1, cost=100, note=f"{text}\n{text}"),
    )
    with out_and_in(one, tmp_path) as two:
        assert two.fleet() == one.fleet()
        assert live_entries(two.log()) == live_entries(one.log())
        folder = tmp_path / "tables"
        assert sum(take(one, folder).taken.values()) == 0
        assert sum(take(two, folder).taken.values()) == 0


@pytest.mark.parametrize("note", ["two\nlines", "two\r\nlines", "a\rb", "tab\there", 'a "b"\n,'])
def test_a_note_of_several_lines_comes_back_as_it_was(
    one: FleetFile, tmp_path: Path, note: str
) -> None:
    add(one, kinds.Run(on=date(2026, 2, 1), engine="Plover", hours=100, note=note))
    with out_and_in(one, tmp_path) as two:
        assert live_entries(two.log()) == live_entries(one.log())


def test_figures_of_any_size_come_back_to_the_hundredth(one: FleetFile, tmp_path: Path) -> None:
    on = date(2026, 2, 1)
    fuels = [1, 10, 99, 100, 101, 1999, 100000]
    add(one, *(kinds.Delivery(on=on, item="oil", count=n, cost=n) for n in fuels))
    add(one, *(kinds.Run(on=on, engine="Plover", hours=n) for n in (1, 5, 10, 99, 100, 250)))
    add(one, *(kinds.Reading(on=on, engine="Plover", reading=10000 + n) for n in (0, 1, 10, 100)))
    with out_and_in(one, tmp_path) as two:
        assert live_entries(two.log()) == live_entries(one.log())


# -- through the command line ------------------------------------------------------------------


def fleetcare(fleet: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "fleetcare", "--fleet", str(fleet), *words],
        capture_output=True, text=True, cwd=ROOT, check=False,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_commands_themselves_bring_a_fleet_with_own_rules_there_and_back(
    tmp_path: Path,
) -> None:
    tables, texts, as_of = next(
        (tables, texts, as_of)
        for tables, texts, as_of in sample(FLEETS)
        if len(texts) > 1 and rows_of(tables, texts, USES, as_of)
    )
    own_book(tmp_path / "intervals", texts)
    one, two = tmp_path / "one.db", tmp_path / "two.db"
    for fleet in (one, two):
        fleetcare(fleet, "new")
    fleetcare(one, "import", str(in_folder(tmp_path / "in", tables)))
    fleetcare(one, "export", str(tmp_path / "out"))
    fleetcare(two, "import", str(tmp_path / "out"))
    lists = [
        json.loads(fleetcare(fleet, "due", "--as-of", as_of.isoformat(), "--format", "json"))
        for fleet in (one, two)
    ]
    assert lists[0] == lists[1]
    assert lists[0]["rows"]
