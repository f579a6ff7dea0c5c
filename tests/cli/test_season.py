"""The season's end and start: what belongs to it, and what was done logged with it in one go."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli.context import Desk
from fleetcare.cli.season import numbers_of
from tests.cli.typed import TODAY, fleetcare, one_line, refused, row, rows, widest, written


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


def jobs(text: str) -> dict[str, str]:
    """By job of the printed list, its paragraph on one line, in the order of the list."""
    found = re.findall(r"^ ?\d+ (.*?)(?=\n\n|\Z)", text, re.M | re.S)
    return {
        item.split("\n")[0].split(" (leads")[0].strip(): " ".join(item.split()) for item in found
    }


def entries(fleet: Path, event: str) -> list[tuple[Any, ...]]:
    return [entry for entry in written(fleet)["log"] if entry[4] == event]


# -- shown --------------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", ["lay-up", "launch"])
def test_without_engines_it_shows_what_it_would_do_and_how_to_log_it(
    ondrel: Path, mark: str
) -> None:
    before = written(ondrel)
    said = fleetcare(mark)
    assert written(ondrel) == before
    count = 24 if mark == "lay-up" else 2
    assert said.lines[0].startswith(f"{mark.capitalize()}, 18 Jul 2026: {count} engines, ")
    assert f"  fleetcare {mark} --all" in said.lines
    assert "Nothing is stored yet" in said.out


def test_with_none_left_it_says_so(small: Path) -> None:
    assert fleetcare("launch").out.startswith("No engine is laid up.")
    fleetcare("lay-up", "--all")
    assert fleetcare("lay-up").out.startswith("Every engine is laid up.")


def test_those_laid_up_with_jobs_left_are_named(small: Path) -> None:
    fleetcare("lay-up", "Plover", "--done", "old fuel")
    fleetcare("lay-up", "Knot", "--log-jobs")
    left = fleetcare("lay-up").out.split("Laid up already, with jobs left\n")[1].split("\n\n")[0]
    assert "  gear oil: Plover" in left.splitlines()
    assert "old fuel" not in left
    assert "Knot" not in left


def test_the_lists_facts_are_those_of_the_due_list_once_it_is_stored(ondrel: Path) -> None:
    listed = jobs(fleetcare("lay-up", "--all").out)
    after = rows("due")
    states = {(item["engine"], item["task"]): item["status"] for item in after}
    for task, text in listed.items():
        for engine in re.findall(r"(OB-\d+|Spare [AB]) \(overdue\)", text):
            assert states[engine, task] == "overdue", (engine, task)
        for engine in re.findall(r"(OB-\d+|Spare [AB]) \(no record\)", text):
            assert states[engine, task] == "no record", (engine, task)
        if ", overdue " in text and "all " in text:
            assert {states[e, t] for e, t in states if t == task} == {"overdue"}
    pressing = {
        item["task"] for item in after
        if item["engine"] not in ("OB-09", "OB-22")
        and (item["status"] == "overdue" or item["reason"].startswith("lay-up on"))
        and not item["reason"].startswith("launch on")
        and item["task"] not in LAUNCH_ONLY
    }  # fmt: skip
    assert pressing <= set(listed)


# Their season is the launch (intervals/small-petrol.toml): a lay-up leaves them to it.
LAUNCH_ONLY = {"intakes look", "tell-tale hose", "proof run", "gear oil peek", "swing test",
               "kill cord"}  # fmt: skip


def test_a_lay_up_lists_season_runs_and_calendar_the_leading_ones_first(small: Path) -> None:
    fleetcare("run", "Knot", 3)
    listed = jobs(fleetcare("lay-up").out)
    assert "at every lay-up" in listed["old fuel"]
    assert "Knot open since its runs" in listed["flush"]
    # impeller of Plover, 20 March and 12 months or more: due before April next
    by = {item["task"]: item["due_on"] for item in rows("due", "--engine", "Plover")}
    assert "due by 1 Apr 2027" in listed["bolts"]
    assert "kill cord" not in listed
    names = list(listed)
    leading = [name for name in names if "(leads to " in listed[name]]
    assert names[: len(leading)] == leading
    assert {"flush", "swivel grease"} <= set(leading)
    assert by["bolts"] is None or by["bolts"] < "2027-04-01"


def test_what_falls_due_only_after_the_next_launch_is_left_out(small: Path) -> None:
    everything = {item["task"] for item in rows("due", "--engine", "Plover")}
    for task in ("fuel line", "bolts", "plugs"):
        fleetcare("done", "Plover", task)
    fleetcare("lay-up", "Knot", "Spare")
    listed = set(jobs(fleetcare("lay-up").out))
    ahead = {item["task"]: item for item in rows("due", "--engine", "Plover", "--as-of", TODAY)}
    for task in ("fuel line", "bolts", "plugs"):
        assert task in everything
        assert (task in listed) is (ahead[task]["due_on"] <= "2027-04-01"), task


def test_a_job_done_for_the_lay_up_is_no_longer_on_its_list(small: Path) -> None:
    assert "old fuel" in jobs(fleetcare("lay-up", "Plover", "-n").out)
    fleetcare("done", "Plover", "old fuel", "--on", "2026-07-10")
    assert "old fuel" not in jobs(fleetcare("lay-up", "Plover", "-n").out)


def test_launch_shows_the_looks_of_the_first_start_and_the_first_months_jobs(ondrel: Path) -> None:
    listed = jobs(fleetcare("launch", "OB-09").out)
    assert "at every launch" in listed["intakes look"]
    assert "kill cord" in listed
    within = {
        item["task"] for item in rows("due", "--engine", "OB-09")
        if item["status"] == "overdue" or (item["due_on"] or "9") <= "2026-08-17"
    }  # fmt: skip
    assert within <= set(listed)


def test_minutes_parts_and_cautions_stand_on_the_list(ondrel: Path) -> None:
    said = fleetcare("lay-up", "OB-07", "OB-12", "-n").out
    listed = jobs(said)
    assert "5 min after gearcase drained; parts: 1 × gear oil" in listed["gear oil"]  # OB-07's
    assert "15 min each; parts each: 1 × anode" in listed["anodes"]
    assert "Work in all: " in said
    assert "2 × gearcase screw washer" in " ".join(said.split())
    assert "handbook, local codes and licensed practice come before" in " ".join(said.split())


@pytest.mark.parametrize("width", [40, 60, 80])
@pytest.mark.parametrize("mark", ["lay-up", "launch"])
def test_the_list_fits_a_phone_and_a_sheet(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch, width: int, mark: str
) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: width)
    said = fleetcare(mark, "--all", "--dry-run").lines
    said += fleetcare(mark).lines
    wide = [line for line in said if widest([line]) > width]
    assert all(line.startswith("  with the jobs done") for line in wide), wide


# -- logged -------------------------------------------------------------------------------------


def test_a_lay_up_stores_the_engines_and_counts_them(small: Path) -> None:
    said = fleetcare("lay-up", "Plover", "Knot", "plover")
    assert said.err == "2 engines laid up on 2026-07-18.\n"
    assert "Stored 2 entries, 3 to 4." in said.out
    assert len(entries(small, "lay-up")) == 2


def test_jobs_named_are_logged_with_it_as_one_command(small: Path) -> None:
    said = fleetcare("lay-up", "Plover", "Knot", "--done", "Gear Oil", "--done", "old fuel")
    assert "gear oil done: Plover, Knot" in said.out or "gear oil done: Knot, Plover" in said.out
    assert "Still to do: " in said.out
    last = written(small)["log"][2:]
    assert [entry[4] for entry in last].count("job") == 4
    assert len({entry[1] for entry in last}) == 1
    assert row("Plover", "gear oil")["last_done_on"] == TODAY
    fleetcare("undo")
    assert row("Plover", "gear oil")["last_done_on"] is None
    assert {item["engine"] for item in rows("morning")} == {"Plover", "Knot"}


def test_log_jobs_logs_every_job_for_the_engines_it_concerns(small: Path) -> None:
    fleetcare("run", "Knot", 3)
    listed = jobs(fleetcare("lay-up", "Plover", "Knot", "-n").out)
    fleetcare("lay-up", "Plover", "Knot", "--log-jobs")
    done = {(entry[5], entry[7]) for entry in entries(small, "job")[2:]}
    assert {task for _, task in done} == set(listed)
    flushed = [engine for engine, task in done if task == "flush"]
    assert len(flushed) == 1  # Plover lies in fresh water
    left = jobs(fleetcare("launch", "Plover", "-n").out)
    assert "gear oil" not in left


@pytest.mark.usefixtures("asked")
@pytest.mark.parametrize(
    ("answer", "count"), [("all", -1), ("none", 0), ("", 0), ("1 3-4", 3), ("99\n2", 1)]
)
def test_on_a_terminal_it_asks_which_were_done(small: Path, answer: str, count: int) -> None:
    listed = list(jobs(fleetcare("lay-up", "Plover", "-n").out))
    said = fleetcare("lay-up", "Plover", stdin=f"{answer}\n")
    assert "Which of these were done? all, none, or numbers such as 1 3 5-7" in said.out
    done = [entry[7] for entry in entries(small, "job")[2:]]
    assert len(done) == (len(listed) if count < 0 else count)
    if answer == "1 3-4":
        assert done == [listed[0], listed[2], listed[3]]


@pytest.mark.usefixtures("asked")
def test_broken_off_at_the_question_nothing_is_stored(small: Path) -> None:
    before = written(small)
    fleetcare("lay-up", "Plover", stdin="", code=130)
    assert written(small) == before


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("all", [1, 2, 3, 4]), ("None", []), ("", []), ("1,3", [1, 3]), ("2-4 1", [2, 3, 4, 1]),
        ("3 3", [3]), ("5", None), ("0", None), ("4-2", None), ("x", None), ("1 all", None),
        ("-2", None), ("1-", None),
    ],
)  # fmt: skip
def test_numbers_are_read_as_a_person_writes_them(text: str, numbers: list[int] | None) -> None:
    assert numbers_of(text, 4) == numbers


def test_laid_up_engines_keep_ageing_and_say_before_launch(small: Path) -> None:
    fleetcare("lay-up", "Plover", "--on", "2026-07-01")
    assert row("Plover", "swivel grease", "--as-of", "2026-09-30")["status"] == "overdue"
    assert "before launch" in fleetcare("due", "--engine", "Plover", "--as-of", "2026-09-30").out
    assert {item["engine"] for item in rows("morning")} == {"Knot"}


def test_all_takes_those_that_are_not_yet(small: Path) -> None:
    fleetcare("lay-up", "Plover")
    assert fleetcare("lay-up", "--all").err == "2 engines laid up on 2026-07-18.\n"
    said = fleetcare("launch", "--all", "--dry-run")
    assert "would store 3 entries." in said.out
    assert said.err == "3 engines would be launched on 2026-07-18.\n"
    assert fleetcare("launch", "--all").err == "3 engines launched on 2026-07-18.\n"
    assert "no engine to launch: none is laid up" in one_line(refused(small, "launch", "--all"))


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("lay-up", "--log-jobs"), "which engines were done? fleetcare lay-up ENGINE"),
        (("lay-up", "--done", "gear oil"), "which engines were done?"),
        (("launch", "Plover"), 'engine "Plover" is not laid up'),
        (("lay-up", "Plover", "Plovr"), 'Did you mean "Plover"?'),
        (("lay-up", "Plover", "--on", "2026-12-01"), "lies in the future"),
    ],
)
def test_a_season_that_cannot_be_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, *words))


def test_a_job_that_is_not_on_the_list_stores_nothing(small: Path) -> None:
    before = written(small)
    said = fleetcare("lay-up", "Plover", "--done", "gear ol", code=1)
    assert (
        'lay-up: "gear ol" is not on the list of this lay-up. Did you mean "gear oil"' in said.err
    )
    assert written(small) == before


def test_where_the_season_never_ends_the_list_says_what_is_due_now(small: Path) -> None:
    fleetcare("settings", "hemisphere", "tropics")
    listed = jobs(fleetcare("lay-up", "Plover", "-n").out)
    assert "tank flush" in listed
    assert "fuel line" not in listed or "no record" in listed["fuel line"]


def test_an_engine_laid_up_is_not_laid_up_again(small: Path) -> None:
    fleetcare("lay-up", "Plover")
    assert 'engine "Plover" is laid up already' in one_line(refused(small, "lay-up", "Plover"))
