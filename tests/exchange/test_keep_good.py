"""With the word for it the good rows are taken, exactly those, and every row is accounted for."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import FaultsError
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.entries import Entry
from fleetcare.log.faults import faults
from fleetcare.log.history import history
from fleetcare.log.order import in_order
from fleetcare.rules.shipped import examples_folder
from fleetcare.store.fetch import live_entries
from fleetcare.store.fleet_file import FleetFile
from tests.built import fleet_of
from tests.exchange.bring import TODAY, digest, in_folder, new, own_book, take
from tests.oracle.sample import sample

ROOT = Path(__file__).parent.parent.parent
Row = dict[str, str]
Tables = dict[str, list[Row]]
BOATS = [{"boat": "Otter", "use": "hire", "water": "salt", "since": "2026-01-01"}]
ENGINES = [
    {"engine": name, "boat": "Otter", "since": "2026-01-01", "reading": "100"}
    for name in ("Plover", "Teal")
]


@pytest.fixture
def fleet(tmp_path: Path) -> Any:
    """Plover and Teal on Otter."""
    with new(tmp_path / "fleet.db") as file:
        take(file, in_folder(tmp_path / "base", {"boats": BOATS, "engines": ENGINES}))
        yield file


def row(day: int, event: str, engine: str = "Plover", **cells: str) -> Row:
    return {"on": f"2026-02-{day:02}", "event": event, "engine": engine, **cells}


def left_out(file: FleetFile, tmp_path: Path, *rows: Row) -> list[int]:
    """The lines of the rows left out; without the word the same ones are named, none taken."""
    folder = in_folder(tmp_path / "in", {"log": rows})
    before = digest(file.path)
    with pytest.raises(FaultsError) as caught:
        take(file, folder)
    assert digest(file.path) == before
    report = take(file, folder, keep_good=True)
    assert report.left_out == list(caught.value.faults)
    assert len(file.log()) == len(rows) - len(report.left_out)
    return [int(fault.where.split(":")[1]) for fault in report.left_out]


def test_a_falling_meter_is_named_by_its_row_and_only_it_stays_out(
    fleet: FleetFile, tmp_path: Path
) -> None:
    out = left_out(
        fleet, tmp_path,
        row(1, "reading", reading="110"), row(2, "reading", reading="90"),
        row(3, "reading", reading="120"), row(3, "reading", "Teal", reading="101"),
    )  # fmt: skip
    assert out == [3]


def test_what_the_report_says_of_a_falling_meter(fleet: FleetFile, tmp_path: Path) -> None:
    rows = [row(1, "reading", reading="110"), row(2, "job", task="impeller", reading="90")]
    with pytest.raises(FaultsError) as caught:
        take(fleet, in_folder(tmp_path / "in", {"log": rows}))
    told = str(caught.value)
    assert told.startswith('log.csv:3: engine "Plover": reads 90.0 on 2026-02-02 but read 110.0')
    assert all(word in told for word in ("A slip now", "A slip before", "Another meter"))


def test_a_reading_below_one_that_is_in_the_file_already_is_named_too(
    fleet: FleetFile, tmp_path: Path
) -> None:
    take(fleet, in_folder(tmp_path / "in", {"log": [row(5, "reading", reading="150")]}))
    with pytest.raises(FaultsError, match=r"log\.csv:2: .*reads 150\.0 on 2026-02-05"):
        take(fleet, in_folder(tmp_path / "in", {"log": [row(4, "reading", reading="160")]}))


def test_rows_of_one_day_are_good_in_whatever_order_the_sheet_has_them(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """The new meter's figure above the row that says there is a new meter."""
    out = left_out(
        fleet, tmp_path,
        row(4, "reading", reading="3"), row(4, "meter", old_reading="105", reading="0"),
        row(5, "reading", reading="4"), row(6, "reading", reading="2"),
    )  # fmt: skip
    assert out == [5]


def test_a_mount_above_its_store_is_good_too(fleet: FleetFile, tmp_path: Path) -> None:
    out = left_out(
        fleet, tmp_path,
        row(4, "mount", boat="Otter"), row(4, "store"), row(5, "mount", boat="Otter"),
    )  # fmt: skip
    assert out == [4]


def test_rows_in_any_order_of_days_are_taken(fleet: FleetFile, tmp_path: Path) -> None:
    rows = [row(day, "reading", reading=str(100 + day)) for day in range(1, 20)]
    random.Random(7).shuffle(rows)
    report = take(fleet, in_folder(tmp_path / "in", {"log": rows}))
    assert report.taken["log"] == 19


@pytest.mark.parametrize(
    ("rows", "out"),
    [
        ([row(2, "run", hours="13"), row(2, "run", hours="12")], [3]),
        ([row(1, "store"), row(2, "store")], [3]),
        ([row(2, "mount", boat="Otter"), row(3, "run", hours="1")], [2]),
        ([row(1, "swap", other="Plover", component="gearcase"), row(2, "lay-up")], [2]),
        ([row(1, "swap", other="Teal", component="gearcase")] * 2, [3]),
        ([row(1, "retire"), row(2, "run", hours="1"), row(2, "run", "Teal", hours="1")], [3]),
        ([row(2, "meter", reading="5"), row(3, "reading", reading="101")], [2]),
        # 800 h in the 31 days since New Year: more than 24 h a day
        ([row(1, "reading", reading="900"), row(2, "reading", reading="101")], [2]),
    ],
)
def test_what_the_log_does_not_allow_is_left_out_and_the_rest_taken(
    fleet: FleetFile, tmp_path: Path, rows: list[Row], out: list[int]
) -> None:
    assert left_out(fleet, tmp_path, *rows) == out


def test_a_bad_boat_takes_its_engine_and_that_its_log_along(
    fleet: FleetFile, tmp_path: Path
) -> None:
    tables = {
        "boats": [{**BOATS[0], "boat": "Heron", "water": "sea"}],
        "engines": [{**ENGINES[0], "engine": "Snipe", "boat": "Heron"}],
        "log": [row(1, "run", "Snipe", hours="1"), row(1, "run", "Plover", hours="1")],
    }
    report = take(fleet, in_folder(tmp_path / "in", tables), keep_good=True)
    assert [fault.where for fault in report.left_out] == [
        "boats.csv:2: water", "engines.csv:2: boat", "log.csv:2: engine",
    ]  # fmt: skip
    assert dict(+report.taken) == {"log": 1}


# -- random slips in random fleets -------------------------------------------------------------

JUNK = ("", "x", "-1", "999999", "0", "2026-13-01", "=1", "Plover", "1,234", "2019-01-01", "fresh")


def with_slips(tables: Tables, chance: random.Random) -> Tables:
    """The tables with some cells typed wrongly, some figures changed, some rows twice or gone."""
    found: Tables = {}
    for name, rows in tables.items():
        found[name] = [dict(cells) for cells in rows]
        for cells in found[name]:
            if chance.random() < 0.15:
                cells[chance.choice(list(cells))] = chance.choice(JUNK)
            if cells.get("reading") and chance.random() < 0.15:
                cells["reading"] = str(chance.randrange(0, 400))
    for _ in range(2):
        if found["log"]:
            found["log"].insert(0, dict(chance.choice(found["log"])))
            found["log"].pop(chance.randrange(len(found["log"])))
    return found


@pytest.mark.parametrize("part", range(3))
def test_whatever_the_slips_the_counts_add_up_and_what_was_taken_is_lawful(
    part: int, tmp_path: Path
) -> None:
    for at, (tables, texts, _) in enumerate(sample(40)[part::3]):
        place = tmp_path / str(at)
        book = own_book(place.with_suffix(".rules"), texts)
        slips = with_slips(tables, random.Random(f"slips {part} {at}"))
        folder = in_folder(place.with_suffix(".in"), slips)
        with new(place.with_suffix(".db")) as file:
            first = take(file, folder, book=book, keep_good=True)
            rows = sum(len(rows) for rows in slips.values())
            assert first.rows == rows  # there are no last: columns
            places = [fault.where.split(": ")[0] for fault in first.left_out]
            assert len(places) == len(set(places))  # one fault a row
            fleet, kept = file.fleet(), file.log()
            assert len(fleet.boats) == first.taken["boats"]
            assert len(fleet.engines) == first.taken["engines"]
            assert len(kept) == first.taken["log"]
            assert faults(fleet, file.history()) == []
            before = digest(file.path)
            second = take(file, folder, book=book, keep_good=True)
            assert sum(second.taken.values()) == 0
            assert second.there_already == rows - len(first.left_out)
            assert digest(file.path) == before
            if first.left_out:
                with pytest.raises(FaultsError):
                    take(file, folder, book=book)
                assert digest(file.path) == before


def one_by_one(fleet: Fleet, entries: Sequence[Entry]) -> list[Entry]:
    """The entries that the log allows, each tried on top of those before it in order of days."""
    good: list[Entry] = []
    for entry in in_order(entries):
        if not faults(fleet, history([*good, entry], TODAY)):
            good.append(entry)
    return good


@pytest.mark.parametrize("part", range(2))
def test_exactly_the_rows_are_taken_that_fit_one_by_one_in_order_of_days(
    part: int, tmp_path: Path
) -> None:
    """Figures are made to fall; rows that tie two engines together are not among them."""
    tried = 0
    for at, (tables, texts, _) in enumerate(sample(40)[part::2]):
        place, chance = tmp_path / str(at), random.Random(f"falls {part} {at}")
        book = own_book(place.with_suffix(".rules"), texts)
        log = [dict(cells) for cells in tables["log"] if cells["event"] not in ("swap", "retire")]
        for cells in log:
            for column in ("reading", "old_reading"):
                if cells[column] and chance.random() < 0.3:
                    cells[column] = str(chance.randrange(0, 300))
        changed = {**tables, "log": log}
        fleet, entries = fleet_of(changed)
        wanted = {entry.number for entry in one_by_one(fleet, entries)}
        with new(place.with_suffix(".db")) as file:
            folder = in_folder(place.with_suffix(".in"), changed)
            report = take(file, folder, book=book, keep_good=True)
            lines = {int(fault.where.split(":")[1]) for fault in report.left_out}
            taken = {number for number in range(1, len(log) + 1) if number + 1 not in lines}
            assert taken == wanted
            plain = [replace(entry, number=0) for entry in entries if entry.number in wanted]
            got = [replace(entry, number=0) for entry in live_entries(file.log())]
            assert sorted(got, key=repr) == sorted(plain, key=repr)
            tried += bool(report.left_out)
    assert tried > 8


# -- the command -------------------------------------------------------------------------------


def fleetcare(fleet: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fleetcare", "--fleet", str(fleet), *words],
        capture_output=True, text=True, cwd=ROOT, check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip


def test_the_command_ends_with_6_and_names_what_it_left_out(tmp_path: Path) -> None:
    fleet = tmp_path / "fleet.db"
    assert fleetcare(fleet, "new").returncode == 0
    tables = {
        "boats": BOATS, "engines": ENGINES,
        "log": [row(1, "run", hours="1"), row(2, "run", hours="x"), row(3, "reading", reading="9")],
    }  # fmt: skip
    folder = str(in_folder(tmp_path / "in", tables))
    before = digest(fleet)
    refused = fleetcare(fleet, "import", folder)
    assert refused.returncode == 1
    assert "log.csv:3: hours" in refused.stderr
    assert digest(fleet) == before
    tried = fleetcare(fleet, "import", folder, "--keep-good", "--dry-run")
    assert tried.stdout.startswith("would take 1 boats, 2 engines, 1 log;")
    assert digest(fleet) == before
    done = fleetcare(fleet, "import", folder, "--keep-good")
    assert done.returncode == 6
    assert done.stdout == (
        "took 1 boats, 2 engines, 1 log; 0 there already; 2 left out; 6 rows read\n"
    )
    assert "left out: log.csv:3: hours: " in done.stderr
    assert 'left out: log.csv:4: engine "Plover": reads 9.0' in done.stderr
    again = fleetcare(fleet, "import", folder, "--keep-good")
    assert again.returncode == 6
    assert again.stdout.startswith("took nothing; 4 there already; 2 left out; 6 rows read")


def test_one_slip_in_a_whole_seasons_sheet_is_found_by_its_row(tmp_path: Path) -> None:
    """The largest example fleet, 3,972 rows, of which one reading has two figures the wrong way."""
    source = (examples_folder() / "ondrel" / "log.csv").read_text(encoding="utf-8").splitlines()
    at, line = next(
        (at, line)
        for at, line in enumerate(source)
        if at > 2000 and ",reading," in line and line.split(",")[6] > "1"
    )
    cells = line.split(",")
    cells[6] = "0.1"
    folder = tmp_path / "in"
    folder.mkdir()
    for name in ("settings", "boats", "engines"):
        text = (examples_folder() / "ondrel" / f"{name}.csv").read_bytes()
        (folder / f"{name}.csv").write_bytes(text)
    text = "\n".join([*source[:at], ",".join(cells), *source[at + 1 :]])
    (folder / "log.csv").write_text(text, encoding="utf-8")
    with new(tmp_path / "fleet.db") as file:
        with pytest.raises(FaultsError) as caught:
            take(file, folder)
        assert [fault.where.split(": ")[0] for fault in caught.value.faults] == [
            f"log.csv:{at + 1}"
        ]
        report = take(file, folder, keep_good=True)
        assert len(report.left_out) == 1
