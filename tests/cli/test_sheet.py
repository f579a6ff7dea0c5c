"""fleetcare sheet: what stands on it, of which day and engine, and where it is written."""

from __future__ import annotations

import builtins
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.plan.kept import as_text
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.store.file import writing
from fleetcare.store.fleet_file import FleetFile
from fleetcare.store.plans import keep_plan
from tests.cli.typed import ROOT, TODAY, fleetcare, one_line, refused, rows, widest, written

MONDAY, TUESDAY = date(2026, 7, 20), date(2026, 7, 21)


def sheet_rows(*words: object) -> list[dict[str, Any]]:
    return rows("sheet", *words)


def jobs_of(found: Sequence[dict[str, Any]]) -> dict[str, list[str]]:
    by_engine: dict[str, list[str]] = {}
    for item in found:
        by_engine.setdefault(item["engine"], []).append(item["task"])
    return by_engine


def keep(fleet: Path, *days: tuple[date, dict[str, tuple[str, ...]]], made: str = TODAY) -> None:
    """Keep a plan of these days, engines and jobs."""
    first = date.fromisoformat(made).toordinal()
    plan = Plan(
        first, first + 60,
        tuple(
            ServiceDay(
                on.toordinal(), "", 60, 360,
                tuple(
                    Visit(engine, None, (), 30, tuple(PlannedJob(task, None, 0, 0, False, 5)
                                                      for task in tasks))
                    for engine, tasks in engines.items()
                ),
            )
            for on, engines in days
        ),
        (), (), 0, None, "a test",
    )  # fmt: skip
    with FleetFile(fleet) as file, writing(fleet, file.connection):
        keep_plan(file.connection, first, as_text(plan))


# -- which jobs ------------------------------------------------------------------------------------


def wanted(item: dict[str, Any]) -> bool:
    leads = {"overheating", "seized swivel"} & set(item["leads_to"])
    pressing = item["status"] in ("overdue", "no record")
    return item["status"] != "clear" and (not item["put_off_until"] or bool(leads and pressing))


def test_the_sheet_of_an_engine_has_what_is_due_of_it_and_nothing_else(ondrel: Path) -> None:
    due = [item["task"] for item in rows("due", "--engine", "OB-14") if wanted(item)]
    assert sorted(jobs_of(sheet_rows("OB-14"))["OB-14"]) == sorted(due)
    assert len(due) > 10


def test_the_sheets_of_all_that_is_due_are_those_of_the_due_list(ondrel: Path) -> None:
    due = [(item["engine"], item["task"]) for item in rows("due") if wanted(item)]
    found = sheet_rows("--due")
    assert sorted((item["engine"], item["task"]) for item in found) == sorted(due)
    boats = {item["engine"]: item["boat"] for item in found}
    mounted = [int(boat.rpartition(" ")[2]) for boat in boats.values() if boat]
    assert mounted == sorted(mounted)
    assert None not in list(boats.values())[: len(mounted)]


def test_a_job_put_off_waits_unless_it_leads_to_the_worst(small: Path) -> None:
    for task in ("swing test", "swivel grease"):
        fleetcare("put-off", "Plover", task, "--until", "2026-07-30", "--because", "no grease")
    found = jobs_of(sheet_rows("Plover"))["Plover"]
    assert "swing test" not in found
    assert "swivel grease" in found


def test_what_comes_soon_is_taken_along(ondrel: Path) -> None:
    now = set(jobs_of(sheet_rows("OB-21"))["OB-21"])
    then = set(jobs_of(sheet_rows("OB-21", "--within", 90))["OB-21"])
    due = {item["task"] for item in rows("due", "--engine", "OB-21", "--all")
           if item["due_on"] and item["due_on"] <= "2026-10-16"}  # fmt: skip
    assert now < then
    assert then == now | due


def test_jobs_of_ones_choice_in_working_order_whatever_is_due(small: Path) -> None:
    found = sheet_rows("Plover", "--task", "impeller", "--task", "GEAR OIL", "--task", "swing test")
    assert [item["task"] for item in found] == ["swing test", "gear oil", "impeller"]
    assert "nearest" not in refused(small, "sheet", "Plover", "--task", "impelller")
    assert '"impeller"' in refused(small, "sheet", "Plover", "--task", "impelller")


def test_only_the_boat_or_the_place_asked_for(small: Path) -> None:
    since = ("--since", "2026-04-01")
    fleetcare(
        "boat", "add", "Avocet", "--use", "hire", "--water", "salt", "--place", "Slip", *since
    )
    fleetcare("engine", "add", "Teal", "--boat", "Avocet", "--hp", 6, "--reading", 5, *since)
    assert list(jobs_of(sheet_rows("--due"))) == ["Knot", "Plover", "Teal", "Spare"]
    assert list(jobs_of(sheet_rows("--due", "--place", "slip"))) == ["Teal"]
    assert list(jobs_of(sheet_rows("--due", "--boat", "dunlin"))) == ["Knot"]
    assert "there are: Slip" in one_line(refused(small, "sheet", "--due", "--place", "Slipp"))
    assert "nothing to do there" in refused(small, "sheet", "--due", "--place", "Slip", "--boat",
                                            "Dunlin")  # fmt: skip


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--due", "OB-21"), "--due is of every engine"),
        (("--task", "impeller"), "--task: on which engine?"),
        (("OB-21", "--task", "impeller", "--within", "9"), "--within would choose others"),
        (("--within", "9"), "a planned day has its own jobs"),
        (("Ottre",), 'no engine "Ottre"'),
        ((), "no plan is kept. Name engines, or --due"),
        (("--on", "2026-07-20"), "no plan is kept"),
    ],
)
def test_what_makes_no_sense_is_refused_in_a_line(
    ondrel: Path, words: tuple[str, ...], told: str
) -> None:
    assert told in one_line(refused(ondrel, "sheet", *words))


def test_an_engine_with_nothing_due_says_what_else_there_is(small: Path) -> None:
    text = one_line(refused(small, "sheet", "Plover", "--as-of", "2026-04-01", "--boat", "Dunlin"))
    assert "nothing is due of Plover" in text and "--within DAYS" in text and "--task" in text


# -- a planned day ---------------------------------------------------------------------------------


def test_a_day_of_the_kept_plan_in_its_order_with_its_jobs(ondrel: Path) -> None:
    keep(
        ondrel,
        (MONDAY, {"OB-21": ("swivel grease", "swing test"), "OB-02": ("propeller",)}),
        (TUESDAY, {"OB-14": ("impeller",)}),
    )
    found = sheet_rows("--on", MONDAY)
    assert jobs_of(found) == {"OB-21": ["swing test", "swivel grease"], "OB-02": ["propeller"]}
    assert {item["on"] for item in found} == {"2026-07-20"}
    assert jobs_of(sheet_rows("--on", TUESDAY)) == {"OB-14": ["impeller"]}
    assert jobs_of(sheet_rows("OB-02", "--on", MONDAY)) == {"OB-02": ["propeller"]}


def test_without_words_it_is_the_next_planned_day(ondrel: Path) -> None:
    keep(ondrel, (MONDAY, {"OB-21": ("swing test",)}), (TUESDAY, {"OB-14": ("impeller",)}))
    assert sheet_rows() == sheet_rows("--on", MONDAY)
    assert sheet_rows("--as-of", "2026-07-21") == sheet_rows(
        "--on", TUESDAY, "--as-of", "2026-07-21"
    )
    text = refused(ondrel, "sheet", "--as-of", "2026-07-22")
    assert "there is no service day left" in text and "fleetcare plan --fix" in text


def test_a_day_that_is_not_planned_names_those_that_are(ondrel: Path) -> None:
    keep(ondrel, (MONDAY, {"OB-21": ("swing test",)}))
    text = one_line(refused(ondrel, "sheet", "--on", TUESDAY))
    assert "2026-07-21 is no service day" in text and "coming ones: 2026-07-20" in text
    text = one_line(refused(ondrel, "sheet", "OB-02", "--on", MONDAY))
    assert "OB-02: not planned on 2026-07-20" in text


def test_what_was_done_since_the_plan_was_made_is_left_out_and_told(ondrel: Path) -> None:
    keep(ondrel, (MONDAY, {"OB-21": ("swing test", "plugs")}))
    number = sheet_rows()[0]["sheet"]
    fleetcare("done", "OB-21", "swing test", "--found", "free one hand")
    told = json.loads(fleetcare("sheet", "--format", "json").out)
    assert [item["task"] for item in told["rows"]] == ["plugs"]
    assert told["left_out"] == [
        {"engine": "OB-21", "task": "swing test", "why": "done since", "on": TODAY}
    ]
    assert told["rows"][0]["sheet"] == number
    assert "OB-21: swing test, done on 18 Jul 2026 since it was planned" in fleetcare("sheet").out
    fleetcare("done", "OB-21", "plugs")
    assert "nothing is left to do on 2026-07-20" in refused(ondrel, "sheet")


def test_a_renamed_engine_is_found_under_its_new_name(ondrel: Path) -> None:
    keep(ondrel, (MONDAY, {"OB-21": ("swing test",)}))
    number = sheet_rows()[0]["sheet"]
    fleetcare("engine", "rename", "OB-21", "Heron")
    found = sheet_rows("Heron", "--on", MONDAY)
    assert [(item["engine"], item["sheet"]) for item in found] == [("Heron", number)]


def test_a_kept_plan_that_cannot_be_read_counts_as_none(ondrel: Path) -> None:
    with FleetFile(ondrel) as file, writing(ondrel, file.connection):
        keep_plan(file.connection, 1, '{"form": 99}')
    said = fleetcare("sheet", code=1)
    assert "cannot be read" in said.err and "no plan is kept" in said.err


# -- what it looks like ----------------------------------------------------------------------------


def test_the_text_says_all_that_a_hand_needs(ondrel: Path) -> None:
    text = " ".join(fleetcare("sheet", "OB-14").out.split())
    for part in (
        "Work sheet: OB-14, Sat 18 Jul 2026",
        "Must not go out: overheated, 5 Jul",
        "1. tilted up, 1 min",
        "! Never under the leg, even with the lock set",
        "[ ] Renew the cooling-pump impeller (impeller) Trained people only, 25 min",
        "As found: impeller vanes (tick one): [ ] supple",
        "[ ] missing (STOP)",
        "Torque: the maker's handbook",
        "Before it goes out, and at every start",
        "handbook, local codes and licensed practice come before everything on this sheet",
    ):
        assert part in text, part


@pytest.mark.parametrize("words", [("OB-14",), ("OB-21", "OB-19"), ("--due",)])
def test_the_text_fits_eighty_columns(ondrel: Path, words: tuple[str, ...]) -> None:
    said = fleetcare("sheet", *words).lines
    assert widest(said) <= 80
    assert not any("\x1b" in line or line.endswith(" ") for line in said)


def test_every_format_has_the_same_jobs(ondrel: Path) -> None:
    found = sheet_rows("OB-21")
    lines = fleetcare("sheet", "OB-21", "--format", "ndjson").lines
    assert [json.loads(line) for line in lines] == found
    csv = fleetcare("sheet", "OB-21", "--format", "csv").lines
    assert csv[0].split(",") == list(found[0])
    assert len(csv) == len(found) + 1
    assert found[0] == {
        "sheet": found[0]["sheet"], "on": TODAY, "engine": "OB-21", "boat": "Boat 21",
        "place": "Ondrel Water", "task": "swing test",
        "title": "Swing lock to lock by hand, link off if stiff", "who": "anyone", "minutes": 2,
        "part": "swivel",
        "conditions": ["free one hand", "stiff", "notchy", "stiff one way", "seized",
                       "not looked at"],
        "access": [], "parts": [],
        "cautions": ["Engine stopped, kill cord off; fingers clear of the swivel and the link.",
                     "Slacken the friction screw; never force the steering arm with a bar: it "
                     "snaps."],
        "status": "overdue", "due_on": "2026-05-04", "last_done_on": "2026-04-04",
        "last_done_hours": 351.7,
    }  # fmt: skip


def test_a_sheet_is_in_the_language_asked_for_or_the_fleet_s_own(ondrel: Path) -> None:
    fleetcare("sheet", "OB-21", "--html", "de.html", "--language", "de")
    german = Path("de.html").read_text(encoding="utf-8")
    assert '<html lang="de">' in german and "18. Juli 2026" in german
    fleetcare("settings", "language", "de")
    fleetcare("sheet", "OB-21", "--html", "own.html")
    assert Path("own.html").read_text(encoding="utf-8") == german


# -- files -----------------------------------------------------------------------------------------


def test_files_are_written_where_asked_and_the_fleet_is_left_alone(ondrel: Path) -> None:
    before = written(ondrel)
    said = fleetcare("sheet", "OB-21", "--html", "a.html", "--pdf", "b/a.pdf", "--form", "a.txt")
    assert said.lines == [
        f"{name}: 1 engine, 5 jobs, 45 min, Sat 18 Jul 2026."
        for name in ("a.html", "b/a.pdf", "a.txt")
    ]
    assert Path("a.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert Path("b/a.pdf").read_bytes().startswith(b"%PDF-")
    assert Path("a.txt").read_text(encoding="utf-8").splitlines()[2] == f"on: {TODAY}"
    assert written(ondrel) == before


def test_a_dash_is_stdout(ondrel: Path) -> None:
    fleetcare("sheet", "OB-21", "--html", "a.html")
    said = fleetcare("sheet", "OB-21", "--html", "-")
    assert said.out == Path("a.html").read_text(encoding="utf-8")


def test_without_typst_nothing_is_written_and_it_says_how_to_get_it(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def missing(name: str, *more: Any, **other: Any) -> Any:
        if name == "typst":
            raise ImportError(name)
        return real(name, *more, **other)

    monkeypatch.setattr(builtins, "__import__", missing)
    text = refused(ondrel, "sheet", "OB-21", "--html", "a.html", "--pdf", "a.pdf")
    assert 'pip install "fleetcare[pdf]"' in one_line(text)
    assert not Path("a.html").exists() and not Path("a.pdf").exists()


def test_a_place_that_cannot_be_written_is_said(ondrel: Path) -> None:
    Path("full").write_text("", encoding="utf-8")
    text = refused(ondrel, "sheet", "OB-21", "--html", "full/a.html", code=4)
    assert "cannot be written" in one_line(text)


def test_letter_and_a4_differ_only_in_the_paper(ondrel: Path) -> None:
    fleetcare("sheet", "OB-21", "--html", "a.html")
    fleetcare("sheet", "OB-21", "--html", "l.html", "--paper", "letter")
    a4, letter = (Path(name).read_text(encoding="utf-8") for name in ("a.html", "l.html"))
    assert letter == a4.replace("size: a4 portrait", "size: letter portrait") != a4


def test_another_process_with_other_hashes_writes_the_same_bytes(ondrel: Path) -> None:
    words = ["sheet", "--due", "--as-of", TODAY]
    told = set()
    for seed in ("0", "4711"):
        names = [f"{seed}.html", f"{seed}.pdf", f"{seed}.txt"]
        command = [sys.executable, "-m", "fleetcare", *words]
        command += ["--html", names[0], "--pdf", names[1], "--form", names[2]]
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        subprocess.run(command, check=True, capture_output=True, env=environment)
        form = Path(names[2]).read_bytes().replace(names[2].encode(), b"FILE")
        told.add((Path(names[0]).read_bytes(), Path(names[1]).read_bytes(), form))
    assert len(told) == 1
