"""The evening round: asked on a terminal, or taken from lines."""

from __future__ import annotations

import os
import pty
import select
import sys
from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import ESCAPE, ROOT, fleetcare, refused, row, rows, widest, written


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


def readings(fleet: Path) -> list[int]:
    return [entry[9] for entry in written(fleet)["log"] if entry[4] == "reading"]


# -- from lines ---------------------------------------------------------------------------------


def test_a_round_is_taken_from_a_file_and_the_missing_are_named_with_the_age_of_their_last(
    small: Path, tmp_path: Path
) -> None:
    fleetcare("run", "Knot", 2, "--on", "2026-07-10")
    (tmp_path / "round.txt").write_text("# Saturday\n\nplover 255,5\n", encoding="utf-8")
    said = fleetcare("evening", "--file", "round.txt", "--by", "jetty")
    assert said.lines[0] == "Plover reads 255.5 (entry 4)"
    at = said.lines.index("1 taken, 1 missing:")
    assert said.lines[at + 1] == "  Knot, last 10 Jul, 8 days ago"
    assert readings(small) == [25550]


def test_a_round_is_taken_from_a_pipe(small: Path) -> None:
    said = fleetcare("evening", "--file", "-", stdin="Plover 255\nKnot 3:30\n")
    assert "2 taken, none missing." in said.lines
    hours = {item["engine"]: item["hours_since"] for item in rows("due") if item["task"] == "plugs"}
    assert hours == {"Plover": 5.0, "Knot": 3.5, "Spare": 0.0}
    assert "(hire time)" in fleetcare("log", "Knot").out  # Dunlin is a hire boat


def test_a_round_says_how_much_is_now_due_because_of_it(small: Path) -> None:
    said = fleetcare("evening", "--file", "-", stdin="Knot 3:30\n")
    assert "1 job now due because of it:" in said.lines
    assert said.lines[-1] == "  Knot: flush due 18 Jul, leads to overheating"
    assert row("Knot", "flush")["status"] == "due"
    again = fleetcare("evening", "--file", "-", stdin="Knot 1\n")  # it was due before already
    assert "because of it" not in again.out


def test_a_line_that_is_wrong_is_named_and_none_is_taken(small: Path) -> None:
    lines = "Plover 255\nKnot abc\nKnt 3\nSpare 95\nPlover\n"
    said = refused(small, "evening", "--file", "-", stdin=lines).splitlines()
    assert said == [
        'fleetcare: evening: line 2: hours: takes a number such as 12.5, not "abc"',
        'fleetcare: evening: line 3: no engine "Knt". Did you mean "Knot"?',
        'fleetcare: evening: line 4: engine "Spare" is not mounted, or laid up. If it ran all the '
        "same: fleetcare reading or run, for Spare alone",
        'fleetcare: evening: line 5: "Plover" is not ENGINE FIGURE',
    ]


def test_of_a_round_the_good_lines_are_kept_when_asked(small: Path) -> None:
    lines = "Plover 20\nKnot 9:30-11\nSpare 95\n"
    said = fleetcare("evening", "--file", "-", "--keep-good", stdin=lines, code=6)
    assert "1 taken, 1 missing:" in said.lines
    assert said.err.count("left out: line ") == 2
    assert "ran 1.5 h (hire time)" in fleetcare("log", "Knot").out


def test_a_falling_figure_refuses_the_whole_round(small: Path) -> None:
    said = refused(small, "evening", "--file", "-", stdin="Knot 3\nPlover 20\n")
    assert 'line 2: engine "Plover" reads 20.0 on 2026-07-18 but read 250.0' in said


def test_a_figure_in_a_file_beyond_what_was_expected_is_taken_and_named(small: Path) -> None:
    said = fleetcare("evening", "--file", "-", stdin="Plover 1250\n")
    assert "worth a look: Plover: reads 1250, where 250–" in said.err
    assert readings(small) == [125000]


def test_who_did_not_go_out_is_taken_from_a_file_too(small: Path) -> None:
    said = fleetcare("evening", "--file", "-", stdin="Plover =\nKnot 0\n")
    assert "2 taken, none missing." in said.lines
    assert readings(small) == [25000]
    assert row("Knot", "flush")["status"] == "clear"  # no hours, no run


def test_more_than_a_day_of_hours_is_refused(small: Path) -> None:
    assert "a day has 24" in refused(small, "evening", "--file", "-", stdin="Knot 25\n")


def test_a_file_that_is_not_there_is_named(small: Path) -> None:
    assert "nosuch.txt" in refused(small, "evening", "--file", "nosuch.txt")


def test_a_script_without_lines_is_told_how(small: Path) -> None:
    assert "--file FILE, or --file -" in refused(small, "evening")


def test_laid_up_engines_are_not_missing(small: Path) -> None:
    fleetcare("lay-up", "Knot")
    said = fleetcare("evening", "--file", "-", stdin="").lines
    assert said == ["Nothing to store.", "0 taken, 1 missing:",
                    "  Plover, last 1 Apr, 108 days ago"]  # fmt: skip


def test_a_fleet_with_nothing_mounted_has_no_round(fleet: Path) -> None:
    fleetcare("new")
    assert "No engine is mounted" in fleetcare("evening", "--file", "-", stdin="").out


def test_those_read_already_are_counted_and_not_asked_for(small: Path) -> None:
    fleetcare("reading", "Plover", 255)
    said = fleetcare("evening", "--file", "-", stdin="Knot 2\n")
    assert "1 taken, 1 there already, none missing." in said.lines


def test_a_dry_run_keeps_nothing(small: Path) -> None:
    before = written(small)
    said = fleetcare("evening", "-n", "--file", "-", stdin="Plover 255\n")
    assert said.lines[:2] == ["Plover reads 255", "would store 1 entry."]
    assert written(small) == before


# -- asked --------------------------------------------------------------------------------------


@pytest.mark.usefixtures("asked")
def test_each_engine_is_asked_for_with_its_last_figure_and_enter_skips(small: Path) -> None:
    said = fleetcare("evening", stdin="\n255.5\n")
    assert said.lines[0] == "Evening of 18 Jul: 2 engines."
    assert "[1/2] Knot (Dunlin)\n  no figure yet\n  expect 0–12 h\n  hires, or hours: " in said.out
    assert "[2/2] Plover (Lapwing)\n  last 250, 1 Apr, 108 days ago\n  expect 250–" in said.out
    assert "1 taken, 1 missing:\n  Knot, no figure yet\n" in said.out
    assert readings(small) == [25550]


@pytest.mark.usefixtures("asked")
def test_a_lower_figure_is_not_taken_names_three_possibilities_and_is_asked_for_again(
    small: Path,
) -> None:
    said = fleetcare("evening", stdin="\n20\nx\n255\n")
    assert said.out.count("meter reads: ") == 3
    told = " ".join(said.out.split())
    assert "not taken: 20 is below 250 - a slip now: type the right figure" in told
    assert "- a slip before: 250 on 1 Apr was wrong, undo it fleetcare log Plover" in told
    command = "fleetcare reading Plover 20 --on 2026-07-18 --old-meter 250"
    assert f"- another meter: its hours go on from 20 {command}" in told
    assert "takes a number" in said.err
    assert readings(small) == [25500]
    fleetcare("undo")
    fleetcare(*command.split()[1:])  # the command runs as shown
    assert row("Plover", "plugs")["hours_since"] == 0


@pytest.mark.usefixtures("asked")
@pytest.mark.parametrize("yes", ["y", "YES", "1250", "1250.0"])
def test_a_figure_outside_what_was_expected_is_asked_about_once_and_taken_when_confirmed(
    small: Path, yes: str
) -> None:
    said = fleetcare("evening", stdin=f"\n1250\n{yes}\n")
    assert said.out.count("1250 is outside 250–") == 1
    assert "y takes 1250; or the right one: " in said.out
    for way in ("a slip now", "a slip before", "another meter"):
        assert said.out.count(way) == 1
    assert readings(small) == [125000]


@pytest.mark.usefixtures("asked")
@pytest.mark.parametrize("no", ["n", ""])
def test_a_doubted_figure_that_is_not_confirmed_is_asked_for_again(small: Path, no: str) -> None:
    said = fleetcare("evening", stdin=f"13\n{no}\n3\n\n")
    assert "13 is outside 0–12:" in said.out
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1
    assert "1 taken, 1 missing:" in said.out


@pytest.mark.usefixtures("asked")
def test_another_figure_instead_of_a_doubted_one_is_taken_at_once(small: Path) -> None:
    fleetcare("evening", stdin="13\n3\n\n")
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


@pytest.mark.usefixtures("asked")
def test_a_replaced_meter_is_expected_to_go_on_from_its_first_figure(small: Path) -> None:
    fleetcare("reading", "Plover", 1, "--old-meter", 260, "--on", "yesterday")
    said = fleetcare("evening", stdin="\n4\n")
    assert "last 1, 17 Jul, yesterday\n  expect 1–13" in said.out
    assert readings(small) == [400]


@pytest.mark.usefixtures("asked")
def test_hires_are_taken_as_times_out_and_in(small: Path) -> None:
    said = fleetcare("evening", stdin="9:30-12:15, 14-15\n0930-1030+2\n")
    assert "taken: 3.75 h of hire" in said.out
    assert "taken: 3 h of hire" in said.out  # of an engine with a meter, when so answered
    assert row("Plover", "plugs")["hours_since"] == 3.0


@pytest.mark.usefixtures("asked")
def test_a_hire_over_midnight_is_refused_in_words_and_asked_for_again(small: Path) -> None:
    said = fleetcare("evening", stdin="22:00-1:30\n22:00-24:00\n\n")
    assert "comes back before it goes out" in " ".join(said.err.split())
    assert "taken: 2 h of hire" in said.out


@pytest.mark.usefixtures("asked")
def test_who_did_not_go_out_is_said_with_an_equals_sign_or_nought(small: Path) -> None:
    said = fleetcare("evening", stdin="0\n=\n")
    assert "taken: did not go out (entry 3)" in said.out
    assert "taken: did not go out, still 250" in said.out
    assert "2 taken, none missing." in said.out
    assert readings(small) == [25000]
    assert row("Knot", "flush")["status"] == "clear"


@pytest.mark.usefixtures("asked")
def test_b_goes_back_and_a_new_answer_takes_the_place_of_the_first(small: Path) -> None:
    said = fleetcare("evening", stdin="b\n3\nb\n4\n255\n")
    assert said.out.count("this is the first") == 1
    assert "taken: 3 h of hire; Enter keeps it" in said.out
    assert "taken: 4 h of hire (entry 5, in" in said.out
    assert row("Knot", "plugs")["hours_since"] == 4.0
    assert "2 taken, none missing." in said.out


@pytest.mark.usefixtures("asked")
def test_going_back_and_enter_keeps_what_was_taken(small: Path) -> None:
    fleetcare("evening", stdin="3\nb\n\n255\n")
    assert [item[4] for item in written(small)["log"][2:]] == ["run", "reading"]


@pytest.mark.usefixtures("asked")
def test_a_correction_that_is_refused_leaves_what_was_taken(small: Path) -> None:
    fleetcare("run", "Knot", 20, "--fuel", 1, code=1)
    fleetcare("reading", "Plover", 240, "--on", "2026-04-01", code=1)
    said = fleetcare("evening", "--on", "2026-07-17", stdin="\n255\n")
    fleetcare("reading", "Plover", 258)
    said = fleetcare("evening", "--on", "2026-07-17", "--again", stdin="\n259\n\n")
    assert "but read 259" in " ".join(said.err.split())
    assert readings(small) == [25500, 25800]
    assert row("Plover", "plugs", "--as-of", "2026-07-17")["hours_since"] == 5.0


@pytest.mark.usefixtures("asked")
def test_q_stops_and_keeps_what_was_taken(small: Path) -> None:
    said = fleetcare("evening", stdin="3\nq\n")
    assert "1 taken, 1 missing:\n  Plover, last 1 Apr, 108 days ago" in said.out
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


@pytest.mark.usefixtures("asked")
def test_what_was_said_before_an_interruption_is_kept_and_the_next_round_goes_on(
    small: Path,
) -> None:
    said = fleetcare("evening", stdin="3\n", code=130)  # the input ends: as Ctrl-D
    assert "1 taken, 1 missing:\n  Plover, last 1 Apr" in said.out
    assert "kept" in said.out
    assert said.err.strip() == (
        "fleetcare: evening: interrupted; what was said to be stored is kept"
    )
    again = fleetcare("evening", stdin="255\n")
    assert "1 taken already; --again asks for all." in again.out
    assert "Knot" not in again.out
    assert "1 taken, 1 there already, none missing." in again.out
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


@pytest.mark.usefixtures("asked")
def test_again_asks_for_all_and_a_new_answer_takes_the_place_of_the_days(small: Path) -> None:
    fleetcare("evening", stdin="9-11+13-14\n255\n")
    said = fleetcare("evening", "--again", stdin="4\n252\n")
    assert "today already 3 h" in said.out
    assert "last 250, 1 Apr, 108 days ago" in said.out  # the day's own figure is no lower bound
    assert "2 taken, none missing." in said.out
    assert row("Knot", "plugs")["hours_since"] == 4.0
    assert row("Plover", "plugs")["hours_since"] == 2.0


@pytest.mark.usefixtures("asked")
def test_again_leaves_what_enter_passes_over(small: Path) -> None:
    fleetcare("evening", stdin="3\n255\n")
    before = written(small)
    assert "0 taken, 2 there already" in fleetcare("evening", "--again", stdin="\n\n").out
    assert written(small) == before


@pytest.mark.usefixtures("asked")
def test_a_round_on_a_terminal_can_be_tried_without_keeping_it(small: Path) -> None:
    before = written(small)
    said = fleetcare("evening", "-n", stdin="3\nb\n4\n=\n")
    assert "would take: 4 h of hire" in said.out
    assert written(small) == before


@pytest.mark.usefixtures("asked")
def test_the_round_fits_forty_columns_but_for_commands_to_copy(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Desk, "width", lambda self: 40)
    said = fleetcare("evening", stdin="30\n13\ny\n?\nb\n5\n22-1\nx\n=\n" + "=\n" * 40)
    wide = [line for line in (said.out + said.err).splitlines() if widest([line]) > 40]
    assert all(line.startswith("    fleetcare ") for line in wide), wide
    assert "22 taken, none missing." in said.out


# -- in a terminal ------------------------------------------------------------------------------


CONTROLS = ("\x03", "\x04")  # Ctrl-C and Ctrl-D, as typed


def in_terminal(answers: list[str], *words: str) -> tuple[str, int]:
    """Run fleetcare in a terminal of its own; each answer is typed when a question stands there."""
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the child becomes the command
        os.environ["PYTHONPATH"] = str(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "fleetcare", *words])
    said, waiting, key = b"", list(answers), b""
    while True:
        if waiting and said.endswith(b": "):
            answer = waiting.pop(0)
            key = answer.encode() if answer in CONTROLS else b""
            os.write(terminal, key or answer.encode() + b"\n")
            said += b"\n"
        if not select.select([terminal], [], [], 3 if key else 30)[0]:
            if not key:
                break
            os.write(terminal, key)  # it came before the child listened: press it again
            continue
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
    assert "a slip now: type the right figure" in " ".join(said.split())
    assert "1 taken, 1 missing:" in said
    assert widest(line for line in said.splitlines() if "fleetcare" not in line) <= 40
    assert ESCAPE not in said
    assert readings(small) == [25550]


@pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")
@pytest.mark.parametrize("key", CONTROLS)
def test_broken_off_in_a_real_terminal_it_keeps_what_was_taken_and_goes_on_later(
    small: Path, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    said, code = in_terminal(["3", key], "evening", "--on", "2026-07-04")
    assert code == 130
    assert "1 taken, 1 missing:" in said
    assert "interrupted; what was said to be stored is kept" in said
    said, code = in_terminal(["255"], "evening", "--on", "2026-07-04")
    assert code == 0
    assert "1 taken, 1 there already, none missing." in " ".join(said.split())
    assert readings(small) == [25500]
    assert fleetcare("log", "Knot").out.count("ran 3 h") == 1


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
