"""Any command line ends in words: a documented exit code, no traceback, nothing half-done."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.cli.commands import GROUPS
from tests.fuzz.declared import COMMANDS, LASTING, NASTY, PATHS, lines
from tests.fuzz.door import EXPECTED, REFUSED, Heard, heard
from tests.fuzz.scenery import kept, scenery

SENT = frozenset({"sent", "subscriber", "sent_feed"})
EXAMPLES, LARGE = 250, 300_000
INPUTS = (b"", b"Plover 261\n\nKnot 4\n", b"\x00\xff\n", b"y\n" * 30)
DIRECTIONS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def shown(item: object) -> str:
    """A short name of a case."""
    return ascii(item)[:40]


def obeyed(text: str) -> set[str]:
    """What in a text a terminal would obey."""
    return {
        char for char in text
        if char in DIRECTIONS or (unicodedata.category(char) == "Cc" and char not in "\n\t")
    }  # fmt: skip


def ends_well(words: list[str], stdin: bytes, fleet: Path) -> Heard:
    """Type it, and hold it to what every command promises."""
    before = kept(fleet)
    said = heard(words, stdin)
    assert said.code in EXPECTED, (words, said.err)
    assert "Traceback" not in said.err
    assert obeyed((said.out + said.err).replace("\r\n", "\n")) == set(), words
    if said.code in REFUSED:
        assert said.err, words
    if said.code in REFUSED and words[:1] != ["feed"]:  # which keeps what was sent, then writes it
        assert kept(fleet) == before, words
    return said


def test_any_command_line_ends_in_words_and_a_known_exit_code(base: Path, place: Path) -> None:
    any_line_at(base, place)()


def any_line_at(base: Path, place: Path) -> Callable[[], None]:
    """The property, typed in that place: what one line leaves there the next may meet."""

    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None)
    @given(lines(), st.sampled_from(INPUTS))
    def any_line(words: list[str], stdin: bytes) -> None:
        fleet = place / "fleet.db"
        if not fleet.is_file() or fleet.stat().st_size > LARGE:
            os.chdir(place.parents[3])
            scenery(place.parents[2], base)
            os.chdir(place)
        ends_well(words, stdin, fleet)

    return any_line


@pytest.mark.parametrize("nasty", NASTY, ids=shown)
def test_the_nastiest_word_alone_anywhere_is_refused_or_taken_as_a_name(
    place: Path, nasty: str
) -> None:
    for words in ([nasty], ["due", nasty], ["reading", "Plover", nasty], ["engine", "show", nasty],
                  ["--fleet", nasty, "due"], ["boat", "add", nasty, "--use", "hire",
                  "--water", "salt"], ["settings", "by", nasty], ["rules", "show", nasty],
                  ["incident", "Plover", "grounded", "--note", nasty, "--by", nasty]):  # fmt: skip
        ends_well(words, b"", place / "fleet.db")


@pytest.mark.parametrize("path", [name for name in PATHS if name != "folder"], ids=shown)
def test_no_name_of_a_file_makes_what_is_written_go_elsewhere(place: Path, path: str) -> None:
    """Below the folder that was named, and nowhere else."""
    root = place.parents[2]
    for words in (
        ["feed", "write", path],
        ["board", "--html", path],
        ["backup", path],
        ["sheet", "Plover", "--html", path],
        ["demo", path, "--of", "nosuch"],
    ):
        ends_well(words, b"", place / "fleet.db")
    outside = [item for item in root.rglob("*") if place not in item.parents and item.is_file()]
    assert outside == []


@pytest.mark.parametrize("words", [
    ["feed", "write", "fleet.db"], ["board", "--html", "fleet.db"], ["backup", "fleet.db"],
    ["sheet", "Plover", "--html", "fleet.db"], ["sheet", "Plover", "--form", "fleet.db"],
    ["history", "Plover", "--html", "fleet.db"], ["labels", "--html", "fleet.db"],
    ["plan", "--svg", "fleet.db", "--effort", "0"], ["export", "fleet.db"],
    ["import", "in.csv", "--report", "fleet.db"], ["new", "--fleet", "fleet.db"],
    ["feed", "add", "x", "--of", "fleet", "--publish-to", "folder", "--qr", "fleet.db"],
], ids=shown)  # fmt: skip
def test_nothing_is_ever_written_over_the_fleet_file(place: Path, words: list[str]) -> None:
    before = kept(place / "fleet.db")
    assert heard(words).code in (1, 2, 4)
    after = kept(place / "fleet.db")
    assert {name: rows for name, rows in after.items() if name not in SENT} == {
        name: rows for name, rows in before.items() if name not in SENT
    }


def test_every_command_is_drawn_but_those_that_last() -> None:
    listed = {name for _, rows in GROUPS for name, _, _ in rows}
    drawn = {words[0] for words, _ in COMMANDS if words}
    assert drawn == listed - {words[0] for words in LASTING if len(words) == 1}


@pytest.mark.parametrize("words", [
    ["feed", "serve", "--port", "99999"], ["feed", "serve", "--port", "nan"],
    ["feed", "serve", "--host", "\x1b[2J"], ["feed", "serve", "--nosuch"],
    ["demo", "in.csv"], ["demo", "--of", "x"], ["demo", "a\x00b"], ["demo", "x" * 300],
    ["board", "--watch", "in.csv"], ["feed", "serve", "\ud800"],
], ids=shown)  # fmt: skip
def test_what_lasts_refuses_wrong_words_too(place: Path, words: list[str]) -> None:
    assert ends_well(words, b"", place / "fleet.db").code in (1, 2, 4)


# What was once found, literally.
FOUND = [
    ["feed", "write", "a\x00b"],
    ["feed", "write", ""],
    ["board", "--as-of", "F]\u00a1\x1d\u00c4\x83"],
    ["backup", "W\\\u00a5\x98@j\t\x80"],
    ["engine", "mount", "--note", "-5", "2026-07-01", "@", "\x01\x97:\x04"],
    ["done", "Plover", "impeller", "--found", "\x1b]0;x\x07\r\nfleetcare: stored"],
    ["import", "in.csv", "-n", "--profile", "\udcff"],
    ["import", "in.csv", "--keep-good", "--profile", "x", "--as", "\udcff=Plover"],
    ["import", "in.csv", "--keep-good", "--profile", "x", "--sheet", "\udcff"],
    ["import", "in.csv", "--keep-good", "--profile", "x", "--engine", "\udcff"],
    ["import", "in.csv", "--keep-good", "--profile", "x", "--map", "note=a\udcff"],
]


@pytest.mark.parametrize("words", FOUND, ids=shown)
def test_what_was_once_found_stays_mended(place: Path, words: list[str]) -> None:
    ends_well(words, b"", place / "fleet.db")
