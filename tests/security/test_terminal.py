"""What a terminal would obey is shown nowhere, whoever wrote it into the fleet file."""

from __future__ import annotations

import io
import json
import sqlite3
from pathlib import Path

import pytest

from fleetcare.cli.careful import MARK, Careful
from tests.fuzz.door import heard
from tests.fuzz.test_command_lines import obeyed
from tests.security.conftest import ALL, ESCAPES, LINES, TURNED

LOOKS = [
    "morning", "due --all", "log --all", "log Plover", "history Plover", "why Plover plugs",
    "year", "boat list", "engine list", "engine show Plover", "parts shelf --all", "parts",
    "check", "settings", "rules list", "feed list", "wear", "trace Plover overheating",
    "sheet Plover", "plan --effort 0", "undo --dry-run", "lay-up --all -n", "labels --lines",
    "feed write f.ics", "board --html b.html", "export out", "salvage Plover Knot",
]  # fmt: skip
FORMS = ["due", "history Plover", "check", "feed list", "parts shelf --all", "year", "wear"]


@pytest.mark.parametrize("line", LOOKS)
def test_no_command_lets_a_control_character_of_the_file_through(raw: Path, line: str) -> None:
    said = heard(line.split())
    assert said.code in (0, 1, 3)
    assert obeyed((said.out + said.err).replace("\r\n", "\n")) == set()


@pytest.mark.parametrize("form", ["table", "json", "csv", "ndjson"])
@pytest.mark.parametrize("line", FORMS)
def test_no_form_of_a_list_lets_one_through(raw: Path, line: str, form: str) -> None:
    said = heard([*line.split(), "--format", form])
    assert said.code in (0, 1)
    assert obeyed((said.out + said.err).replace("\r\n", "\n")) == set()


def test_the_texts_are_really_there(raw: Path) -> None:
    notes = sqlite3.connect(raw).execute("select note, by from log").fetchall()
    assert any(note == ALL and by == ALL for note, by in notes)
    assert MARK in heard(["log", "--all"]).out


def test_json_keeps_every_character_as_an_escape(raw: Path) -> None:
    rows = json.loads(heard(["history", "Plover", "--format", "json"]).out)["rows"]
    assert any(row["note"] == ALL for row in rows)
    lines = heard(["history", "Plover", "--format", "ndjson"]).out.splitlines()
    assert any(json.loads(line)["note"] == ALL for line in lines)


@pytest.mark.parametrize("line", ["log --all", "history Plover"])
def test_a_note_of_several_lines_does_not_make_lines_of_its_own(raw: Path, line: str) -> None:
    assert not any(
        said.startswith("fleetcare: stored") for said in heard(line.split()).out.splitlines()
    )


REFUSED = [
    ("reading", "Plover", "264", "--note"), ("reading", "Plover", "264", "--by"),
    ("put-off", "Knot", "plugs", "--until", "2026-08-01", "--because"),
    ("boat", "add", "Teal", "--use", "hire", "--water", "salt", "--place"),
    ("boat", "add", "Teal", "--use", "hire", "--water", "salt", "--also"),
    ("boat", "add", "--use", "hire", "--water", "salt"), ("engine", "add", "--no-meter"),
    ("engine", "add", "Teal", "--no-meter", "--family"), ("engine", "rename", "Knot"),
    ("engine", "add", "Teal", "--no-meter", "--rules"), ("settings", "by"),
    ("settings", "calendar_name"), ("engine", "also-called", "Knot"),
    ("feed", "add", "--of", "fleet"), ("parts", "count", "--new", "3"), ("undo", "--by"),
]  # fmt: skip


@pytest.mark.parametrize("words", REFUSED, ids=" ".join)
def test_what_a_terminal_would_obey_is_not_taken(raw: Path, words: tuple[str, ...]) -> None:
    for text in (ESCAPES, "a\x9bb", "\udcff"):
        typed = (
            [*words, text]
            if words[:2] != ("parts", "count")
            else ["parts", "count", text, "3", "--new"]
        )
        said = heard(typed)
        assert said.code in (1, 2), typed
        assert "\x1b" not in said.err
        assert "Traceback" not in said.err


def test_a_table_with_controls_is_refused_by_its_row_and_column(raw: Path) -> None:
    for column, text in (("note", ESCAPES), ("by", ESCAPES), ("by", TURNED)):
        head = f"on,event,engine,reading,{column}\r\n"
        Path("t.csv").write_bytes(f'{head}2026-07-01,reading,Knot,1,"{text}"\r\n'.encode())
        said = heard(["import", "t.csv"])
        assert said.code == 1
        assert f"t.csv:2: {column}: holds a control character" in said.err
        assert "\x1b" not in said.err


def test_a_note_may_have_lines_and_marks_that_phones_put_around_words(raw: Path) -> None:
    note = "one\ntwo\tthree \u2068pasted\u2069"
    assert heard(["reading", "Plover", "265", "--note", note]).code == 0
    rows = json.loads(heard(["history", "Plover", "--format", "json"]).out)["rows"]
    assert rows[-1]["note"] == note


class Terminal(io.StringIO):
    """A stream that says it is one."""

    def isatty(self) -> bool:
        return True


def test_on_a_terminal_only_colours_stay() -> None:
    terminal, pipe = Terminal(), io.StringIO()
    for stream in (terminal, pipe):
        careful = Careful(stream)
        careful.write("\x1b[31mred\x1b[0m \x1b[2J\x1b]0;x\x07 a\rb\r\n")
        careful.writelines(["\x9b", TURNED])
    plain = f"{MARK}[2J{MARK}]0;x{MARK} a{MARK}b\r\n{MARK}{MARK}gnp.exe{MARK}"
    assert terminal.getvalue() == f"\x1b[31mred\x1b[0m {plain}"
    assert pipe.getvalue() == f"{MARK}[31mred{MARK}[0m {plain}"


def test_a_file_name_is_shown_without_what_it_holds(raw: Path) -> None:
    Path("\x1b[2Jx\u202e.csv").write_text("Date,Engine\n", encoding="utf-8")
    for words in (["import", "\x1b[2Jx\u202e.csv"], ["bookings", "\x1b[2Jx\u202e.csv"],
                  ["rules", "test", "\x1b[2Jx\u202e.csv"], ["backup", "\x1b[2Jy.db"],
                  ["--fleet", "\x1b[2Jz.db", "due"]):  # fmt: skip
        said = heard(words)
        assert obeyed((said.out + said.err).replace("\r\n", "\n")) == set()


def test_lines_of_others_are_no_lines_of_ours() -> None:
    assert LINES.splitlines()[1] == "fleetcare: stored entry 99"
