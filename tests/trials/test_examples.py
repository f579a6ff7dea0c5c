"""The example fleets are what their generator writes, are lawful logs, and tell their stories.

The stories' dates and figures are an invented scenario; nothing outside the project vouches for
them. The checks below read the CSV files with the standard library alone.
"""

from __future__ import annotations

import csv
import tomllib
from collections import defaultdict
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.trials.example_scale import last_day, make
from tests.trials.make_examples import EXAMPLES, FLEETS, write_examples

TODAY = date(2026, 7, 18)
NAMES = ("ondrel", "tavvik", "pim")
INTERVALS = Path(__file__).resolve().parents[2] / "intervals"
HEADERS = {
    "settings": "name,value",
    "boats": "boat,use,water,since,place,also",
    "engines": "engine,boat,family,hp,stroke,year,meter,digits,steering,litres_hour,rules,"
    "without,since,reading,new,also",
    "log": "on,event,engine,boat,task,part,reading,hours,fuel,water,condition,count,component,"
    "other,old_reading,until,item,cost,by,note",
}
EVENTS = {
    "reading", "run", "job", "finding", "incident", "move", "mount", "store", "swap", "meter",
    "lay-up", "launch", "put-off", "retire", "delivery", "count",
}  # fmt: skip
ROLES = {
    "ondrel": {"jetty", "workshop", "office"},
    "tavvik": {"boatswain", "volunteer", "coach", "workshop"},
    "pim": {"owner"},
}

Rows = list[dict[str, str]]


def table(fleet: str, name: str) -> Rows:
    with (EXAMPLES / fleet / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file, strict=True))


def entries(fleet: str, **cells: str) -> Rows:
    """The log's entries that have these cells."""
    return [one for one in table(fleet, "log") if all(one[name] == cells[name] for name in cells)]


def days_of(fleet: str, **cells: str) -> list[str]:
    return [one["on"] for one in entries(fleet, **cells)]


def toml(name: str) -> dict[str, Any]:
    return tomllib.loads((INTERVALS / f"{name}.toml").read_text(encoding="utf-8"))


# ---- the files


def test_the_files_are_what_the_generator_writes_byte_for_byte(tmp_path: Path) -> None:
    write_examples(tmp_path)
    assert sorted(FLEETS) == sorted(NAMES)
    for made in sorted(tmp_path.rglob("*.csv")):
        kept = EXAMPLES / made.relative_to(tmp_path)
        assert kept.read_bytes() == made.read_bytes(), f"{kept}: run make_examples.py"


@pytest.mark.parametrize("fleet", NAMES)
@pytest.mark.parametrize("name", HEADERS)
def test_a_table_has_its_columns_in_order_and_ends_lines_with_crlf(fleet: str, name: str) -> None:
    text = (EXAMPLES / fleet / f"{name}.csv").read_bytes()
    header, *lines = text.decode("utf-8").split("\r\n")
    given = header.split(",")
    asked = HEADERS[name].split(",")
    assert given[: len(asked)] == asked
    assert all(more.startswith("last:") for more in given[len(asked) :])
    assert lines[-1] == ""
    assert text.count(b"\n") == text.count(b"\r\n")


def test_the_hire_log_stays_small_enough_to_read() -> None:
    log = EXAMPLES / "ondrel" / "log.csv"
    assert len(table("ondrel", "log")) < 5000
    assert log.stat().st_size < 400_000


# ---- lawful logs


@pytest.mark.parametrize("fleet", NAMES)
def test_every_entry_names_what_the_fleet_has_and_is_not_dated_ahead(fleet: str) -> None:
    since = {one["engine"]: one["since"] for one in table(fleet, "engines")}
    boats = {one["boat"] for one in table(fleet, "boats")}
    before = date(1, 1, 1)
    for one in table(fleet, "log"):
        on = date.fromisoformat(one["on"])
        assert before <= on <= TODAY
        before = on
        assert one["event"] in EVENTS
        assert one["by"] in ROLES[fleet]
        assert one["boat"] in boats | {""}
        for name in filter(None, (one["engine"], one["other"])):
            assert one["event"] == "job" or one["on"] >= since[name]
    assert {one["boat"] for one in table(fleet, "engines")} <= boats | {""}


@pytest.mark.parametrize("fleet", NAMES)
def test_tasks_conditions_and_incidents_are_words_of_the_rule_files(fleet: str) -> None:
    tasks = {task["name"]: task for task in toml("small-petrol")["task"]}
    parts = toml("conditions")["part"]
    kinds = toml("incidents")["incident"]
    for one in table(fleet, "log"):
        assert one["task"] in tasks or not one["task"]
        if one["event"] == "incident":
            assert one["condition"] in kinds
        elif one["event"] == "run":
            assert one["condition"] in ("", "hire time")
        elif one["condition"]:
            words = {word["word"]: word for word in parts[one["part"]]["conditions"]}
            assert one["condition"] in words
            assert bool(one["count"]) == bool(words[one["condition"]].get("count"))
        if one["event"] == "job" and one["part"]:
            assert one["part"] == tasks[one["task"]]["part"]
    for engine in table(fleet, "engines"):
        assert set(filter(None, engine["without"].split(";"))) <= set(tasks)
        lasts = [name.removeprefix("last:") for name in engine if name.startswith("last:")]
        assert set(lasts) <= set(tasks)


@pytest.mark.parametrize("fleet", NAMES)
def test_no_meter_falls_and_no_day_has_more_than_24_hours(fleet: str) -> None:
    log = table(fleet, "log")
    for engine in table(fleet, "engines"):
        own = [one for one in log if one["engine"] == engine["engine"]]
        runs: defaultdict[str, Fraction] = defaultdict(Fraction)
        for one in own:
            runs[one["on"]] += Fraction(one["hours"] or 0)
        assert max(runs.values(), default=Fraction(0)) <= 24
        if engine["meter"] == "no":
            assert not any(one["reading"] for one in own)
            continue
        closes(engine, own)


def closes(engine: dict[str, str], own: Rows) -> None:
    """Walk the meter day by day: figures rise, and by no more than the days between allow."""
    shown, seen_on = Fraction(engine["reading"]), date.fromisoformat(engine["since"])
    for day in sorted({one["on"] for one in own if one["reading"]}):
        on = date.fromisoformat(day)
        figures = [one for one in own if one["on"] == day and one["reading"]]
        ran = Fraction(0)
        for change in [one for one in figures if one["event"] == "meter"]:
            ran += Fraction(change["old_reading"]) - shown
            shown = Fraction(change["reading"])
        highest = max(Fraction(one["reading"]) for one in figures)
        assert min(Fraction(one["reading"]) for one in figures) >= shown
        ran += highest - shown
        assert 0 <= ran <= 24 * (on - seen_on).days or (ran == 0 and on == seen_on)
        shown, seen_on = highest, on


@pytest.mark.parametrize("fleet", NAMES)
def test_store_and_mount_and_lay_up_and_launch_alternate(fleet: str) -> None:
    log = table(fleet, "log")
    for engine in table(fleet, "engines"):
        mounted, afloat = bool(engine["boat"]), True
        for one in log:
            if one["engine"] == engine["engine"]:
                if one["event"] in ("store", "mount"):
                    assert mounted == (one["event"] == "store")
                    mounted = not mounted
                if one["event"] in ("lay-up", "launch"):
                    assert afloat == (one["event"] == "lay-up")
                    afloat = not afloat


@pytest.mark.parametrize("fleet", NAMES)
def test_nothing_runs_from_the_day_after_it_is_laid_up_or_stored(fleet: str) -> None:
    for engine in table(fleet, "engines"):
        idle, idle_from, shown = not engine["boat"], engine["since"], engine["reading"]
        for one in entries(fleet, engine=engine["engine"]):
            if one["event"] in ("lay-up", "store"):
                idle, idle_from = True, one["on"]
            elif one["event"] in ("launch", "mount"):
                idle = False
            if idle:
                assert one["event"] != "run"
                assert one["reading"] in ("", shown) or one["on"] == idle_from
            shown = one["reading"] if one["reading"] and one["event"] != "meter" else shown


# ---- the hire boats' stories


def test_the_hire_has_24_boats_and_two_spares_and_six_engines_without_a_meter() -> None:
    engines = {one["engine"]: one for one in table("ondrel", "engines")}
    hired = [f"OB-{number:02}" for number in range(1, 25)]
    assert list(engines) == [*hired, "Spare A", "Spare B"]
    hp = [engines[name]["hp"] for name in hired]
    assert (hp.count("4"), hp.count("6"), hp.count("9.9")) == (10, 8, 6)
    assert [name for name in engines if engines[name]["meter"] == "no"] == hired[:6]
    assert {one["rules"] for one in engines.values()} == {"hire"}
    assert engines["Spare A"]["reading"] == "310.0"
    assert not any(engines["Spare B"][name] for name in engines["Spare B"] if "last:" in name)
    assert not entries("ondrel", engine="Spare B", event="job")


def test_the_swivel_of_ob_21_was_last_greased_in_april_2025_in_fresh_water() -> None:
    jobs = days_of("ondrel", engine="OB-21", event="job", task="swivel grease")
    assert jobs == ["2025-04-02"]
    assert not entries("ondrel", engine="OB-21", task="swivel strip")
    assert not entries("ondrel", boat="Boat 21", event="move")
    sixty_days_are_over = date.fromisoformat(jobs[0]) + timedelta(60)
    assert sixty_days_are_over == date(2025, 6, 1)  # so overdue from 2 June
    stiff = entries("ondrel", engine="OB-21", event="finding")
    assert [(one["on"], one["part"], one["condition"]) for one in stiff] == [
        ("2026-06-20", "swivel", "stiff")
    ]


def test_ob_14_ran_three_years_on_one_pump_until_it_overheated() -> None:
    row = next(one for one in table("ondrel", "engines") if one["engine"] == "OB-14")
    assert row["last:impeller"] == "2023-04-05"
    assert not entries("ondrel", engine="OB-14", task="impeller")
    told = [
        (one["on"], one["event"], one["part"], one["condition"], one["count"])
        for one in entries("ondrel", engine="OB-14")
        if one["event"] in ("finding", "incident")
    ]
    assert told == [
        ("2026-06-28", "finding", "tell-tale", "weak", ""),
        ("2026-07-05", "incident", "", "overheated", ""),
        ("2026-07-06", "finding", "impeller vanes", "missing", "2"),
    ]
    after = [one for one in entries("ondrel", engine="OB-14") if one["on"] > "2026-07-05"]
    assert [one["event"] for one in after] == ["finding"]
    assert any("2026-06-28" < one["on"] < "2026-07-05" for one in entries("ondrel", engine="OB-14"))


def test_the_meter_of_ob_08_was_replaced_at_387_2() -> None:
    change = entries("ondrel", event="meter")
    assert [(one["on"], one["engine"], one["old_reading"], one["reading"]) for one in change] == [
        ("2026-05-30", "OB-08", "387.2", "0.0")
    ]


def test_ob_11_and_ob_12_lie_in_brackish_water_from_1_june() -> None:
    moves = entries("ondrel", event="move")
    assert [(one["on"], one["boat"], one["water"]) for one in moves] == [
        ("2026-06-01", "Boat 11", "brackish"),
        ("2026-06-01", "Boat 12", "brackish"),
    ]
    boats = {one["engine"]: one["boat"] for one in table("ondrel", "engines")}
    assert (boats["OB-11"], boats["OB-12"]) == ("Boat 11", "Boat 12")
    assert {one["water"] for one in table("ondrel", "boats")} == {"fresh"}
    flushed = days_of("ondrel", task="flush")
    assert flushed
    assert min(flushed) >= "2026-06-01"


def test_ob_19_carries_the_gearcase_of_spare_b_from_8_july() -> None:
    swaps = entries("ondrel", event="swap")
    assert [(one["on"], one["engine"], one["other"], one["component"]) for one in swaps] == [
        ("2026-07-08", "OB-19", "Spare B", "gearcase")
    ]
    engines = {one["engine"]: one for one in table("ondrel", "engines")}
    assert engines["Spare B"]["since"] == "2026-03-20"
    assert engines["Spare B"]["family"] == engines["OB-19"]["family"]


def test_the_gear_oil_of_ob_07_is_put_off_until_27_july_by_the_office() -> None:
    put_off = entries("ondrel", event="put-off")
    assert [
        (one["on"], one["engine"], one["task"], one["until"], one["by"]) for one in put_off
    ] == [("2026-07-12", "OB-07", "gear oil", "2026-07-27", "office")]
    assert put_off[0]["note"]
    assert max(days_of("ondrel", engine="OB-07", task="gear oil", event="job")) < "2026-07-12"


def test_ob_03_went_to_the_workshop_and_spare_a_hangs_in_its_boat() -> None:
    assert days_of("ondrel", event="store", engine="OB-03") == ["2026-07-11"]
    mount = entries("ondrel", event="mount")
    assert [(one["on"], one["engine"], one["boat"]) for one in mount] == [
        ("2026-07-11", "Spare A", "Boat 3")
    ]


def test_the_pump_of_ob_05_was_logged_by_both_and_a_job_of_15_july_stands_on_ob_15() -> None:
    pump = entries("ondrel", engine="OB-05", task="impeller", on="2026-06-14")
    assert [one["by"] for one in pump] == ["jetty", "workshop"]
    assert entries("ondrel", engine="OB-15", event="job", on="2026-07-15")
    assert not entries("ondrel", engine="OB-16", event="job", on="2026-07-15")


def test_the_milky_oil_of_ob_17_was_changed_and_its_gearcase_never_tested() -> None:
    milky = entries("ondrel", condition="milky")
    assert [(one["on"], one["engine"], one["task"]) for one in milky] == [
        ("2026-05-16", "OB-17", "gear oil")
    ]
    tested = days_of("ondrel", engine="OB-17", task="gearcase pressure")
    assert all(on < "2026-05-16" for on in tested)


def test_24_of_26_were_made_ready_in_april_and_two_forgotten() -> None:
    launched = entries("ondrel", event="launch")
    assert {one["on"] for one in launched} == {"2026-04-02", "2026-04-03", "2026-04-04"}
    laid_up = {one["engine"] for one in entries("ondrel", event="lay-up")}
    assert len(laid_up) == 26
    assert laid_up - {one["engine"] for one in launched} == {"OB-09", "OB-22"}


# ---- the club's and the owner's stories


def hours_on(engine: str, on: str) -> Fraction:
    """The highest figure written down for an engine on a day."""
    return max(Fraction(one["reading"]) for one in entries("tavvik", engine=engine, on=on)
               if one["reading"])  # fmt: skip


def test_three_tenders_would_have_passed_100_hours_on_the_fourth_day_of_the_regatta() -> None:
    for engine in ("TB-2", "TB-4", "TB-7"):
        oil = entries("tavvik", engine=engine, task="gear oil")
        assert [one["on"] for one in oil] == ["2025-10-05", "2026-06-07"]
        since_oil = Fraction(oil[0]["reading"])
        assert hours_on(engine, "2026-06-10") - since_oil < 100
        assert hours_on(engine, "2026-06-11") - since_oil >= 100


def test_the_coaches_meters_were_read_16_times_in_the_first_weeks_of_four_months() -> None:
    steps: dict[str, list[Fraction]] = {"TB-5": [], "TB-6": []}
    for engine, between in steps.items():
        figures = [one for one in entries("tavvik", engine=engine) if one["reading"]]
        assert len(figures) == 8
        assert {int(one["on"][8:]) <= 7 for one in figures} == {True}
        for before, after in zip(figures[1:-1:2], figures[2::2], strict=True):
            between.append(Fraction(after["reading"]) - Fraction(before["reading"]))
    for engine, least, most in (("TB-5", 17, 49), ("TB-6", 11, 61)):
        assert min(steps[engine]) == least
        assert max(steps[engine]) == most


def test_the_launch_was_away_for_22_days_with_nothing_logged() -> None:
    log = days_of("tavvik", engine="TB-1")
    assert {"2026-05-02", "2026-05-24"} <= set(log)
    assert not [on for on in log if "2026-05-02" < on < "2026-05-24"]


def test_the_club_did_13_jobs_on_its_service_day() -> None:
    assert len(entries("tavvik", on="2026-03-07", event="job")) == 13


def test_the_club_greased_half_a_swivel_and_made_one_engine_from_two() -> None:
    half = entries("tavvik", on="2026-04-18", engine="TB-2", task="swivel grease")
    assert [one["condition"] for one in half] == ["top only"]
    overheated = entries("tavvik", event="incident")
    assert [(one["on"], one["engine"]) for one in overheated] == [("2026-06-13", "TB-6")]
    change = entries("tavvik", event="meter")
    assert [(one["on"], one["old_reading"], one["reading"]) for one in change] == [
        ("2026-07-01", "1023.6", "3.1")
    ]
    swaps = entries("tavvik", event="swap")
    assert [(one["on"], {one["engine"], one["other"]}) for one in swaps] == [
        ("2026-07-04", {"TB-3", "TB-4"})
    ]


def test_pim_went_out_seven_times_in_three_seasons_on_a_pump_33_months_old() -> None:
    runs = entries("pim", event="run")
    assert (len(runs), sum(Fraction(one["hours"]) for one in runs)) == (7, 24)
    assert len({one["on"][:4] for one in runs}) == 3
    assert len(entries("pim", event="job")) == 5
    assert days_of("pim", task="impeller") == ["2023-10-14"]  # 33 months before 14 July 2026
    assert not entries("pim", engine="Old Two")


# ---- fleets of any size


def test_a_fleet_of_any_size_is_the_same_for_the_same_seed_and_read_and_run_weekly() -> None:
    fleet = make(30, 2, seed=5)
    assert fleet == make(30, 2, seed=5)
    assert fleet != make(30, 2, seed=6)
    per_event: defaultdict[str, int] = defaultdict(int)
    for one in fleet["log"]:
        per_event[one["event"]] += 1
    assert per_event["reading"] == per_event["run"] == 30 * 2 * 52
    assert per_event["job"] > 0
    assert fleet["log"][-1]["on"] == last_day(2).isoformat()
    for engine in fleet["engines"]:
        closes(engine, [one for one in fleet["log"] if one["engine"] == engine["engine"]])
