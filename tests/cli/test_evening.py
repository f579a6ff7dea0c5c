"""The evening round: asked on a terminal, or taken from lines."""

from __future__ import annotations

import os
import pty
import select
import sys
from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import ESCAPE, ROOT, fleetcare, refused, rows, written


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


def readings(fleet: Path) -> list[int]:
    return [entry[9] for entry in written(fleet)["log"] if entry[4] == "reading"]


# -- from lines ---------------------------------------------------------------------------------


def test_a_round_is_taken_from_a_file_and_the_missing_are_named(
    small: Path, tmp_path: Path
) -> None:
    (tmp_path / "round.txt").write_text("# Saturday\n\nplover 255,5\n", encoding="utf-8")
    said = fleetcare("evening", "--file", "round.txt", "--by", "jetty")
    assert said.lines[-1] == "1 taken, 1 missing: Knot."
    assert readings(small) == [25550]


def test_a_round_is_taken_from_a_pipe(small: Path) -> None:
    said = fleetcare("evening", "--file", "-", stdin="Plover 255\nKnot 3:30\n")
    assert said.lines[-1] == "2 taken, none missing."
    hours = {item["engine"]: item["hours_since"] for item in rows("due") if item["task"] == "plugs"}
    assert hours == {"Plover": 5.0, "Knot": 3.5, "Spare": 0.0}
    assert "(hire time)" in fleetcare("log", "Knot").out  # Dunlin is a hire boat


def test_a_line_that_is_wrong_is_named_and_none_is_taken(small: Path) -> None:
    lines = "Plover 255\nKnot abc\nKnt 3\nSpare 95\nPlover\n"
    said = refused(small, "evening", "--file", "-", stdin=lines).splitlines()
    assert said == [
        'fleetcare: evening: line 2: figure: takes a number such as 12.5, not "abc"',
        'fleetcare: evening: line 3: no engine "Knt". Did you mean "Knot"?',
        'fleetcare: evening: line 4: engine "Spare" is not mounted, or laid up. If it ran all the '
        "same: fleetcare reading or run, for Spare alone",
        'fleetcare: evening: line 5: "Plover" is not ENGINE FIGURE',
    ]


def test_a_falling_figure_refuses_the_whole_round(small: Path) -> None:
    said = refused(small, "evening", "--file", "-", stdin="Knot 3\nPlover 20\n")
    assert 'engine "Plover" reads 20.0 on 2026-07-18 but read 250.0' in said


def test_more_than_a_day_of_hours_is_refused(small: Path) -> None:
    assert "a day has 24" in refused(small, "evening", "--file", "-", stdin="Knot 25\n")


def test_a_file_that_is_not_there_is_named(small: Path) -> None:
    assert "nosuch.txt" in refused(small, "evening", "--file", "nosuch.txt")


def test_a_script_without_lines_is_told_how(small: Path) -> None:
    assert "--file FILE, or --file -" in refused(small, "evening")


def test_laid_up_engines_are_not_missing(small: Path) -> None:
    fleetcare("lay-up", "Knot")
    assert fleetcare("evening", "--file", "-", stdin="").out == "0 taken, 1 missing: Plover.\n"


def test_a_fleet_with_nothing_mounted_has_no_round(fleet: Path) -> None:
    fleetcare("new")
    assert fleetcare("evening", "--file", "-", stdin="").out.startswith("No engine is mounted")


def test_those_read_already_are_counted_and_not_asked_for(small: Path) -> None:
    fleetcare("reading", "Plover", 255)
    said = fleetcare("evening", "--file", "-", stdin="Knot 2\n")
    assert said.lines[-1] == "1 taken, 1 there already, none missing."


def test_a_dry_run_keeps_nothing(small: Path) -> None:
    before = written(small)
    said = fleetcare("evening", "-n", "--file", "-", stdin="Plover 255\n")
    assert said.lines[0] == "would store 2026-07-18 Plover reads 255"
    assert written(small) == before


# -- asked --------------------------------------------------------------------------------------


@pytest.mark.usefixtures("asked")
def test_each_engine_is_asked_for_with_its_last_figure_and_enter_skips(small: Path) -> None:
    said = fleetcare("evening", stdin="\n255.5\n")
    assert said.lines[0].startswith("Knot (Dunlin): hours run, up to 12: ")
    assert "Plover (Lapwing): was 250 on 1 Apr, up to " in said.out
    assert said.lines[-1] == "1 taken, 1 missing: Knot."
    assert readings(small) == [25550]


@pytest.mark.usefixtures("asked")
def test_a_refused_figure_is_told_and_asked_for_again(small: Path) -> None:
    said = fleetcare("evening", stdin="\n20\nx\n255\n")
    assert said.out.count("Plover (Lapwing): was 250") == 3
    errors = said.err.splitlines()
    assert errors[0].startswith('fleetcare: evening: engine "Plover" reads 20.0 on 2026-07-18')
    assert errors[1].startswith("fleetcare: evening: hours: takes a number")
    assert readings(small) == [25500]


@pytest.mark.usefixtures("asked")
def test_a_figure_beyond_what_was_expected_is_asked_about(small: Path) -> None:
    said = fleetcare("evening", stdin="13\nn\n3\n\n")
    assert "13 is more than expected, 12 at most. Keep it?" in said.out
    assert said.lines[-1] == "1 taken, 1 missing: Plover."
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


@pytest.mark.usefixtures("asked")
def test_a_replaced_meter_is_expected_to_go_on_from_its_first_figure(small: Path) -> None:
    fleetcare("reading", "Plover", 1, "--old-meter", 260, "--on", "yesterday")
    said = fleetcare("evening", stdin="\n4\n")
    assert "was 1 on 17 Jul, up to 13" in said.out
    assert "1 taken" in said.lines[-1]


@pytest.mark.usefixtures("asked")
def test_what_was_said_before_an_interruption_is_kept(small: Path) -> None:
    said = fleetcare("evening", stdin="3\n", code=130)  # the input ends: as Ctrl-D
    assert said.err.strip() == (
        "fleetcare: evening: interrupted; what was said to be stored is kept"
    )
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


def in_terminal(answers: list[str], *words: str) -> tuple[str, int]:
    """Run fleetcare in a terminal of its own; each answer is typed when a question stands there."""
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the child becomes the command
        os.environ["PYTHONPATH"] = str(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "fleetcare", *words])
    said, waiting = b"", list(answers)
    while True:
        if waiting and said.endswith(b": "):
            os.write(terminal, waiting.pop(0).encode() + b"\n")
            said += b"\n"
        if not select.select([terminal], [], [], 30)[0]:
            break
        try:
            piece = os.read(terminal, 1000)
        except OSError:  # the child has closed its end
            break
        if not piece:
            break
        said += piece
    os.close(terminal)
    return said.decode(), os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")
def test_the_round_in_a_real_terminal(small: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    said, code = in_terminal(["", "20", "255.5"], "evening", "--on", "2026-07-04")
    assert code == 0
    assert "A slip now: give the right figure." in " ".join(said.split())
    assert "1 taken, 1 missing: Knot." in said
    assert ESCAPE not in said
    assert readings(small) == [25550]


@pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")
def test_a_terminal_has_colours_and_a_dumb_one_has_none(
    small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("morning", "--as-of", "2026-07-04")
    monkeypatch.setenv("TERM", "xterm")
    assert f"{ESCAPE}[" in in_terminal([], *words)[0]
    monkeypatch.setenv("NO_COLOR", "1")
    assert ESCAPE not in in_terminal([], *words)[0]
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert ESCAPE not in in_terminal([], *words)[0]
