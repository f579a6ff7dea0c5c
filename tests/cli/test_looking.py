"""The commands that look: morning, due, why, history, log."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from fleetcare.cli.looking import printed
from tests.cli.typed import TODAY, fleetcare, one_line, refused, row, rows, written

VERDICTS = ("held", "go, but", "go")


def words_of(text: str) -> str:
    return " ".join(text.split())


# -- morning ------------------------------------------------------------------------------------


def test_the_morning_list_has_every_boat_that_could_go_worst_first(ondrel: Path) -> None:
    found = rows("morning")
    boats = {f"Boat {number}" for number in range(1, 25)} - {"Boat 9", "Boat 22"}  # laid up
    assert {item["boat"] for item in found} == boats
    assert len(found) == 22
    order = [VERDICTS.index(item["verdict"]) for item in found]
    assert order == sorted(order)
    assert all(bool(item["reason"]) == (item["verdict"] != "go") for item in found)


def test_the_last_line_counts_the_boats(ondrel: Path) -> None:
    verdicts = [item["verdict"] for item in rows("morning")]
    held, but, go = (verdicts.count(word) for word in VERDICTS)
    assert fleetcare("morning").lines[-1] == f"22 boats: {held} held; {but} go, but …; {go} go."


def test_the_morning_list_says_how_old_the_figures_are(small: Path) -> None:
    ages = {item["engine"]: item["reading_age_days"] for item in rows("morning")}
    assert ages == {"Plover": 108, "Knot": None}  # Plover was read on 1 April, 108 days before
    fleetcare("run", "Knot", 2, "--on", "yesterday")
    said = words_of(fleetcare("morning").out)
    assert "108 days ago" in said
    assert "1 day ago" in said


def healthy() -> None:
    """A fleet of one new engine that goes."""
    fleetcare("new")
    fleetcare("boat", "add", "Teal", "--use", "owner", "--water", "fresh")
    fleetcare("engine", "add", "Smew", "--new", "--boat", "Teal")
    for task in ("intakes look", "proof run", "kill cord", "gear oil peek", "swing test"):
        fleetcare("done", "Smew", task)


@pytest.mark.usefixtures("fleet")
def test_if_any_is_silent_when_every_boat_goes() -> None:
    healthy()
    assert fleetcare("morning").lines == ["go: Teal", "1 boat: 0 held; 0 go, but …; 1 go."]
    said = fleetcare("morning", "--if-any")
    assert (said.out, said.err) == ("", "")
    fleetcare("found", "Smew", "swivel", "stiff")
    said = fleetcare("morning", "--if-any")
    assert "swivel stiff, 18 Jul" in said.out
    assert "go: " not in said.out


def test_a_boat_with_two_engines_is_as_bad_as_the_worse_one(small: Path) -> None:
    fleetcare("engine", "mount", "Spare", "Lapwing")
    fleetcare("found", "Spare", "tell-tale", "weak")
    lapwing = [item for item in rows("morning") if item["boat"] == "Lapwing"]
    assert [(item["engine"], item["verdict"]) for item in lapwing] == [("Spare", "held")]


def test_an_empty_fleet_says_that_there_is_no_boat(fleet: Path) -> None:
    fleetcare("new")
    assert one_line(fleetcare("morning").out).startswith("No boat has an engine")
    assert fleetcare("morning", "--if-any").out == ""
    assert fleetcare("due").out == "No engine has a job to list.\n"


# -- due ----------------------------------------------------------------------------------------


def test_every_job_is_in_the_json_and_the_table_counts_them(ondrel: Path) -> None:
    found = rows("due")
    count = dict.fromkeys(("overdue", "no record", "due", "clear"), 0)
    for item in found:
        count[item["status"]] += 1
    assert fleetcare("due").lines[-1] == (
        f"{count['overdue']} overdue, {count['no record']} no record, {count['due']} due, "
        f"{count['clear']} clear, not shown (--all shows them)."
    )
    assert fleetcare("due", "--all").lines[-1].endswith(f"{count['clear']} clear.")


def place(item: dict[str, object]) -> tuple[object, ...]:
    harms = item["leads_to"]
    assert isinstance(harms, list)
    leads = {"overheating", "seized swivel"} & set(harms)
    precursor = bool(leads) and item["status"] in ("overdue", "no record")
    rank = {"overdue": 2, "due": 3, "no record": 4, "clear": 5}[str(item["status"])]
    if precursor:
        rank = 0 if item["status"] == "overdue" else 1
    return not item["held"], rank


def test_held_stand_first_then_overdue_precursors_then_precursors_without_record(
    ondrel: Path,
) -> None:
    found = rows("due")
    assert [place(item) for item in found] == sorted(place(item) for item in found)
    worst = [item["life_used"] or item["life_floor"] or 0 for item in found
             if place(item) == (True, 0)]  # fmt: skip
    assert worst == sorted(worst, reverse=True)


def test_the_four_formats_hold_the_same_rows(small: Path) -> None:
    whole = json.loads(fleetcare("due", "--format", "json").out)
    assert {key: whole[key] for key in ("fleetcare", "as_of")} == {"fleetcare": 1, "as_of": TODAY}
    lines = fleetcare("due", "--format", "ndjson").lines
    assert [json.loads(line) for line in lines] == whole["rows"]
    table = list(csv.DictReader(io.StringIO(fleetcare("due", "--format", "csv").out)))
    assert [item["task"] for item in table] == [item["task"] for item in whole["rows"]]
    assert list(table[0]) == list(whole["rows"][0])


def test_only_one_boat_one_engine_or_one_harm(ondrel: Path) -> None:
    assert {item["engine"] for item in rows("due", "--boat", "boat 3")} == {"Spare A"}
    assert {item["boat"] for item in rows("due", "--engine", "Teaspoon")} == {"Boat 19"}
    found = rows("due", "--leads-to", "seized swivel")
    assert found
    assert all("seized swivel" in item["leads_to"] for item in found)


def test_within_keeps_what_is_due_by_then(ondrel: Path) -> None:
    shown = {(item["engine"], item["task"]) for item in rows("due", "--within", "14")}
    for item in rows("due"):
        early = item["due_on"] is not None and item["due_on"] <= "2026-08-01"
        wanted = item["status"] in ("overdue", "no record") or early
        assert ((item["engine"], item["task"]) in shown) == wanted


def test_check_tells_by_its_exit_code(ondrel: Path) -> None:
    assert fleetcare("due", "--check", code=3).out
    assert fleetcare("due", "--check", "--engine", "OB-01").code == 0
    fleetcare("due", "--check", "--engine", "OB-09")  # overdue, but laid up
    fleetcare("due", "--check", "--engine", "Spare B")  # in store
    fleetcare("due", "--check", "--engine", "OB-17", code=3)  # held


def test_a_day_in_the_past_shows_what_was_known_then(ondrel: Path) -> None:
    before = row("OB-14", "impeller", "--as-of", "2026-06-27")
    assert not before["held"]
    assert not row("OB-17", "gear oil", "--as-of", "2026-05-15")["held"]
    assert row("OB-17", "gear oil", "--as-of", "2026-05-16")["held"]


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--engine", "OB-144"), 'no engine "OB-144". Did you mean "OB-14"'),
        (("--boat", "Bot 9"), 'no boat "Bot 9". Did you mean "Boat 9"'),
        (
            ("--leads-to", "overheeting"),
            'no rule leads to "overheeting". Did you mean "overheating"',
        ),
        (("--leads-to", "rain"), "One of: "),
        (("--as-of", "03/04/2026"), "2026-04-03 or 2026-03-04"),
        (("--as-of", "9999-12-31"), "too far ahead"),
        (("--as-of", "1889-12-31"), "lies before there were such engines"),
    ],
)
def test_an_unknown_filter_is_refused(ondrel: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(ondrel, "due", *words))


# -- why ----------------------------------------------------------------------------------------


def test_the_working_names_entries_limits_and_the_sum(ondrel: Path) -> None:
    said = fleetcare("why", "OB-07", "gear oil").lines
    assert said[0] == "OB-07: gear oil, overdue on 2026-07-18"
    assert "Clock: from 2026-04-14, done on OB-07 at 614.8 h (entry 3161)." in said
    # 14 April to 18 July is 95 days; three months from 14 April are 91 (to 14 July)
    assert "  fresh: 95 days of 3 months = 91 days = 95/91 = 1.0440" in said
    # 709.6 - 614.8 = 94.8 of 100 h
    assert "  fresh: 94.8 h of 100 h = 237/250 = 0.9480" in said
    assert "Due on 2026-07-14, overdue since 2026-07-15." in said
    assert any(line.startswith("Rule: set hire (intervals/hire.toml). Source: ") for line in said)


def test_a_long_list_of_entries_is_cut_in_the_middle_and_whole_with_all(ondrel: Path) -> None:
    short = fleetcare("why", "OB-14", "impeller").out
    cut = re.search(r"(\d+) between these \(--all shows them\)", short)
    assert cut
    whole = fleetcare("why", "OB-14", "impeller", "--all").lines
    assert len(whole) == len(short.splitlines()) - 1 + int(cut[1])


def test_no_record_is_said_to_be_the_least(small: Path) -> None:
    said = words_of(fleetcare("why", "Plover", "gear oil").out)
    assert "no job is on record. Known since 2026-04-01" in said
    assert "the least it can have used" in said


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("OB-21", "swivel"), 'task "swivel" is not in the rule set "hire". Did you mean "swivel'),
        (("OB-211", "swivel grease"), 'Did you mean "OB-21"'),
        (("OB-14", "relief valve"), '"relief valve" does not fit this engine'),
        (("OB-14", "impeller", "--as-of", "2020-01-01"), "not known yet by then"),
    ],
)
def test_what_has_no_working_is_refused(ondrel: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(ondrel, "why", *words))


# -- history and log ----------------------------------------------------------------------------


def test_history_leaves_nothing_out_and_marks_what_was_withdrawn(small: Path) -> None:
    fleetcare("reading", "Plover", 260, "--note", "by torch")
    fleetcare("undo")
    said = fleetcare("history", "plover").lines
    assert said[0] == ("Plover: 6 hp, four-stroke, known since 2026-04-01, when it read 250")
    body = said[3:]
    assert "impeller done at 250 h" in body[0]
    assert "[withdrawn] reads 260 - by torch" in body[2]
    assert "entry 3 withdrawn" in body[3]


def test_history_as_csv_has_the_same_entries(ondrel: Path) -> None:
    said = fleetcare("history", "OB-14", "--format", "csv").out
    table = list(csv.DictReader(io.StringIO(said)))
    assert [line["entry"] for line in table] == [
        str(item["entry"]) for item in rows("history", "OB-14")
    ]
    assert {"on": "2026-07-05", "what": "OB-14: overheated"}.items() <= next(
        line for line in table if line["event"] == "incident"
    ).items()


def test_cells_that_a_spreadsheet_would_run_are_text(small: Path) -> None:
    # formulas begin with = + - or @: OWASP, "CSV Injection"
    fleetcare("reading", "Plover", 260, "--note", "=1+1")
    table = list(csv.DictReader(io.StringIO(fleetcare("history", "Plover", "--format", "csv").out)))
    assert table[-1]["note"] == "'=1+1"


def test_a_swap_stands_in_the_history_of_both_engines(small: Path) -> None:
    fleetcare("swap", "Plover", "Spare", "gearcase")
    for name in ("Plover", "Spare"):
        assert "Plover and Spare exchanged their gearcase" in fleetcare("history", name).out


def test_the_log_shows_the_last_entries_and_says_how_many_more(ondrel: Path) -> None:
    said = fleetcare("log", "--last", "3")
    assert len(said.lines) == 3
    total = len(written(ondrel)["log"])
    assert said.err == f"{total - 3} earlier ones not shown (--all).\n"
    assert len(fleetcare("log", "--all").lines) == total
    assert fleetcare("log", "--last", "3", "--quiet").err == ""


def test_the_log_of_one_engine(small: Path) -> None:
    fleetcare("run", "Knot", 2)
    assert all("Plover" in line for line in fleetcare("log", "Plover").lines)
    fleetcare("new", "--fleet", "other.db")
    assert fleetcare("log", "--fleet", "other.db").err == "The log is empty.\n"


# -- lists in parts ------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["json", "ndjson"])
@pytest.mark.parametrize(("many", "good"), [(3, 2), (1200, 1100), (30_000, 30_000)])
def test_a_list_is_whole_or_not_there_when_a_row_of_it_fails(
    form: str, many: int, good: int, capsys: pytest.CaptureFixture[str]
) -> None:
    def made() -> Iterator[dict[str, int]]:
        for number in range(many):
            if number == good:
                raise ZeroDivisionError
            yield {"row": number}

    def show() -> None:
        printed(form, made, date(2026, 7, 18), (), str)

    if good < many:
        with pytest.raises(ZeroDivisionError):
            show()
        assert capsys.readouterr().out == ""
        return
    show()
    out = capsys.readouterr().out
    found = json.loads(out)["rows"] if form == "json" else [*map(json.loads, out.splitlines())]
    assert found == [{"row": number} for number in range(many)]


def test_boats_that_are_laid_up_are_named_and_not_called_fit_to_go(small: Path) -> None:
    assert "laid up" not in fleetcare("morning").out
    fleetcare("lay-up", "Knot")
    lines = fleetcare("morning").lines
    assert "laid up: Dunlin" in lines
    assert lines[-1].startswith("1 boat: ")
    assert fleetcare("morning", "--if-any").out.count("Dunlin") == 0
