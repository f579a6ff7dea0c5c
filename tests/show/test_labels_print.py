"""Labels on paper: printed by a real browser and by typst, measured, and their codes read back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from playwright.sync_api import Browser

from fleetcare.show.labels import Label, labels_page
from fleetcare.show.labels_pdf import labels_pdf
from fleetcare.show.labels_sizes import LabelSheet, sheet_named
from fleetcare.show.words import ENGLISH
from tests.show.paper_kit import MM, a_browser, drawn, need, opened, pages_of, printed, words_on

HOSTILE = (
    "OB-14", "W" * 80, "a" * 80, "<script>alert(1)</script>\"'&", "بطة الغدير الكبيرة جدا",
    "ברווז 7", "The old tender of the club with the green stripe, borrowed until the autumn 26",
    "河口のかもめ号",
    "Zalgo\u0351\u0362\u0363 o\u0310\u0311\u0312", "Ладога-3 большой", "Ÿ‱ßØ½", "i",
    "x " * 39 + "x", "http://boats.example/?a=b&c=d", "%&#$\\n{}",
)  # fmt: skip
Papers = Callable[[str, str], Path]
LOOKS = ("intakes look", "kill cord")
LABELS = [Label(name, "B" * 80 if at % 2 else None, LOOKS) for at, name in enumerate(HOSTILE)]
SIZES = ("70x36", "99.1x67.7", "2-5/8x1in", "4x2in")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    need("chromium", "pdftotext", "pdftoppm", "pdfinfo")
    with a_browser() as running:
        yield running


@pytest.fixture(scope="module")
def papers(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Papers:
    """The hostile labels on paper, each size and way once, with lines where to cut."""
    folder = tmp_path_factory.mktemp("papers")

    @cache
    def paper(size: str, way: str) -> Path:
        name = f"{SIZES.index(size)}-{way}"
        if way == "typst":
            pdf = folder / f"{name}.pdf"
            day = date(2026, 7, 18)
            pdf.write_bytes(labels_pdf(LABELS, sheet_of(size), ENGLISH, day, lines=True))
            return pdf
        page = folder / f"{name}.html"
        page.write_text(labels_page(LABELS, sheet_of(size), ENGLISH, lines=True), encoding="utf-8")
        return printed(browser, page, folder / f"{name}.pdf")

    return paper


def sheet_of(size: str) -> LabelSheet:
    sheet = sheet_named(size)
    assert sheet is not None
    return sheet


def dark_at(pixels: np.ndarray[Any, Any], at: float, along: slice, upright: bool) -> bool:
    """Whether a line is drawn within half a millimetre of a place, over most of a stretch."""
    first, last = max(0, round((at - 0.5) * MM)), round((at + 0.5) * MM) + 1
    band = pixels[along, first:last] if upright else pixels[first:last, along]
    return bool(((band < 200).any(axis=1 if upright else 0)).mean() > 0.95)


@pytest.mark.parametrize("way", ["browser", "typst"])
@pytest.mark.parametrize("size", SIZES)
def test_printed_labels_stand_in_place_within_half_a_millimetre(
    size: str, way: str, papers: Papers
) -> None:
    sheet = sheet_of(size)
    pdf = papers(size, way)
    pages, measured = pages_of(pdf)
    assert pages == -(-len(LABELS) // sheet.labels)
    assert measured == pytest.approx([side / 1000 for side in sheet.page], abs=0.3)
    pixels = drawn(pdf)
    width, height = sheet.width / 1000, sheet.height / 1000
    papers_own = (0, sheet.page[0] / 1000, sheet.page[1] / 1000)  # nothing is drawn on these edges
    for x, y in list(sheet.places())[: len(LABELS)]:
        left, top = x / 1000, y / 1000
        down = slice(round((top + 1) * MM), round((top + height - 1) * MM))
        across = slice(round((left + 1) * MM), round((left + width - 1) * MM))
        for edge in (left, left + width):
            assert edge in papers_own or dark_at(pixels, edge, down, True), (left, top, edge)
        for edge in (top, top + height):
            assert edge in papers_own or dark_at(pixels, edge, across, False), (left, top, edge)
        middle = round((left + width / 2) * MM)  # and that is no ink everywhere
        assert pixels[down, middle : middle + 3].mean() > 100


@pytest.mark.parametrize("way", ["browser", "typst"])
@pytest.mark.parametrize("size", SIZES)
def test_the_printed_codes_read_back_as_the_names(size: str, way: str, papers: Papers) -> None:
    sheet = sheet_of(size)
    pdf = papers(size, way)
    found = {}
    for number in range(pages_of(pdf)[0]):
        for code in zxingcpp.read_barcodes(drawn(pdf, number + 1)):
            corner = code.position.top_left
            found[number, corner.x / MM, corner.y / MM] = code.text
    placed: dict[int, str] = {}
    for (number, x, y), text in found.items():
        for at, (left, top) in enumerate(sheet.places()):
            if (
                0 <= x - left / 1000 <= sheet.width / 2000
                and 0 <= y - top / 1000 <= sheet.height / 1000
            ):
                placed[number * sheet.labels + at] = text
    assert [placed.get(at) for at in range(len(HOSTILE))] == list(HOSTILE)


@pytest.mark.parametrize("size", SIZES)
def test_no_text_leaves_its_label_in_the_browser(
    size: str, browser: Browser, tmp_path: Path
) -> None:
    page = tmp_path / "labels.html"
    page.write_text(labels_page(LABELS, sheet_of(size), ENGLISH), encoding="utf-8")
    with opened(browser, page, viewport={"width": 1200, "height": 900}) as shown:
        over = shown.evaluate(
            """() => [...document.querySelectorAll('.sheet svg svg')].flatMap(label => {
                const edge = label.nextElementSibling.getBoundingClientRect();
                return [...label.querySelectorAll('text')].map(text => {
                    const box = text.getBoundingClientRect();
                    return [text.textContent, edge.left - box.left, box.right - edge.right];
                }).filter(([, left, right]) => left > 0 || right > 0);
            })"""
        )
    assert over == []


@pytest.mark.parametrize("way", ["browser", "typst"])
@pytest.mark.parametrize("size", SIZES)
def test_every_printed_word_lies_within_one_label(size: str, way: str, papers: Papers) -> None:
    sheet = sheet_of(size)
    pdf = papers(size, way)
    width, height = sheet.width / 1000, sheet.height / 1000
    for number in range(pages_of(pdf)[0]):
        found = words_on(pdf, number + 1)
        assert found
        for word in found:
            inside = [
                (x, y) for x, y in sheet.places()
                if x / 1000 <= word.left and word.right <= x / 1000 + width
                and y / 1000 - 1 <= word.top and word.bottom <= y / 1000 + height + 1
            ]  # fmt: skip
            assert inside, word


def test_what_is_for_the_screen_is_not_printed(browser: Browser, tmp_path: Path) -> None:
    page = tmp_path / "labels.html"
    page.write_text(labels_page(LABELS[:1], sheet_of("70x36"), ENGLISH), encoding="utf-8")
    pdf = printed(browser, page, tmp_path / "labels.pdf")
    assert "Print" not in {word.text for word in words_on(pdf)}
    with opened(browser, page) as shown:
        assert "Print at 100 %" in shown.inner_text("header")
