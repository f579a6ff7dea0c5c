"""fleetcare year: what it prints, in each form and at each width."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from fleetcare.flags.year import Asked, year
from fleetcare.show.year import HEAD, year_text
from tests.cli.typed import TODAY, fleetcare, refused, rows, widest


def words_of(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def winter(fleet: Path) -> None:
    """Lapwing with Plover, read at both ends of 2024 and 2025: 40 hours, then 45."""
    fleetcare("new", "--rules", "small-petrol")
    since = ("--since", "2023-12-31")
    fleetcare("boat", "add", "Lapwing", "--use", "hire", "--water", "fresh", *since)
    fleetcare("engine", "add", "Plover", "--boat", "Lapwing", "--hp", 6, *since, "--reading", 100)
    fleetcare("reading", "Plover", 140, "--on", "2024-12-31")
    fleetcare("reading", "Plover", 185, "--on", "2025-12-31")


def test_the_year_is_that_of_the_day_it_is_looked_at(small: Path) -> None:
    assert fleetcare("year").lines[0] == "The year 2026 so far, to 18 Jul"
    said = json.loads(fleetcare("year", "--as-of", "2026-05-01", "--format", "json").out)
    assert (said["from"], said["to"], said["as_of"]) == ("2026-01-01", "2026-05-01", "2026-05-01")


def test_a_boat_has_its_hours_jobs_minutes_and_parts(small: Path) -> None:
    fleetcare("reading", "Plover", 270, "--on", "2026-06-01")
    fleetcare("run", "Knot", 3, "--on", "2026-06-02", "--water", "fresh")
    fleetcare("run", "Knot", 4, "--on", "2026-06-03")
    fleetcare("done", "Plover", "impeller", "--on", "2026-06-01")
    fleetcare("found", "Plover", "tell-tale", "weak", "--on", "2026-06-05")
    found = {item["boat"]: item for item in rows("year")}
    assert list(found) == ["Dunlin", "Lapwing", None]
    knot, plover = found["Dunlin"], found["Lapwing"]
    assert (knot["hours"], knot["hours_fresh"], knot["hours_salt"], knot["days_run"]) == (
        7,
        3,
        4,
        2,
    )
    assert (plover["hours"], plover["jobs"], plover["precursor_jobs"]) == (20, 1, 1)
    assert {"item": "impeller kit", "count": 1} in plover["parts"]
    assert plover["minutes"] > 0
    assert (plover["findings"], plover["incidents"]) == (1, 0)
    assert plover["days_held"] == 44  # a weak tell-tale holds: from 5 June to 18 July
    assert plover["figures_to"] == "2026-06-01"
    assert {item["known_from"] for item in rows("year")} == {"2026-04-01"}


def test_the_total_adds_up_the_rows(ondrel: Path) -> None:
    said = json.loads(fleetcare("year", "--format", "json").out)
    for name in ("hours", "days_run", "jobs", "minutes", "findings", "incidents", "days_held"):
        assert said["total"][name] == pytest.approx(sum(row[name] for row in said["rows"]), abs=0.3)
    assert fleetcare("year").out.count("\nall ") == 2  # a table of what ran, one of the work


def test_withdrawn_entries_do_not_count(small: Path) -> None:
    fleetcare("run", "Knot", 4, "--on", "2026-06-03")
    fleetcare("done", "Knot", "impeller", "--on", "2026-06-03")
    assert [row["jobs"] for row in rows("year", "--boat", "Dunlin")] == [1]
    fleetcare("undo")
    assert [(row["jobs"], row["hours"]) for row in rows("year", "--boat", "Dunlin")] == [(0, 4)]


def test_the_year_before_stands_beside_in_per_cent(winter: None) -> None:
    said = fleetcare("year", 2025)
    assert words_of(said.out).startswith("The year 2025 Boat Hours Days Year before")
    # 45 for 40 is an eighth more: 12.5 per cent, rounded half up
    assert "+13 %" in said.out
    (row,) = rows("year", 2025)
    assert (row["hours"], row["hours_year_before"]) == (45, 40)
    assert "Year before" not in fleetcare("year", 2026).out  # it is not over
    assert "Year before" not in fleetcare("year", 2024).out  # nothing is known of 2023


def test_what_is_not_known_is_said(small: Path) -> None:
    fleetcare("reading", "Plover", 270, "--on", "2026-06-01")
    said = words_of(fleetcare("year").out)
    assert "Known only from 1 Apr: Knot, Plover, Spare." in said
    assert "Figures to 1 Jun: Plover; of the days after, only runs that were logged." in said
    assert "1 job from before the engine was known: not counted." not in said
    assert "2 jobs from before the engine was known: not counted." in said


def test_a_season_is_a_span_of_its_own(small: Path) -> None:
    fleetcare("run", "Knot", 3, "--on", "2026-06-02")
    fleetcare("run", "Knot", 4, "--on", "2026-06-03")
    span = ("--from", "2026-06-01", "--to", "2026-06-02")
    assert [row["hours"] for row in rows("year", *span, "--boat", "Dunlin")] == [3]
    assert fleetcare("year", *span).lines[0] == "From 1 Jun 2026 to 2 Jun 2026"
    assert fleetcare("year", "--from", "2026-06-01").lines[0] == "From 1 Jun 2026 to 18 Jul 2026"


def test_spans_that_make_no_sense_are_refused(small: Path) -> None:
    assert "2027-01-01 has not come yet" in refused(small, "year", 2027)
    assert "either 2026 or --from" in refused(small, "year", 2026, "--from", "2026-05-01")
    assert "--to needs --from" in refused(small, "year", "--to", "2026-05-01")
    lies = refused(small, "year", "--from", "2026-05-02", "--to", "2026-05-01")
    assert "--from 2026-05-02 lies after --to 2026-05-01" in lies
    assert 'no boat "Lapwig". Did you mean "Lapwing"?' in refused(small, "year", "--boat", "Lapwig")


def test_an_engine_alone_has_a_row_for_each_boat_it_lay_on(small: Path) -> None:
    fleetcare("engine", "mount", "Spare", "Dunlin", "--on", "2026-06-01")
    found = [(row["engine"], row["boat"]) for row in rows("year", "--engine", "Spare")]
    assert found == [("Spare", "Dunlin"), ("Spare", None)]
    assert "Spare, in store" in fleetcare("year", "--engine", "Spare").out
    both = [(row["boat"], row["engine"]) for row in rows("year", "--by-engine")]
    assert both == [
        ("Dunlin", "Knot"), ("Dunlin", "Spare"), ("Lapwing", "Plover"), (None, "Spare"),
    ]  # fmt: skip


def test_every_form_tells_the_same(ondrel: Path) -> None:
    as_json = rows("year")
    lines = fleetcare("year", "--format", "ndjson").out.splitlines()
    assert [json.loads(line) for line in lines] == as_json
    table = list(csv.DictReader(io.StringIO(fleetcare("year", "--format", "csv").out)))
    assert tuple(table[0]) == HEAD == tuple(as_json[0])
    assert [(row["boat"], float(row["hours"]), int(row["minutes"])) for row in table] == [
        (row["boat"] or "", row["hours"], row["minutes"]) for row in as_json
    ]
    assert table[0]["parts"] == "; ".join(
        f"{part['item']} {part['count']}" for part in as_json[0]["parts"]
    )


@pytest.mark.parametrize("width", [40, 60, 80, 160])
def test_it_fits_the_terminal(ondrel: Path, width: int) -> None:
    desk, day = Desk(), date.fromisoformat(TODAY)
    with desk.open() as file:
        fleet, history = file.fleet(), file.history(day)
    asked = Asked(date(2026, 1, 1), date(2026, 12, 31))
    seen = year(fleet, history, desk.book(fleet, words=True), day, asked)
    lines = year_text(seen, date(2026, 12, 31), width).splitlines()
    assert widest(lines) <= width
    said = words_of(" ".join(lines))
    for account in seen.accounts:
        assert (account.boat or "in store") in said
    assert (lines[2] == "Boat 1") == (width < 80)  # a phone has no table
    heads = [line for line in lines if line.startswith("Boat  ")]
    assert len(heads) == {40: 0, 60: 0, 80: 2, 160: 1}[width]


def test_names_of_any_kind_are_shown_whole(fleet: Path) -> None:
    name = "The blue one that the club lent us for all of the summer's regattas, dented bow"
    fleetcare("new")
    fleetcare("boat", "add", name, "--use", "hire", "--water", "salt", "--since", "2026-01-01")
    said = fleetcare("year")
    assert widest(said.lines) <= 80
    assert [line for line in said.lines if line.startswith("The blue one ")]
    assert set(name.split()) <= set(said.out.split())  # broken between words, beside its figures


def test_a_fleet_with_nothing_in_it_says_so(fleet: Path) -> None:
    fleetcare("new")
    assert "There was no boat, and no engine in store." in fleetcare("year").out
    assert rows("year") == []
