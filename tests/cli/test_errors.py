"""Errors as users meet them: one sentence, the right exit code, nothing written."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from fleetcare.cli.main import cli
from fleetcare.store.file import open_file
from tests.cli.typed import ESCAPE, ROOT, fleetcare, one_line, refused, written

NEED_A_FLEET = [
    ("settings",),
    ("boat", "list"),
    ("boat", "add", "Teal", "--use", "hire", "--water", "salt"),
    ("engine", "list"),
    ("engine", "add", "Teal", "--new"),
    ("swap", "a", "b", "gearcase"),
    ("lay-up", "--all"),
    ("launch", "--all"),
    ("reading", "a", "1"),
    ("run", "a", "1"),
    ("done", "a", "impeller"),
    ("found", "a", "tell-tale", "weak"),
    ("incident", "a", "overheated"),
    ("evening",),
    ("put-off", "a", "plugs", "--until", "2026-08-01", "--because", "x"),
    ("morning",),
    ("due",),
    ("why", "a", "plugs"),
    ("history", "a"),
    ("log",),
    ("undo",),
    ("feed", "write", "x.ics"),
    ("import", str(ROOT / "examples" / "pim")),
    ("export", "tables"),
    ("check",),
    ("backup", "x.db"),
]
CHANGES = [
    ("settings", "by", "jetty"),
    ("boat", "add", "Teal", "--use", "hire", "--water", "salt"),
    ("boat", "move", "Lapwing", "salt"),
    ("boat", "retire", "Teal"),
    ("engine", "add", "Smew", "--new", "--last", "plugs=2026-06-01"),
    ("engine", "mount", "Spare", "Lapwing"),
    ("engine", "into-store", "Plover"),
    ("engine", "retire", "Plover"),
    ("engine", "rename", "Plover", "Smew"),
    ("engine", "also-called", "Plover", "Smew"),
    ("swap", "Plover", "Spare", "gearcase"),
    ("lay-up", "--all"),
    ("launch", "Knot"),
    ("reading", "Plover", "260"),
    ("reading", "Plover", "5", "--old-meter", "260"),
    ("run", "Knot", "3"),
    ("done", "Plover", "plugs", "gear oil"),
    ("found", "Plover", "tell-tale", "weak"),
    ("incident", "Plover", "overheated"),
    ("put-off", "Plover", "plugs", "--until", "2026-08-01", "--because", "x"),
    ("evening", "--file", "round.txt"),
    ("undo",),
    ("undo", "1"),
    ("import", str(ROOT / "examples" / "pim")),
]


@pytest.mark.parametrize("words", NEED_A_FLEET, ids=" ".join)
def test_without_a_fleet_every_command_says_how_to_get_one(
    fleet: Path, words: tuple[str, ...]
) -> None:
    said = one_line(refused(fleet, *words))
    assert f"no fleet yet at {fleet}. fleetcare new makes one, fleetcare demo shows" in said
    assert sorted(fleet.parent.iterdir()) == []


@pytest.mark.parametrize("words", CHANGES, ids=" ".join)
def test_a_dry_run_says_what_would_be_stored_and_stores_nothing(
    small: Path, words: tuple[str, ...]
) -> None:
    Path("round.txt").write_text("Knot 3\n", encoding="utf-8")
    if words[:2] == ("boat", "retire"):
        fleetcare("boat", "add", "Teal", "--use", "hire", "--water", "salt")
    if words[0] == "launch":
        fleetcare("lay-up", "Knot")
    before = written(small)
    said = fleetcare(*words, "--dry-run")
    assert written(small) == before
    assert "would" in said.out or "is now" in said.out or "is also called" in said.out
    fleetcare(*words)
    assert written(small) != before


def test_a_fault_of_ours_leaves_a_report_and_no_traceback(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)

    def broken(self: Desk) -> str:
        raise ZeroDivisionError("secret sauce")

    monkeypatch.setattr(Desk, "stamp", broken)
    said = one_line(refused(small, "reading", "Plover", 260, code=70))
    assert said.startswith("fleetcare: reading: a fault of ours (ZeroDivisionError)")
    report = Path(said.split("The report is in ")[1].split(";")[0])
    text = report.read_text(encoding="utf-8")
    assert text.startswith("fleetcare ")
    assert "secret sauce" in text
    with pytest.raises(ZeroDivisionError):
        cli(["--debug", "reading", "Plover", "260"], standalone_mode=False)


def test_an_interruption_says_what_is_kept(small: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(self: Desk) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(Desk, "stamp", interrupted)
    before = written(small)
    said = fleetcare("reading", "Plover", 260, code=130)
    assert said.err == "\nfleetcare: reading: interrupted; what was said to be stored is kept\n"
    assert written(small) == before


@pytest.mark.parametrize(
    "words",
    [("dew",), ("reading",), ("due", "--nosuch"), ("boat", "add", "x", "--use", "y"), ("undo", "x"),
     ("reading", "Plover", "260", "extra"), ("due", "--format", "xml")],
)  # fmt: skip
def test_wrong_usage_is_exit_code_2(small: Path, words: tuple[str, ...]) -> None:
    before = written(small)
    said = fleetcare(*words, code=2)
    assert said.err.startswith("Usage: fleetcare")
    assert written(small) == before


def test_a_command_that_is_nearly_right_gets_the_nearest(small: Path) -> None:
    assert "'done'" in fleetcare("doen", code=2).err


@pytest.mark.parametrize("content", [b"", b"not a database at all, only text" * 50])
def test_a_file_that_is_no_fleet_is_left_alone(fleet: Path, content: bytes) -> None:
    fleet.write_bytes(content)
    said = fleetcare("due", code=4)
    assert said.err.startswith("fleetcare: due: ")
    assert fleet.read_bytes() == content


def test_a_fleet_of_another_program_or_a_newer_version_is_left_alone(fleet: Path) -> None:
    connection = sqlite3.connect(fleet)
    connection.execute("create table mine (x)")
    connection.commit()
    connection.close()
    assert fleetcare("reading", "Plover", 1, code=4).out == ""


def test_a_fleet_held_by_another_program_is_busy(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(open_file, "__defaults__", (0.0,))  # do not wait
    holder = sqlite3.connect(small, isolation_level=None)
    holder.execute("begin immediate")
    try:
        said = fleetcare("reading", "Plover", 260, code=5)
    finally:
        holder.rollback()
        holder.close()
    assert said.err.startswith("fleetcare: reading: ")


def test_quiet_leaves_the_results_and_the_errors(small: Path) -> None:
    loud = fleetcare("incident", "Plover", "grounded", "-n")
    quiet = fleetcare("incident", "Plover", "grounded", "-n", "--quiet")
    assert loud.err.startswith("Caution: ")
    assert (quiet.out, quiet.err) == (loud.out, "")
    assert refused(small, "reading", "Plovr", 260, "--quiet")


def test_shared_options_stand_before_or_after_the_command(small: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    fleetcare("--fleet", other, "new")
    assert fleetcare("--fleet", other, "due").out == fleetcare("due", "--fleet", other).out
    assert fleetcare("due").out != fleetcare("due", "--fleet", other).out


@pytest.mark.parametrize("command", ["morning", "due", "log", "history Plover"])
def test_no_colour_in_a_pipe(small: Path, command: str) -> None:
    assert ESCAPE not in fleetcare(*command.split()).out


# -- as a process of its own --------------------------------------------------------------------


def process(*words: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "fleetcare", *words], input=stdin, capture_output=True, text=True,
        check=False, env={**_environ(), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def _environ() -> dict[str, str]:
    import os

    return dict(os.environ)


def test_as_a_process_results_and_errors_go_their_ways(small: Path) -> None:
    done = process("evening", "--on", "2026-07-04", "--file", "-", stdin="Plover 255\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert "1 taken, 1 missing:\n  Knot, no figure yet\n" in done.stdout
    wrong = process("reading", "Plovr", "260")
    assert (wrong.returncode, wrong.stdout) == (1, "")
    assert wrong.stderr == ('fleetcare: reading: no engine "Plovr". Did you mean "Plover"?\n')


def test_a_reader_that_goes_away_leaves_no_traceback(ondrel: Path) -> None:
    child = subprocess.Popen(
        [sys.executable, "-m", "fleetcare", "log", "--all"], stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, env={**_environ(), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.readline()
    child.stdout.close()
    said = child.stderr.read()
    child.stderr.close()
    assert child.wait() in (0, 1)
    assert b"Traceback" not in said


def test_a_letter_the_output_cannot_show_is_no_error(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleetcare("boat", "add", "かわうそ", "--use", "hire", "--water", "salt")
    monkeypatch.setenv("PYTHONIOENCODING", "latin-1")
    done = process("boat", "list")
    assert (done.returncode, done.stderr) == (0, "")
    assert "????" in done.stdout
