"""A sheet filled in and given back: done --sheet."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fleetcare.cli import many
from tests.cli.typed import TODAY, fleetcare, one_line, refused, row, rows, written

NUMBER = re.compile(r"^sheet: (\S+)$", re.M)


@cache
def form(*words: object) -> str:
    """The empty form of a sheet, asked for once: each test begins with the same fleet."""
    fleetcare("sheet", "--form", "form.txt", *words)
    return Path("form.txt").read_text(encoding="utf-8")


def filled(text: str, *lines: str) -> str:
    """The form with lines put in the places of those of the same job, or of the same key."""
    for line in lines:
        head = re.match(r"\[.*?\] ([^|]*)|([a-z ]+:)", line)
        assert head is not None, line
        job = f"[ ] {head[1].strip()} |" if head[1] else head[2]
        assert text.count(f"\n{job}") == 1, (job, text)
        text = re.sub(rf"(?m)^{re.escape(job)}.*$", line.replace("\\", r"\\"), text)
    return text


def give(text: str, *words: object, code: int = 0) -> str:
    Path("back.txt").write_text(text, encoding="utf-8")
    return fleetcare("done", "--sheet", "back.txt", *words, code=code).out


def refuse(fleet: Path, text: str, *words: object) -> list[str]:
    """Give back what must be refused; the faults, each with the line it stands on."""
    Path("back.txt").write_text(text, encoding="utf-8")
    lines = refused(fleet, "done", "--sheet", "back.txt", *words).splitlines()
    return [line.removeprefix("fleetcare: done: ") for line in lines]


def line_of(text: str, start: str) -> str:
    """Where a line stands, as faults say it."""
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith(start):
            return f"back.txt:{number}: "
    raise AssertionError(start)


DONE = (
    "by: workshop",
    "reading: 473.5",
    "[x] swing test | found: Free one hand | note: after the grease",
    "[X] swivel grease | found: top and bottom | note:",
    "[✓] fuel line | note:",
)


def test_a_filled_form_changes_the_due_list_as_the_jobs_themselves_would(ondrel: Path) -> None:
    text = form("OB-21")
    number = NUMBER.findall(text)[0]
    out = give(filled(text, *DONE))
    assert "Stored 3 entries" in out
    assert "OB-21, not done: bolts, plugs" in out
    for task in ("swing test", "swivel grease", "fuel line"):
        item = row("OB-21", task)
        assert (item["status"], item["last_done_on"]) == ("clear", TODAY)
        assert item["last_done_hours"] == 473.5
    assert row("OB-21", "bolts")["status"] == "due"
    log = rows("history", "OB-21")[-3:]
    assert {item["by"] for item in log} == {"workshop"}
    assert log[0]["what"] == "OB-21: swing test done at 473.5 h, found swivel free one hand"
    assert log[0]["note"] == f"after the grease; sheet {number}"
    assert {item["note"] for item in log[1:]} == {f"sheet {number}"}


def test_it_says_the_same_as_done_typed_job_by_job(ondrel: Path) -> None:
    text = form("OB-14")
    give(filled(text, "[x] impeller | found: missing | count: 2 | note:"))
    by_sheet = rows("due", "--engine", "OB-14", "--all")
    fleetcare("undo")
    fleetcare("done", "OB-14", "impeller", "--found", "missing", "--count", 2)
    assert rows("due", "--engine", "OB-14", "--all") == by_sheet


def test_every_job_of_every_engine_of_the_fleet_goes_there_and_back(ondrel: Path) -> None:
    text = form("--due", "--boat", "Boat 14")
    ticked = re.sub(r"(?m)^\[ \]", "[x]", text)
    wanted = [item["task"] for item in rows("sheet", "--due", "--boat", "Boat 14")]
    give(ticked)
    found = {item["task"]: item["last_done_on"] for item in rows("due", "--engine", "OB-14")}
    looks = {"intakes look", "kill cord"}  # these have a row only while they are wanted
    assert {found[task] for task in wanted if task not in looks or task in found} == {TODAY}


def test_a_word_that_says_stop_holds_the_engine(ondrel: Path) -> None:
    out = give(filled(form("OB-21"), "[x] swing test | found: seized | note:"))
    assert "OB-21 is held" in out
    assert row("OB-21", "swivel strip")["held"]


def test_what_was_found_counts_although_the_job_was_not_done(ondrel: Path) -> None:
    out = give(filled(form("OB-21"), "[ ] bolts | found: sheared | note: no bolts here"))
    assert (
        "found bolts sheared" in out and "OB-21, not done: swing test, swivel grease, bolts" in out
    )
    assert row("OB-21", "bolts")["last_done_on"] == "2026-05-12"
    assert rows("history", "OB-21")[-1]["event"] == "finding"
    assert rows("history", "OB-21")[-1]["note"].startswith("no bolts here; sheet ")


def test_what_else_was_found_is_kept_line_by_line(ondrel: Path) -> None:
    text = filled(form("OB-21"), "also found: Water tube: pieces found 2")
    give(text + "also found: anode 50 % left\nalso found: tell-tale strong cool\n")
    kept = [item["what"] for item in rows("history", "OB-21")[-3:]]
    assert kept == [
        "OB-21: found water tube pieces found (2)", "OB-21: found anode 50 % left",
        "OB-21: found tell-tale strong cool",
    ]  # fmt: skip


def test_a_reading_alone_is_kept(ondrel: Path) -> None:
    give(filled(form("OB-21"), "reading: 474"))
    assert rows("history", "OB-21")[-1]["what"] == "OB-21 reads 474"


def test_a_note_of_what_was_not_done_is_said_with_what_would_keep_it(ondrel: Path) -> None:
    text = filled(form("OB-21"), "reading: 474", "[ ] plugs | note: none left | ask")
    Path("back.txt").write_text(text, encoding="utf-8")
    said = fleetcare("done", "--sheet", "back.txt")
    assert "plugs (none left | ask)" in " ".join(said.out.split())
    assert "fleetcare put-off" in said.err


def test_the_day_and_the_role_may_differ_from_engine_to_engine(ondrel: Path) -> None:
    text = form("OB-21", "OB-11", "--task", "linkage grease").replace("[ ]", "[x]")
    first, second = text.split("sheet: ")[1:]
    head = text.partition("sheet: ")[0].replace("by:", "by: jetty")
    second = second.replace("reading:", "reading:\non: 2026-07-16\nby: workshop")
    give(f"{head}sheet: {first}sheet: {second}")
    for engine, said in (("OB-21", ("jetty", TODAY)), ("OB-11", ("workshop", "2026-07-16"))):
        item = max(rows("history", engine), key=lambda item: item["entry"])
        assert (item["by"], item["on"]) == said


# -- each once -------------------------------------------------------------------------------------


def test_the_same_form_again_stores_nothing(ondrel: Path) -> None:
    text = filled(form("OB-21"), *DONE)
    give(text)
    before = written(ondrel)
    out = give(text)
    assert "there already" in out and "Nothing was stored." in out
    assert written(ondrel) == before


def test_two_who_give_back_the_same_form_at_once_store_it_once(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = filled(form("OB-21"), *DONE)
    before, judged, others = len(written(ondrel)["log"]), many.sifted, ["the other hand"]

    def meanwhile(*words: Any) -> Any:
        found = judged(*words)
        if others and others.pop():
            assert "Stored 3 entries" in give(text)
        return found

    monkeypatch.setattr(many, "sifted", meanwhile)
    said = give(text)
    assert "there already" in said and "Nothing was stored." in said
    assert len(written(ondrel)["log"]) == before + 3


def test_a_form_beside_one_who_writes_without_end_is_given_up(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text, judged = filled(form("OB-21"), *DONE), many.sifted

    def meanwhile(*words: Any) -> Any:
        fleetcare("incident", "OB-14", "grounded")
        return judged(*words)

    monkeypatch.setattr(many, "sifted", meanwhile)
    Path("back.txt").write_text(text, encoding="utf-8")
    said = one_line(fleetcare("done", "--sheet", "back.txt", code=5).err)
    assert "is written into without end. Nothing was stored; try again" in said
    assert not any("sheet" in item["note"] for item in rows("history", "OB-21"))


def test_lines_filled_in_later_are_taken_and_the_others_are_not_taken_twice(ondrel: Path) -> None:
    text = filled(form("OB-21"), *DONE)
    give(text)
    count = len(written(ondrel)["log"])
    give(filled(text, "[x] bolts | found: turned free | note:"))
    assert len(written(ondrel)["log"]) == count + 1
    assert row("OB-21", "bolts")["last_done_on"] == TODAY


def test_a_form_that_says_otherwise_than_before_is_refused_by_its_line(ondrel: Path) -> None:
    text = filled(form("OB-21"), *DONE)
    give(text)
    other = text.replace("found: top and bottom", "found: top only")
    fault = one_line("\n".join(refuse(ondrel, other)) + "\n")
    assert fault.startswith(line_of(other, "[X] swivel grease"))
    assert "said otherwise before" in fault and "fleetcare undo" in fault


def test_once_taken_back_the_form_may_be_given_again(ondrel: Path) -> None:
    text = filled(form("OB-21"), *DONE)
    give(text)
    fleetcare("undo")
    assert "Stored 3 entries" in give(text)


def test_a_job_that_somebody_logged_already_is_refused_unless_it_was_done_twice(
    ondrel: Path,
) -> None:
    text = filled(form("OB-21"), *DONE)
    fleetcare("done", "OB-21", "swing test", "--by", "office", "--on", "yesterday")
    faults = refuse(ondrel, text)
    assert len(faults) == 1 and faults[0].startswith(line_of(text, "[x] swing test"))
    assert "logged already by office on 2026-07-17" in faults[0]
    assert "Stored 3 entries" in give(text, "--again")


# -- what is wrong ---------------------------------------------------------------------------------

WRONG = (
    "[x] swing test | found: stif | note:",
    "[?] swivel grease | found: top and bottom | note:",
    "[x] bolts | fund: tight | note:",
    "[x] fuel line | found: wet | note:",
    "[x] plugs | count: 2 | note:",
)


def test_every_fault_is_named_by_its_line_and_nothing_is_stored(ondrel: Path) -> None:
    text = filled(form("OB-21"), *WRONG, "reading: 3", "also found: bilge wet")
    text += "[x] impellor | note:\nwhat is this\n"
    faults = refuse(ondrel, text)
    told = {
        "reading: 3": "reads 3.0 on 2026-07-18 but read 472.2 on 2026-07-17",
        WRONG[0]: 'condition "stif" is not one of the words for "swivel". One of: free one hand',
        WRONG[1]: '"[?]" is neither. Write [x] for done, [ ] for not done',
        WRONG[2]: '"fund: tight" is none of found, count, note',
        WRONG[3]: '"fuel line" has no part to judge. Write it behind also found:',
        WRONG[4]: "count: of what? It goes with found:",
        "also found: bilge": '"bilge wet" begins with no part',
        "[x] impellor": 'task "impellor" is not in the rule set "hire". Did you mean "impeller"?',
        "what is this": '"what is this" is no line of a sheet',
    }
    assert len(faults) == len(told)
    for start, what in told.items():
        place = line_of(text, start)
        assert [what in fault for fault in faults if fault.startswith(place)] == [True], (
            start,
            faults,
        )
    numbers = [int(fault.split(":")[1]) for fault in faults]
    assert numbers == sorted(numbers)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("on: 2026-07-20", "lies in the future (today is 2026-07-18)"),
        ("on: 07/08/2026", "could be 2026-08-07 or 2026-07-08"),
        ("on:", "on: is missing. Write the day it was done"),
        ("engine: OB-211", 'no engine "OB-211". Did you mean'),
        ("engine:", "engine: is missing"),
        ("sheet: nonsense", '"nonsense" is no number of a sheet'),
        ("reading: 4,735", "could be"),
        ("[x] swing test | found: free one hand | found: stiff | note:", "is none of found, count"),
        ("also found: tell-tale", "tell-tale: its condition is missing. One of: strong cool"),
        ("also found: impeller vanes missing", "how many? count: N goes with impeller vanes"),
        ("also found: impeller vanes missing 2000", "count: takes a whole number up to 999"),
    ],
)
def test_what_cannot_be_meant_is_refused(ondrel: Path, line: str, what: str) -> None:
    text = filled(form("OB-21"), "[x] fuel line | note:", line)
    fault = one_line("\n".join(refuse(ondrel, text)) + "\n")
    assert what in fault
    assert fault.startswith("back.txt:")


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda text: text + "[x] fuel line | note:\n", "fuel line stands twice (also back.txt:"),
        (lambda text: text + "reading: 5\n", "reading: stands twice"),
        (lambda text: text + text[text.index("sheet:") :], "stands twice (also back.txt:"),
        (lambda text: text[: text.index("sheet:")], "no sheet stands in it"),
        (lambda text: "[x] plugs\n" + text, "a job of which sheet?"),
        (lambda text: "reading: 4\n" + text, "reading: of which sheet?"),
    ],
)
def test_a_form_out_of_shape_is_refused(ondrel: Path, change: object, what: str) -> None:
    assert callable(change)
    text = change(filled(form("OB-21"), "[x] fuel line | note:", "reading: 473"))
    assert any(what in fault for fault in refuse(ondrel, text))


def test_an_empty_form_stores_nothing_and_says_how_it_is_filled_in(ondrel: Path) -> None:
    assert "nothing on it is ticked or found" in one_line(
        "\n".join(refuse(ondrel, form("OB-21"))) + "\n"
    )


def test_keep_good_stores_the_rest_and_names_what_it_left_out(ondrel: Path) -> None:
    text = filled(form("OB-21"), DONE[2], *WRONG[1:3])
    Path("back.txt").write_text(text, encoding="utf-8")
    said = fleetcare("done", "--sheet", "back.txt", "--keep-good", code=6)
    assert "Stored 1 entry" in said.out
    left = [line for line in said.err.splitlines() if "left out" in line]
    assert [line.split(":")[2] for line in left] == [
        line_of(text, WRONG[1]).split(":")[1], line_of(text, WRONG[2]).split(":")[1],
    ]  # fmt: skip
    assert row("OB-21", "swing test")["last_done_on"] == TODAY
    # mended, the rest follows, and the first is not taken again
    mended = text.replace("[?]", "[x]").replace("fund:", "found:")
    assert "Stored 2 entries" in give(mended)


def test_a_wrong_figure_leaves_its_engine_out_and_no_other(ondrel: Path) -> None:
    text = form("OB-21", "OB-02", "--task", "linkage grease").replace("[ ]", "[x]")
    before, after = text.split("sheet: ")[1:]
    head = text.partition("sheet: ")[0]
    text = f"{head}sheet: {before.replace('reading:', 'reading: 3')}sheet: {after}"
    give(text, "--keep-good", code=6)
    assert row("OB-21", "linkage grease")["last_done_on"] != TODAY
    assert row("OB-02", "linkage grease")["last_done_on"] == TODAY


def test_a_dry_run_says_what_would_be_stored_and_stores_nothing(ondrel: Path) -> None:
    before = written(ondrel)
    out = give(filled(form("OB-21"), *DONE), "--dry-run")
    assert "would store 3 entries" in out and "swing test done at 473.5 h" in out
    assert written(ondrel) == before


# -- how it comes ----------------------------------------------------------------------------------


def test_it_comes_by_stdin_too_and_lines_are_named_without_a_file(ondrel: Path) -> None:
    text = filled(form("OB-21"), WRONG[0])
    fault = one_line(refused(ondrel, "done", "--sheet", "-", stdin=text))
    assert re.match(r"fleetcare: done: line \d+: condition", fault)
    assert "Stored 1" in fleetcare("done", "--sheet", "-", stdin=text.replace("stif", "stiff")).out


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_other_editors_line_ends_marks_and_letters_do_no_harm(ondrel: Path, encoding: str) -> None:
    text = filled(form("OB-21"), *DONE).replace("\n", "\r\n").replace(" | ", "\t|\t")
    text = text.replace("engine: OB-21", "ENGINE:ob-21").replace("sheet: ", "Sheet:  ").lower()
    Path("back.txt").write_bytes(text.encode(encoding))
    assert "Stored 3 entries" in fleetcare("done", "--sheet", "back.txt").out


def test_letters_of_the_number_that_look_like_figures_are_read_as_those(ondrel: Path) -> None:
    text = filled(form("OB-21"), *DONE)
    number = NUMBER.findall(text)[0]
    give(text.replace(number, number.replace("0", "O").replace("1", "l").lower()))
    assert rows("history", "OB-21")[-1]["note"] == f"sheet {number}"


def test_a_file_that_is_no_text_is_refused(ondrel: Path) -> None:
    Path("back.txt").write_bytes(b"sheet: \xff\xfe")
    assert "is not UTF-8" in one_line(refused(ondrel, "done", "--sheet", "back.txt"))
    assert "No such file" in one_line(refused(ondrel, "done", "--sheet", "none.txt"))


@pytest.mark.parametrize(
    "words", [("OB-21",), ("OB-21", "plugs"), ("--reading", "5"), ("--on", "yesterday"),
              ("--found", "stiff"), ("--note", "x")]
)  # fmt: skip
def test_what_the_sheet_says_itself_is_not_taken_from_the_line(
    ondrel: Path, words: tuple[str, ...]
) -> None:
    Path("back.txt").write_text(filled(form("OB-21"), *DONE), encoding="utf-8")
    text = one_line(refused(ondrel, "done", "--sheet", "back.txt", *words))
    assert "the sheet says that itself" in text


@pytest.mark.parametrize("words", [(), ("OB-21",), ("OB-21", "plugs", "--keep-good")])
def test_without_a_sheet_done_wants_its_engine_and_jobs(
    ondrel: Path, words: tuple[str, ...]
) -> None:
    said = fleetcare("done", *words, code=2)
    assert "Missing argument" in said.err or "--keep-good goes with --sheet" in said.err


@pytest.mark.parametrize("name", ['Škagen | 3: "x"', "# one", "[x] two", "שלום עולם"])
def test_engines_of_any_name_go_there_and_back(small: Path, name: str) -> None:
    fleetcare("engine", "add", "--hp", 6, "--since", "2026-04-01", "--reading", 5, "--", name)
    text = form("--task", "plugs", "--", name).replace("[ ] plugs", "[x] plugs")
    assert "Stored 1 entry" in give(text)
    assert row(name, "plugs")["last_done_on"] == TODAY


def test_done_of_a_job_with_nothing_found_says_so(ondrel: Path) -> None:
    Path("back.txt").write_text(filled(form("OB-21"), "[x] swing test"), encoding="utf-8")
    said = fleetcare("done", "--sheet", "back.txt")
    assert "done without a condition found: OB-21 swing test" in said.err
