"""Typing `labels`: which engines, which sheets, where it goes, what is refused."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from lxml import etree, html

from tests.cli.typed import fleetcare, one_line, refused

SVG = "{http://www.w3.org/2000/svg}"


def names_on(page: Path | str) -> list[str]:
    """The engines' names on a page, in the order of its labels."""
    text = page.read_text(encoding="utf-8") if isinstance(page, Path) else page
    return [
        " ".join(item.text or "" for item in label.iter("text") if item.get("class") == "name")
        for label in html.fromstring(text).iterfind(".//svg/svg")
    ]


def test_all_engines_in_use_get_a_label_in_the_order_people_count(ondrel: Path) -> None:
    said = fleetcare("labels")
    assert one_line(said.out) == (
        "labels.html: 26 labels of 70 × 36 mm on 2 sheets of A4; print at 100 %."
    )
    wanted = [f"OB-{number:02}" for number in range(1, 25)] + ["Spare A", "Spare B"]
    assert names_on(Path("labels.html")) == wanted


def test_named_engines_come_in_the_order_named_under_any_of_their_names(ondrel: Path) -> None:
    fleetcare("labels", "OB-21", "pestle", "--copies", 2, "--html", "some.html")
    assert names_on(Path("some.html")) == ["OB-21", "OB-21", "OB-14", "OB-14"]


def test_a_label_shows_the_boat_of_the_day_asked_for(ondrel: Path) -> None:
    for day, boat in (("2026-07-01", "Boat 3"), ("2026-07-18", "in store")):
        page = fleetcare("labels", "OB-03", "--as-of", day, "--html", "-").out
        boats = [item.text for item in html.fromstring(page).iter("text")
                 if item.get("class") == "boat"]  # fmt: skip
        assert boats == [boat]


def test_looks_are_those_that_fit_the_engine(small: Path) -> None:
    page = fleetcare("labels", "Plover", "--html", "-").out.replace("\u00a0", " ")
    assert "intakes look" in page and "kill cord" in page
    fleetcare("engine", "add", "Teal", "--boat", "Lapwing", "--since", "2026-04-01", "--new",
              "--without", "kill cord")  # fmt: skip
    page = fleetcare("labels", "Teal", "--html", "-").out.replace("\u00a0", " ")
    assert "intakes look" in page and "kill cord" not in page


def test_retired_engines_have_none(small: Path) -> None:
    fleetcare("engine", "retire", "Knot")
    assert names_on(fleetcare("labels", "--html", "-").out) == ["Plover", "Spare"]
    assert "is retired since 2026-07-18" in refused(small, "labels", "Knot")


def test_the_sizes_are_listed_with_their_counts(fleet: Path) -> None:
    said = fleetcare("labels", "--size", "list").lines
    assert [line.split()[:1] + line.split()[-6:-5] for line in said if line.startswith("70x36")]
    listed = {line.split()[0]: line for line in said[2:]}
    assert {"70x36", "99.1x67.7", "105x74", "2-5/8x1in", "4x2in"} <= set(listed)
    assert "24  A4" in listed["70x36"] and "30  Letter" in listed["2-5/8x1in"]
    assert "8  A4" in listed["105x74"] and "10  Letter" in listed["4x2in"]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--size", "70x35"), 'Did you mean "70x37" or "70x36"?'),
        (("--size", "moon"), "--size list shows them"),
        (("--skip", "24"), "has 24 labels, so none is left"),
        (("OB-99",), 'no engine "OB-99". Did you mean'),
        (("--html", "x.html", "--pdf", "x.html"), "give each its own file"),
    ],
)
def test_what_cannot_be_made_is_refused_in_a_line_and_writes_nothing(
    words: tuple[str, ...], why: str, ondrel: Path
) -> None:
    before = set(Path().iterdir())
    assert why in one_line(refused(ondrel, "labels", *words))
    assert set(Path().iterdir()) == before


def test_a_fleet_without_engines_is_told_so(fleet: Path) -> None:
    fleetcare("new", "--hemisphere", "northern")
    assert "no engine to make a label of" in refused(fleet, "labels")


def test_pdf_alone_writes_no_page_and_both_write_both(ondrel: Path) -> None:
    pytest.importorskip("typst")
    assert "a.pdf: 1 label" in fleetcare("labels", "OB-14", "--pdf", "a.pdf").out
    assert Path("a.pdf").read_bytes().startswith(b"%PDF-")
    assert not Path("labels.html").exists()
    said = fleetcare("labels", "OB-14", "--pdf", "b.pdf", "--html", "b.html").lines
    assert [line.partition(":")[0] for line in said] == ["b.html", "b.pdf"]
    assert Path("a.pdf").read_bytes() == Path("b.pdf").read_bytes()


def test_without_typst_pdf_is_refused_with_what_to_install(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    said = refused(ondrel, "labels", "--pdf", "a.pdf", "--html", "a.html")
    assert 'pip install "fleetcare[pdf]"' in said
    assert not Path("a.pdf").exists() and not Path("a.html").exists()


def test_the_page_goes_to_stdout_alone_and_what_is_said_of_it_to_stderr(ondrel: Path) -> None:
    said = fleetcare("labels", "OB-14", "--html", "-")
    assert said.out.startswith("<!DOCTYPE html>") and said.out.endswith("</html>\n")
    assert said.err == ""


def test_a_folder_that_cannot_be_written_is_told_and_the_old_page_stays(ondrel: Path) -> None:
    if os.geteuid() == 0:
        Path("file").write_text("no folder", encoding="utf-8")
        said = fleetcare("labels", "OB-14", "--html", "file/page.html", code=4).err
        assert "file/page.html cannot be written" in said
        return
    Path("shut").mkdir()
    Path("shut/page.html").write_text("old", encoding="utf-8")
    Path("shut").chmod(stat.S_IRUSR | stat.S_IXUSR)
    said = fleetcare("labels", "OB-14", "--html", "shut/page.html", code=4).err
    assert "shut/page.html cannot be written" in said
    assert Path("shut/page.html").read_text(encoding="utf-8") == "old"


def test_the_language_is_the_fleets_or_the_one_asked_for(ondrel: Path) -> None:
    assert "Every start:" in fleetcare("labels", "OB-14", "--html", "-").out
    asked = fleetcare("labels", "OB-14", "--html", "-", "--language", "de").out
    assert "Vor jedem Start:" in asked
    fleetcare("settings", "language", "de")
    assert fleetcare("labels", "OB-14", "--html", "-").out == asked
    assert "Every start:" in fleetcare("labels", "OB-14", "--html", "-", "--language", "en").out


def test_the_languages_offered_are_those_of_the_setting() -> None:
    from fleetcare.cli.main import cli
    from fleetcare.fleet.settings import LANGUAGES

    option = next(item for item in cli.commands["labels"].params if item.name == "language")
    assert tuple(option.type.choices) == LANGUAGES  # type: ignore[attr-defined]


def test_the_page_is_sound_and_needs_nothing_from_elsewhere(ondrel: Path) -> None:
    page = fleetcare("labels", "--html", "-").out
    start = page.index("<svg")
    drawing = page[start : page.index("</section>")]
    etree.fromstring(drawing.encode())
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
    assert "<script" not in page
