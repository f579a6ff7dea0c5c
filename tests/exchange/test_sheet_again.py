"""Sheets that come again: as copies, from one another, corrected; no row is ever taken twice."""

from __future__ import annotations

import subprocess
import sys
import unicodedata
from collections.abc import Sequence
from datetime import date, time
from pathlib import Path
from typing import Any

import pytest

from fleetcare.exchange.asked import Asked
from fleetcare.exchange.report_rows import refused_tables
from fleetcare.exchange.sources import read_found
from fleetcare.log import entries as kinds
from fleetcare.store.append import add_entries
from fleetcare.store.fleet_file import FleetFile
from tests.exchange.bring import AT, digest, take
from tests.exchange.sheets import (
    accounted,
    bring,
    csv_at,
    fleet_at,
    log_of,
    rows_of,
    said,
    verdicts,
    xlsx_at,
)

ROOT = Path(__file__).parents[2]
HEAD = "Datum;Motor;Stunden gelaufen;Bemerkung"
ROWS = (
    "2026-04-01;Otter;3,5;Hafen Süd", "2026-04-02;Heron;2;", "2026-04-02;Heron;2;",
    "2026-04-03;Otter;1:30;", "2026-04-04;Port;4;Öl geprüft",
)  # fmt: skip
RUNS = [
    ("Run", "2026-04-01", "Otter", 350), ("Run", "2026-04-02", "Heron", 200),
    ("Run", "2026-04-02", "Heron", 200), ("Run", "2026-04-03", "Otter", 150),
    ("Run", "2026-04-04", "Port", 400),
]  # fmt: skip


def text(rows: Sequence[str] = ROWS) -> str:
    return "\n".join([HEAD, *rows, ""])


def copies(folder: Path) -> dict[str, tuple[Path, dict[str, str]]]:
    """One sheet in every form in which it may come back, and what must be said of it."""
    folder.mkdir()
    typed = [
        [date(2026, 4, 1), "Otter", 3.5, "Hafen Süd"], [date(2026, 4, 2), "Heron", 2, None],
        [date(2026, 4, 2), "HERON ", 2.0, None], [date(2026, 4, 3), "Otter", time(1, 30), None],
        [date(2026, 4, 4), "Port", 4, "Öl geprüft"],
    ]  # fmt: skip
    other = "\r\n".join([HEAD, *ROWS]).replace("2026-04-0", "0").replace(";Otter", ".04.2026;Otter")
    other = other.replace(";Heron", ".04.2026;Heron").replace(";Port", ".04.2026;Port")
    decomposed = unicodedata.normalize("NFD", text())
    return {
        "renamed": (csv_at(folder / "copy (2).csv", text()), {}),
        "re-sorted": (csv_at(folder / "sorted.csv", text(sorted(ROWS, reverse=True))), {}),
        "re-encoded": (csv_at(folder / "c.csv", text(), "cp1252"), {"encoding": "cp1252"}),
        "UTF-16, tabs": (csv_at(folder / "d.csv", text().replace(";", "\t"), "utf-16"), {}),
        "accents apart": (csv_at(folder / "e.csv", decomposed), {}),
        "days in another form": (csv_at(folder / "f.csv", other), {}),
        "a workbook": (xlsx_at(folder / "g.xlsx", {"2026": [HEAD.split(";"), *typed]}), {}),
    }


@pytest.mark.parametrize("form", [
    "renamed", "re-sorted", "re-encoded", "UTF-16, tabs", "accents apart", "days in another form",
    "a workbook",
])  # fmt: skip
def test_the_same_sheet_in_another_form_adds_nothing(
    fleet: FleetFile, tmp_path: Path, form: str
) -> None:
    bring(fleet, csv_at(tmp_path / "hours.csv", text()))
    assert said(log_of(fleet)) == RUNS
    before = digest(fleet.path)
    path, asked = copies(tmp_path / "again")[form]
    assert verdicts(bring(fleet, path, **asked)) == ["there already"] * 5
    assert digest(fleet.path) == before


def test_a_sheet_and_its_copies_given_at_once_are_taken_once(
    fleet: FleetFile, tmp_path: Path
) -> None:
    first = csv_at(tmp_path / "hours.csv", text())
    others = [path for path, asked in copies(tmp_path / "again").values() if not asked]
    report = bring(fleet, first, *others)
    assert said(log_of(fleet)) == RUNS
    assert verdicts(report) == ["taken"] * 5 + ["skipped"] * 5 * len(others)
    (again,) = [item for item in rows_of(report) if item.place == "copy (2).csv:4"]
    assert again.what == "says the same as hours.csv:4"  # the second of two equal runs
    assert verdicts(bring(fleet, *others)) == ["there already"] * 5 * len(others)


def test_two_programs_that_import_one_sheet_at_once_take_it_once(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    fleet_at(path).connection.close()
    days = [f"2026-05-{day:02};{name};2;" for day in range(1, 29) for name in ("Otter", "Knot")]
    sheet = csv_at(tmp_path / "hours.csv", text(days))
    words = [sys.executable, "-m", "fleetcare", "import", str(sheet), "--fleet", str(path)]
    programs = [
        subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT)
        for _ in range(3)
    ]
    said = sorted(program.communicate()[0].strip() for program in programs)
    assert said == [
        "took 56 runs; 0 there already; 0 left out; 56 rows read",
        *["took nothing; 56 there already; 0 left out; 56 rows read"] * 2,
    ]
    with FleetFile(path) as file:
        assert len(log_of(file)) == 56


def test_two_weeks_in_one_folder_the_second_with_the_first_on_top_count_once(
    fleet: FleetFile, tmp_path: Path
) -> None:
    folder = tmp_path / "weeks"
    folder.mkdir()
    csv_at(folder / "week 14.csv", text(ROWS[:2]))
    csv_at(folder / "week 15.csv", text((*ROWS, "2026-04-05;Port;4;")))
    report = bring(fleet, folder)
    assert said(log_of(fleet)) == [*RUNS, ("Run", "2026-04-05", "Port", 400)]
    assert (report.taken["runs"], report.skipped) == (6, 2)


def test_readings_and_jobs_of_a_second_sheet_are_those_of_the_first_whatever_its_notes(
    fleet: FleetFile, tmp_path: Path
) -> None:
    head = "Date;Engine;Reading;Job;Note\n"
    row = "2026-05-01;Otter;120;;{0}\n2026-05-02;Otter;121;impeller;{0}\n"
    one = csv_at(tmp_path / "a.csv", head + row.format(""))
    two = csv_at(tmp_path / "b.csv", head + row.format("a word more"))
    assert verdicts(bring(fleet, one, two)) == ["taken"] * 2 + ["skipped"] * 2
    assert len(log_of(fleet)) == 2


def test_our_own_log_and_its_copy_given_at_once_are_taken_once(
    fleet: FleetFile, tmp_path: Path
) -> None:
    table = "on,event,engine,hours\n" + "2026-05-01,run,Otter,2\n" * 2
    first, second = csv_at(tmp_path / "log.csv", table), csv_at(tmp_path / "log copy.csv", table)
    report = take(fleet, first, second)
    assert (report.taken["log"], report.there_already) == (2, 2)
    accounted(report)
    assert len(log_of(fleet)) == 2


def test_a_figure_mended_in_the_sheet_since_is_taken_and_worth_a_look(
    fleet: FleetFile, tmp_path: Path
) -> None:
    bring(fleet, csv_at(tmp_path / "hours.csv", text()))
    mended = ("2026-04-01;Otter;4,5;Hafen Süd", *ROWS[1:], "2026-04-03;Port;1;")
    report = bring(fleet, csv_at(tmp_path / "hours.csv", text(mended)))
    assert verdicts(report) == ["taken", *["there already"] * 4, "taken"]
    ((what, places),) = report.doubts.items()
    assert "mended since?" in what
    assert places == ["hours.csv:2"]  # both stand in the log now: 3.5 h and 4.5 h


def test_a_second_run_of_the_day_is_no_mended_one(fleet: FleetFile, tmp_path: Path) -> None:
    bring(fleet, csv_at(tmp_path / "hours.csv", text()))
    report = bring(fleet, csv_at(tmp_path / "hours.csv", text((*ROWS, "2026-04-01;Otter;1;"))))
    assert (report.taken["runs"], report.doubts) == (1, {})


def test_a_row_of_a_boat_whose_engine_was_another_as_is_known_now_is_worth_a_look(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """The exchange of 2 May was written down late: its rows came in under the engine of before."""
    rows = "Date;Boat;Hours run\n2026-05-01;Lapwing;2\n2026-05-03;Lapwing;3\n"
    sheet = csv_at(tmp_path / "hours.csv", rows)
    bring(fleet, sheet)
    with fleet.writing() as connection:
        moves = [
            kinds.Store(on=date(2026, 5, 2), engine="Otter"),
            kinds.Mount(on=date(2026, 5, 2), engine="Heron", boat="Lapwing"),
        ]
        add_entries(connection, moves, AT)
    report = bring(fleet, csv_at(sheet, rows + "2026-05-04;Lapwing;3\n"))
    assert verdicts(report) == ["there already", "taken", "taken"]
    ((what, places),) = report.doubts.items()
    assert what.startswith("rows that the log holds of another engine, which was on that boat")
    assert places == ["hours.csv:3"]


# -- the table of refused rows, fed back ---------------------------------------------------------


def refused_of(fleet: FleetFile, sheet: Path, **asked: Any) -> str:
    """The good rows taken; the table of the others."""
    report = bring(fleet, sheet, keep_good=True, **asked)
    tables = read_found([sheet], Asked(**asked), {}, fleet.fleet())
    (refused,) = refused_tables(report.accounts, tables.own, tables.sheets).values()
    return refused


def test_a_row_of_too_many_cells_loses_none_and_stays_refused_until_it_is_mended(
    fleet: FleetFile, tmp_path: Path
) -> None:
    text = "Date,Engine,Reading,Note\n2026-04-03,Otter,112,5,cold\n"
    refused = refused_of(fleet, csv_at(tmp_path / "hours.csv", text))
    assert refused.splitlines()[1].startswith("2026-04-03,Otter,112,5,hours.csv:2,")
    assert refused.rstrip().endswith(",cold")
    again = refused_of(fleet, csv_at(tmp_path / "unmended.csv", refused))
    assert again.rstrip().endswith(",cold")
    assert log_of(fleet) == []


def test_rows_that_a_stray_quotation_mark_took_in_are_rows_of_the_table_again(
    fleet: FleetFile, tmp_path: Path
) -> None:
    text = (
        'Date;Engine;Reading;Note\n2026-05-01;Otter;120;"new prop\n2026-05-02;Otter;121,5;\n'
        '2026-05-03;Otter;122;ok"\n2026-05-04;Otter;123;\n'
    )
    refused = refused_of(fleet, csv_at(tmp_path / "hours.csv", text))
    assert [row.rpartition(",")[0] for row in refused.splitlines()[1:]] == [
        "2026-05-01,Otter,120,new prop,hours.csv:2", '2026-05-02,Otter,"121,5",,hours.csv:3',
        "2026-05-03,Otter,122,ok,hours.csv:4",
    ]  # fmt: skip
    assert bring(fleet, csv_at(tmp_path / "a.csv", refused)).taken["readings"] == 3


def test_a_day_keeps_its_meaning_without_the_rows_that_showed_it(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """Alone the second row would be taken to prove that the month comes first."""
    rows = ("03/04/2026;Ottre;110", "13/04/2026;Otter;112", "04/13/2026;Otter;113")
    text = "\n".join(["Date;Engine;Reading", *rows, ""])
    sheet = csv_at(tmp_path / "hours.csv", text)
    refused = refused_of(fleet, sheet, dates="dmy")
    assert [row.split(",")[0] for row in refused.splitlines()[1:]] == ["2026-04-03", "04/13/2026"]


def test_a_mended_run_that_equals_a_taken_one_is_not_swallowed_without_a_word(
    fleet: FleetFile, tmp_path: Path
) -> None:
    """Alone in the table of refused rows it is the first of its kind, as the taken one is."""
    rows = ("2026-04-02;Heron;2;", "2026-04-02;Hreon;2;")
    sheet = csv_at(tmp_path / "hours.csv", text(rows))
    refused = refused_of(fleet, sheet)
    mended = bring(fleet, csv_at(tmp_path / "mended.csv", refused.replace("Hreon", "Heron")))
    assert verdicts(mended) == ["there already"]
    ((what, places),) = mended.doubts.items()
    assert "if it ran twice that day, mend them in the sheet they came from" in what
    assert places == ["mended.csv:2"]
    csv_at(sheet, text(rows).replace("Hreon", "Heron"))
    assert verdicts(bring(fleet, sheet)) == ["there already", "taken"]
