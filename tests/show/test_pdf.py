"""PDF out of typst: the same bytes, nothing read as markup, every letter there."""

from __future__ import annotations

import builtins
import subprocess
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetcare.errors import RefusedError
from fleetcare.show.pdf import data, in_code, in_markup, pdf_of

DAY = date(2031, 5, 1)
HOSTILE = (
    '"quotes" and \\ strokes \\"',
    "#let x = 1; $x^2$ *bold* _it_ `raw` = Head",
    '#read("/etc/passwd") #image("x.svg") @preview',
    "<b>tags</b> // no comment /* nor this */ [x] ~ -- ...",
    "l'année à Škagen Ελλ Жук €",
)
FROM_DATA = '#let d = json("data.json")\n#for text in d [#par(text)\n]\n'


@pytest.fixture
def words_of(tool: Callable[[str], str], tmp_path: Path) -> Callable[[bytes], str]:
    """The text of a PDF as another program reads it."""

    def read(pdf: bytes) -> str:
        path = tmp_path / "read.pdf"
        path.write_bytes(pdf)
        command = [tool("pdftotext"), "-layout", str(path), "-"]
        return subprocess.run(command, capture_output=True, check=True).stdout.decode()

    return read


@pytest.mark.parametrize("text", HOSTILE)
def test_what_people_wrote_is_text_whichever_way_it_gets_in(
    words_of: Callable[[bytes], str], text: str
) -> None:
    by_data = words_of(pdf_of(FROM_DATA, {"data.json": data([text])}, DAY))
    by_source = words_of(pdf_of(in_markup(text) + f"\n\n#par({in_code(text)})", on=DAY))
    assert by_data.split() == text.split()
    assert by_source.split() == [*text.split(), *text.split()]


def test_a_text_beside_a_dot_is_not_a_call() -> None:
    assert pdf_of(in_markup("a") + ".len()", on=DAY)


def test_the_same_source_gives_the_same_bytes_and_bears_its_day(
    tool: Callable[[str], str], tmp_path: Path
) -> None:
    first, second = (pdf_of(FROM_DATA, {"data.json": data(["a"])}, DAY) for _ in range(2))
    assert first == second
    assert pdf_of(FROM_DATA, {"data.json": data(["a"])}, date(2031, 5, 2)) != first
    path = tmp_path / "day.pdf"
    path.write_bytes(first)
    told = subprocess.run(
        [tool("pdfinfo"), "-isodates", str(path)], capture_output=True, check=True
    ).stdout.decode()
    assert "CreationDate:    2031-05-01T00:00:00" in told


def test_without_a_day_it_bears_none() -> None:
    assert b"CreationDate" not in pdf_of("x")
    assert pdf_of("x") == pdf_of("x")


def test_words_of_any_length_stay_on_the_page(words_of: Callable[[bytes], str]) -> None:
    long = "Wx" * 60
    read = words_of(pdf_of(FROM_DATA, {"data.json": data([long])}, DAY))
    assert "".join(read.replace("\u200b", "").split()) == long


def test_letters_of_right_to_left_names_are_there(words_of: Callable[[bytes], str]) -> None:
    read = words_of(pdf_of(FROM_DATA, {"data.json": data(["שלום", "مرحبا"])}, DAY))
    assert "שלום" in read
    assert "مرحبا" in read


def test_without_typst_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def missing(name: str, *more: Any, **other: Any) -> Any:
        if name == "typst":
            raise ImportError(name)
        return real(name, *more, **other)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(RefusedError, match=r'pip install "fleetcare\[pdf\]"'):
        pdf_of("x")
