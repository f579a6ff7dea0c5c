"""fleetcare forecast held: what it prints, what it draws, what it refuses."""

from __future__ import annotations

import csv
import io
import json
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from pathlib import Path

import pytest

from fleetcare.show.held import HEAD
from tests.cli.typed import ESCAPE, fleetcare, refused, rows, widest, written

HELD = ("forecast", "held")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fleet file: Plover on Lapwing, run an hour a day for two years, read every tenth day."""
    path = tmp_path_factory.mktemp("held") / "fleet.db"
    at = ("--fleet", path)
    since = date(2024, 4, 1)
    fleetcare("new", *at, "--rules", "small-petrol")
    fleetcare("boat", "add", *at, "Lapwing", "--use", "hire", "--water", "salt", "--since", since)
    fleetcare(
        "engine", "add", *at, "Plover", "--boat", "Lapwing", "--hp", 6, "--stroke", 4,
        "--since", since, "--reading", 0, "--last", f"gear oil={since}@0",
    )  # fmt: skip
    for day in range(10, 800, 10):
        on = since + timedelta(day)
        fleetcare("reading", *at, "Plover", day, "--on", on)
        if day % 100 == 0:
            fleetcare("done", *at, "Plover", "gear oil", "engine oil", "plugs", "--on", on)
    return path


@pytest.fixture
def plover(told: Path, fleet: Path) -> Path:
    fleet.write_bytes(told.read_bytes())
    return fleet


def test_it_says_first_how_many_of_how_many_held(plover: Path) -> None:
    said = fleetcare(*HELD)
    assert said.err == ""
    assert said.lines[0].startswith("Of ")
    assert " held (" in said.lines[0]
    assert widest(said.lines) <= 80
    assert ESCAPE not in said.out


def test_looking_back_changes_nothing_in_the_fleet_file(plover: Path) -> None:
    before = written(plover)
    assert fleetcare(*HELD).out == fleetcare(*HELD).out
    assert written(plover) == before


def test_json_csv_and_ndjson_tell_the_same_dates(plover: Path) -> None:
    found = rows(*HELD)
    table = list(csv.DictReader(io.StringIO(fleetcare(*HELD, "--format", "csv").out)))
    lines = [json.loads(line) for line in fleetcare(*HELD, "--format", "ndjson").lines]
    assert found == lines
    assert tuple(table[0]) == tuple(found[0]) == HEAD
    assert [row["due_on"] for row in table] == [row["due_on"] or "" for row in found]
    whole = json.loads(fleetcare(*HELD, "--format", "json").out)
    figures = whole["figures"][-1]
    counted = [row for row in found if row["held"] is not None]
    assert (figures["of"], figures["dates"]) == ("all", len(counted))
    assert figures["held"] == sum(row["held"] for row in counted)


def test_it_looks_only_where_it_is_asked_to(plover: Path) -> None:
    found = rows(*HELD, "--from", "2025-01-01", "--to", "2025-03-31", "--engine", "Plover")
    days = {row["looked_on"] for row in found}
    assert days == {"2025-01-01", "2025-02-01", "2025-03-01"}
    fewer = {row["looked_on"] for row in rows(*HELD, "--every", 6)}
    assert 0 < len(fewer) < len({row["looked_on"] for row in rows(*HELD)})


def test_a_day_in_the_past_sees_only_what_was_known_then(plover: Path) -> None:
    found = rows(*HELD, "--as-of", "2025-06-01")
    assert max(row["known_to"] for row in found) <= "2025-06-01"


def test_it_draws_a_picture_beside_what_it_prints(plover: Path) -> None:
    said = fleetcare(*HELD, "--svg", "held.svg")
    assert said.out == fleetcare(*HELD).out
    assert said.err == "held.svg: the picture.\n"
    content = Path("held.svg").read_bytes()
    assert ET.fromstring(content).tag.endswith("svg")
    assert said.lines[0] in content.decode()
    assert fleetcare(*HELD, "--svg", "held.svg", "--quiet").err == ""
    assert Path("held.svg").read_bytes() == content


def test_a_fleet_without_a_past_has_nothing_to_tell_and_still_a_picture(small: Path) -> None:
    said = fleetcare(*HELD, "--svg", "held.svg")
    assert said.out.startswith("No date to tell of yet")
    ET.fromstring(Path("held.svg").read_bytes())


def test_what_cannot_be_asked_is_refused(plover: Path) -> None:
    assert "lies after" in refused(plover, *HELD, "--from", "2026-01-01", "--to", "2025-01-01")
    assert "Plover" in refused(plover, *HELD, "--engine", "Plovr")
    assert "Lapwing" in refused(plover, *HELD, "--boat", "Lapwin")


def test_a_picture_that_cannot_be_written_is_refused(plover: Path) -> None:
    Path("file").write_text("", encoding="utf-8")
    said = fleetcare(*HELD, "--svg", "file/held.svg", code=4)
    assert "cannot be written" in said.err
