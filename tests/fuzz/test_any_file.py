"""Any bytes in any file that a command reads: whole files with pieces changed, dropped, doubled."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.errors import Fault
from fleetcare.fleet import figures
from fleetcare.fleet.days import day
from fleetcare.fleet.names import folded, natural, tidy, wrong_with, wrong_with_text
from tests.fuzz.declared import DAYS, FIGURES, NASTY
from tests.fuzz.door import heard
from tests.fuzz.scenery import CALENDAR, RULES, TABLE, scenery
from tests.fuzz.test_command_lines import ends_well

OWN = (
    "on,event,engine,task,reading,condition,by,note\r\n2026-07-01,reading,Plover,,260,,jetty,\r\n"
    "2026-07-02,job,Plover,impeller,261,supple,,calm\r\n2026-07-03,run,Knot,,,,,\r\n"
)
FORM = (
    "sheet: 0000-0000\nengine: Plover\non: 2026-07-17\nreading: 261\n[x] impeller | found: supple\n"
)
READ_BY: dict[str, tuple[str, tuple[tuple[str, ...], ...]]] = {
    "a.csv": (TABLE, (("import", "a.csv", "-n"), ("import", "a.csv", "--keep-good"))),
    "own.csv": (OWN, (("import", "own.csv", "-n"), ("import", "own.csv", "--keep-good"))),
    "a.ics": (CALENDAR, (("bookings", "a.ics"), ("due", "--bookings", "a.ics"))),
    "a.toml": (RULES, (("rules", "test", "a.toml"),)),
    "a.txt": ("Plover 261\nKnot 3\n", (("evening", "--file", "a.txt"), ("run", "--file", "a.txt"))),
    "form.txt": (FORM, (("done", "--sheet", "form.txt"),)),
}
WORDS = st.sampled_from((*NASTY, *DAYS, *FIGURES)).map(lambda word: word.encode("utf-8", "replace"))
PIECES = st.one_of(
    st.binary(max_size=6), WORDS, st.sampled_from((b"\n", b'"', b",", b";", b"=", b":"))
)
EXAMPLES = 120


@st.composite
def spoiled(draw: st.DrawFn, whole: bytes) -> bytes:
    """The bytes with some pieces changed."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(whole)))
        end = min(len(whole), start + draw(st.integers(0, 12)))
        middle = draw(st.one_of(PIECES, st.just(whole[start:end] * 3)))
        whole = whole[:start] + middle + whole[end:]
    return whole


@st.composite
def files(draw: st.DrawFn) -> tuple[str, bytes, list[str]]:
    """A file's name, its bytes and the command that reads it."""
    name = draw(st.sampled_from(sorted(READ_BY)))
    text, commands = READ_BY[name]
    return name, draw(spoiled(text.encode())), list(draw(st.sampled_from(commands)))


def any_file_at(base: Path, place: Path) -> Callable[[], None]:
    """The property, in that place."""

    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None)
    @given(files())
    def any_file(drawn: tuple[str, bytes, list[str]]) -> None:
        name, content, words = drawn
        fleet = place / "fleet.db"
        if not fleet.is_file() or fleet.stat().st_size > 300_000:
            os.chdir(place.parents[3])
            scenery(place.parents[2], base)
            os.chdir(place)
        (place / name).write_bytes(content)
        ends_well(words, b"", fleet)

    return any_file


def test_any_file_is_taken_or_refused_in_words(base: Path, place: Path) -> None:
    any_file_at(base, place)()


def any_fleet_at(base: Path, place: Path) -> Callable[[], None]:
    """A fleet file of which bytes were changed, its mark left: refused or read, never a fault."""
    whole = base.read_bytes()
    looks = (["due"], ["log", "--all"], ["check"], ["morning"], ["export", "out"],
             ["reading", "Plover", "262"], ["backup", "copy.db"], ["board", "--html", "b.html"],
             ["history", "Plover"], ["feed", "list"])  # fmt: skip

    @settings(max_examples=EXAMPLES // 2, deadline=None, derandomize=True, database=None)
    @given(
        st.lists(st.tuples(st.integers(100, len(whole) - 9), st.binary(min_size=1, max_size=8)),
                 min_size=1, max_size=30),
        st.sampled_from(looks),
    )  # fmt: skip
    def any_fleet(changes: list[tuple[int, bytes]], words: list[str]) -> None:
        content = bytearray(whole)
        for at, piece in changes:
            content[at : at + len(piece)] = piece
        (place / "fleet.db").write_bytes(content)
        said = heard(words)
        assert said.code in (0, 1, 3, 4), (words, said.err)
        assert "Traceback" not in said.err
        (place / "copy.db").unlink(missing_ok=True)

    return any_fleet


def test_a_fleet_file_of_changed_bytes_is_read_or_refused(base: Path, place: Path) -> None:
    any_fleet_at(base, place)()


# -- words alone ---------------------------------------------------------------------------------

TEXTS = st.one_of(st.text(max_size=40), st.sampled_from((*NASTY, *DAYS, *FIGURES)))


@given(TEXTS)
def test_any_text_is_a_name_that_keeps_or_is_refused(text: str) -> None:
    name = tidy(text)
    if wrong_with(name) is None:
        assert 0 < len(name) <= 80
        assert tidy(name) == name
        assert folded(folded(name)) == folded(name)
        assert name.encode()
        assert natural(name) == natural(tidy(name))
        assert wrong_with_text(name) is None


@given(TEXTS)
def test_any_text_is_a_day_or_a_fault(text: str) -> None:
    found = day(text, "on", date(2026, 7, 18))
    assert isinstance(found, Fault) or found.year >= 1950 or "ago" in text
    assert len(str(found)) < 4_000


@given(TEXTS, st.integers(0, 4))
def test_any_text_is_a_figure_of_bounds_or_a_fault(text: str, decimals: int) -> None:
    value = figures.number(text, "x", decimals)
    assert isinstance(value, Fault) or 0 <= value < figures.MOST
    assert isinstance(value, Fault) or (value * 10**decimals).denominator == 1
    hours = figures.hours(text, "x")
    assert isinstance(hours, Fault) or 0 <= Fraction(hours, 100) <= figures.MOST
    count = figures.count(text, "x")
    assert isinstance(count, Fault) or 0 <= count < 10**7
