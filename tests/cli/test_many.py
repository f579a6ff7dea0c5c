"""Many readings and runs at once: on the line, from a file or a pipe; all, or the good ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.typed import fleetcare, one_line, refused, row, widest, written


@pytest.fixture
def three(small: Path) -> Path:
    """The small fleet with a third engine that has a meter and a space in its name."""
    fleetcare("engine", "add", "Boat 3", "--boat", "Dunlin", "--hp", 6, "--stroke", 4,
              "--since", "2026-04-01", "--reading", 10)  # fmt: skip
    return small


def kept(fleet: Path, column: int) -> list[tuple[str, int]]:
    """Engine and figure (column 9) or hours (10) of every reading or run in the file."""
    tables = written(fleet)
    names = {item[0]: item[1] for item in tables["engine"]}
    return [
        (names[entry[5]], entry[column])
        for entry in tables["log"]
        if entry[4] in ("reading", "run") and entry[column] is not None
    ]


# -- on the line --------------------------------------------------------------------------------


def test_many_readings_are_stored_as_one_command(three: Path) -> None:
    said = fleetcare("reading", "plover", "262.5", "Boat 3", "12,25", "Spare", "1:35",
                     code=1)  # fmt: skip
    assert "reads 1.58" in said.err
    said = fleetcare("reading", "plover", "262.5", "Boat 3", "12,25", "--by", "jetty")
    assert said.lines[0] == "Plover reads 262.5 (entry 3)"
    assert "Boat 3 reads 12.25 (entry 4)" in said.lines
    assert kept(three, 9) == [("Plover", 26250), ("Boat 3", 1225)]
    assert len({entry[1] for entry in written(three)["log"][-2:]}) == 1  # one act


def test_below_each_engine_stands_what_its_figure_changed(three: Path) -> None:
    said = fleetcare("run", "Knot", 3, "Boat 3", 2)
    at = said.lines.index("Knot ran 3 h (entry 3)")
    assert said.lines[at + 1].startswith("  flush now due 18 Jul")
    assert row("Knot", "flush")["status"] == "due"
    assert said.out.count("flush now due") == 2


def test_undo_takes_all_of_it_back(three: Path) -> None:
    said = fleetcare("reading", "Plover", 262, "Boat 3", 12)
    words = " ".join(said.out.split())
    assert "Stored 2 entries, 3 to 4. Right after it, fleetcare undo takes them all back" in words
    fleetcare("undo")
    assert (row("Plover", "plugs")["hours_since"], row("Boat 3", "plugs")["hours_since"]) == (0, 0)


def test_runs_take_hires_and_what_the_options_say_of_all(three: Path) -> None:
    fleetcare("run", "Knot", "9:30-12:15", "Boat 3", "1.5", "--water", "fresh", "--on", "yesterday")
    log = fleetcare("log").out
    assert "2026-07-17  Knot ran 2.75 h in fresh (hire time)" in log
    assert "2026-07-17  Boat 3 ran 1.5 h in fresh\n" in log.replace(" (jetty)", "")


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("reading", "Plover", 262, "Boat 3", 12, "--old-meter", 3), "--old-meter is for one"),
        (("reading", "Plover", 262, "Boat 3", 12, "--rolled-over"), "--rolled-over is for one"),
        (("reading", "Plover", 262, "Boat 3", 12, "--stopped", "--fitted"), "--stopped, --fitted"),
        (("reading", "--file", "-", "--fitted"), "--fitted is for one engine alone"),
        (("run", "Plover", 2, "Boat 3", 1, "--fuel", 3), "--fuel is for one engine alone"),
        (("run", "Plover", 2, "Boat 3", 1, "--reading", 3), "--reading is for one engine alone"),
        (("reading", "Plover", 262, "Boat 3", 12, "--file", "x"), "or --file: one of them"),
        (("run", "Knot", 2, "Boat 3", "23:30-0:30"), "comes back before it goes out"),
    ],
)
def test_what_cannot_be_said_of_many_is_refused(
    three: Path, words: tuple[object, ...], hint: str
) -> None:
    assert hint in one_line(refused(three, *words, stdin=""))


@pytest.mark.parametrize("words", [("reading", "Plover", 262, "Knot"), ("run", "Boat", 3, 12)])
def test_words_that_are_no_pairs_are_wrong_usage(three: Path, words: tuple[object, ...]) -> None:
    before = written(three)
    said = " ".join(fleetcare(*words, code=2).err.split())
    assert "engines and figures come in pairs" in said
    assert 'A name with spaces takes quotes: "Boat 3"' in said
    assert written(three) == before


def test_every_wrong_pair_is_named_and_none_is_stored(three: Path) -> None:
    said = refused(three, "reading", "Plovr", 262, "Boat 3", 5, "Plover", "26o", "Spare", 95)
    lines = said.splitlines()
    assert len(lines) == 3
    assert any('Did you mean "Plover"?' in line for line in lines)
    assert any('engine "Boat 3" reads 5.0 on 2026-07-18 but read 10.0' in line for line in lines)
    assert any("takes a number such as 12.5" in line for line in lines)


# -- from a file or a pipe ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        "Boat 3 12.5",
        "boat 3 12,5",
        "  Boat 3\t12.5  ",
        '"Boat 3" 12.5',
        "Boat 3;12.5",
        "Boat 3;12,5",
        '"Boat 3";"12,5"',
        '"Boat 3","12,5"',
        "Boat 3,12.5",
        "Boat 3, 12.5",
        "Boat 3\t12,5",
        "Boat 3;12.5;;",
        "Boat 3 12.5 2026-07-18",
        "Boat 3;12.5;today",
        "Boat 3 12:30",
    ],
)
def test_a_line_is_written_in_any_of_these_ways(three: Path, line: str) -> None:
    fleetcare("reading", "-", stdin=f"# round\n\n{line}\n")
    assert kept(three, 9) == [("Boat 3", 1250)]


def test_a_byte_order_mark_before_the_first_line_is_no_part_of_a_name(three: Path) -> None:
    fleetcare("reading", "-", stdin="\ufeffBoat 3 12.5\n")
    assert kept(three, 9) == [("Boat 3", 1250)]


def test_a_third_field_is_the_day(three: Path) -> None:
    (three.parent / "r.txt").write_text("Plover 260 yesterday\nPlover;262;2026-07-18\nKnot 1\n")
    fleetcare("run", "--file", "r.txt", code=1)
    (three.parent / "r.txt").write_text("Plover 260 yesterday\nPlover;262;2026-07-18\n")
    said = fleetcare("reading", "--file", "r.txt")
    assert said.lines[:2] == ["2026-07-17 Plover reads 260 (entry 3)",
                              "Plover reads 262 (entry 4)"]  # fmt: skip


def test_a_heading_is_no_engine(three: Path) -> None:
    fleetcare("reading", "--file", "-", stdin="Engine;Reading\nPlover;262\n")
    assert kept(three, 9) == [("Plover", 26200)]


def test_an_engine_that_is_called_so_is_no_heading(three: Path) -> None:
    fleetcare("engine", "also-called", "Plover", "motor")
    assert "12.5" in refused(three, "reading", "-", stdin="motor abc\n")


def test_a_name_with_a_comma_takes_another_separator(three: Path) -> None:
    fleetcare("engine", "add", "Teal, red", "--boat", "Dunlin", "--reading", 1,
              "--since", "2026-04-01")  # fmt: skip
    fleetcare("reading", "-", stdin="Teal, red;3\n")
    fleetcare("reading", "-", stdin='"Teal, red",4\n')
    assert kept(three, 9)[-2:] == [("Teal, red", 300), ("Teal, red", 400)]


def test_a_line_with_two_meanings_is_refused_with_both(three: Path) -> None:
    fleetcare("engine", "add", "Boat", "--boat", "Dunlin", "--reading", 1, "--since", "2026-04-01")
    said = one_line(refused(three, "reading", "-", stdin="Boat 3,12\n"))
    assert '"Boat 3,12" could be Boat: 3,12 or Boat 3: 12. Part them by ; instead' in said


BAD = """Plover 262
Plovr 3
Boat 3
# fine
Boat 3 9
Knot 5
Spare 95 2026-12-01
Spare 95 03/04/2026
Plover 263
Plover 26o
"""


def test_every_bad_line_is_named_by_its_number_in_one_go(three: Path) -> None:
    (three.parent / "r.txt").write_text(BAD)
    said = refused(three, "reading", "--file", "r.txt").splitlines()
    places = [line.split()[2] for line in said]
    assert places == [f"r.txt:{number}:" for number in (2, 3, 5, 6, 7, 8, 9, 10)]
    told = dict(zip(places, said, strict=True))
    assert 'Did you mean "Plover"?' in told["r.txt:2:"]
    assert '"Boat 3" is not ENGINE FIGURE' in told["r.txt:3:"] or "no engine" in told["r.txt:3:"]
    assert "reads 9.0 on 2026-07-18 but read 10.0" in told["r.txt:5:"]
    assert "has no meter" in told["r.txt:6:"]
    assert "lies in the future" in told["r.txt:7:"]
    assert "could be 2026-04-03 or 2026-03-04" in told["r.txt:8:"]
    assert "stands twice for 2026-07-18 (also r.txt:1)" in told["r.txt:9:"]
    assert "takes a number" in told["r.txt:10:"]


def test_keep_good_stores_the_good_ones_and_says_so_by_its_exit_code(three: Path) -> None:
    said = fleetcare("reading", "--file", "-", "--keep-good", stdin=BAD, code=6)
    assert kept(three, 9) == [("Plover", 26200)]
    assert said.err.count("left out: line ") == 8
    assert "Stored 1 entry; fleetcare undo 3 takes it back." in said.out


def test_keep_good_with_nothing_wrong_is_done(three: Path) -> None:
    assert fleetcare("reading", "-", "--keep-good", stdin="Plover 262\n").err == ""


def test_of_two_figures_that_fight_the_good_one_is_kept(three: Path) -> None:
    lines = "Plover 300 2026-07-10\nPlover 262 2026-07-12\n"
    said = fleetcare("reading", "-", "--keep-good", stdin=lines, code=6)
    assert kept(three, 9) == [("Plover", 30000)]
    assert "left out: line 2: " in said.err


def test_two_hires_of_one_engine_are_two_lines(three: Path) -> None:
    fleetcare("run", "-", stdin="Knot 9-11\nKnot 13-14:30\n")
    assert row("Knot", "plugs")["hours_since"] == 3.5


def test_runs_that_make_more_than_a_day_are_named(three: Path) -> None:
    said = one_line(refused(three, "run", "-", stdin="Knot 20\nKnot 5\nPlover 1\n"))
    assert "line 2: " in said
    assert "more than a day" in said
    assert "a day has 24" in one_line(refused(three, "run", "-", stdin="Knot 25\n"))


def test_a_dry_run_of_many_keeps_nothing(three: Path) -> None:
    before = written(three)
    said = fleetcare("reading", "-n", "-", stdin="Plover 262\nBoat 3 12\n")
    assert said.lines[-1] == "would store 2 entries."
    assert written(three) == before


def test_no_lines_store_nothing(three: Path) -> None:
    assert fleetcare("run", "-", stdin="# none\n\n").lines == ["Nothing to store."]


def test_on_a_phone_many_fit_forty_columns(three: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from fleetcare.cli.context import Desk

    monkeypatch.setattr(Desk, "width", lambda self: 40)
    said = fleetcare("run", "-", stdin="Knot 9-11\nKnot 13-14:30\nBoat 3 2\nPlover 0930-1215\n")
    assert widest(said.lines) <= 40, said.out
