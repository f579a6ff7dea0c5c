"""The sheet as a browser prints it: real Chromium, then what other programs read off the paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fleetcare.show.sheet import Sheet
from fleetcare.show.sheet_page import sheet_page
from fleetcare.show.sheet_view import sheet_view
from tests.show.paper import A4, LETTER, Tool, codes, is_of, pages, sizes
from tests.show.paper_kit import a_browser, need
from tests.show.sheet_fleet import ALL, HOSTILE, RULES, hostile_sheet, sheet

FOOT = "Mon 12 May 2031"
MM = 96 / 25.4  # CSS pixels in a millimetre
# Elements whose content is wider than they are, or that reach beyond the paper.
OVERFLOWING = """() => [...document.body.querySelectorAll('*')].filter(e => {
  const box = e.getBoundingClientRect();
  return !e.closest('svg') && (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0
    || box.right > document.documentElement.clientWidth + 1 || box.left < -1);
}).map(e => e.outerHTML.slice(0, 200))"""
BOXES = """() => [...document.querySelectorAll('.tick > i, .look > i')].flatMap(e => {
  const box = e.getBoundingClientRect(), edge = 2 * parseFloat(getComputedStyle(e).borderTopWidth);
  return [box.width - edge, box.height - edge] })"""
COLOURS = """() => [...new Set([...document.body.querySelectorAll('*')].flatMap(e => {
  const s = getComputedStyle(e); return [s.color, s.borderTopColor, s.backgroundColor]; }))]"""
LETTERS = """() => [...document.querySelectorAll('.job p, .care, .word, li')].map(
  e => parseFloat(getComputedStyle(e).fontSize))"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    need("chromium")
    with a_browser() as made:
        yield made


@pytest.fixture(scope="module")
def whole() -> Sheet:
    """One engine with every job of the rules, 40 or more."""
    made = sheet()
    assert len(made.visits[0].jobs) >= 40
    return made


def shown(browser: Any, made: Sheet, paper: str = "a4", width: int = 1000) -> Any:
    page = browser.new_page(viewport={"width": width, "height": 1200})
    page.set_content(sheet_page(sheet_view(made), FOOT, paper))
    return page


def printed(browser: Any, made: Sheet, path: Path, paper: str = "a4") -> Path:
    page = shown(browser, made, paper)
    page.pdf(path=path, prefer_css_page_size=True)
    page.close()
    return path


@pytest.fixture(scope="module")
def a4(browser: Any, whole: Sheet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return printed(browser, whole, tmp_path_factory.mktemp("print") / "a4.pdf")


def test_every_job_of_forty_is_printed_once_and_never_cut_in_two(a4: Path, tool: Tool) -> None:
    found = pages(tool, a4)
    everything = " ".join(found)
    for rule in RULES.rules.values():
        assert everything.count(f". {rule.title} ") == 1
    # a job begins with its title and ends with its note: both stand on the same page
    for page in found:
        begun = sum(page.count(f". {RULES.rules[task].title} ") for task in ALL)
        assert begun == page.count("not done Note")
    assert everything.count("not done Note") == len(ALL)


def test_pages_are_numbered_of_how_many(a4: Path, tool: Tool) -> None:
    found = pages(tool, a4)
    for at, page in enumerate(found, 1):
        assert page.endswith(f"{FOOT} page {at} of {len(found)}")


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_it_prints_on_the_paper_asked_for(
    browser: Any, tool: Tool, tmp_path: Path, paper: str, size: tuple[float, float]
) -> None:
    path = printed(browser, sheet(tasks=("plugs",)), tmp_path / "paper.pdf", paper)
    found = sizes(tool, path)
    assert found and all(is_of(size, one) for one in found)


def test_the_code_on_the_paper_is_the_engine_s_name(
    browser: Any, tool: Tool, tmp_path: Path
) -> None:
    path = printed(browser, hostile_sheet(("plugs",)), tmp_path / "codes.pdf")
    assert codes(tool, path) == list(HOSTILE)


def test_nothing_of_forty_jobs_or_of_hostile_names_overflows_the_paper(
    browser: Any, whole: Sheet
) -> None:
    for made in (whole, hostile_sheet()):
        page = shown(browser, made, width=round(186 * MM))
        page.emulate_media(media="print")
        assert page.evaluate(OVERFLOWING) == []
        page.close()


def test_a_phone_shows_it_without_scrolling_sideways(browser: Any) -> None:
    page = shown(browser, hostile_sheet(), width=360)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert page.evaluate(OVERFLOWING) == []
    page.close()


def test_boxes_and_letters_are_large_enough_for_gloves_and_sun(browser: Any, whole: Sheet) -> None:
    page = shown(browser, whole, width=round(186 * MM))
    page.emulate_media(media="print")
    sides = page.evaluate(BOXES)
    assert len(sides) > 400
    assert min(sides) >= 8 * MM - 1  # borders are drawn in whole pixels
    assert min(page.evaluate(LETTERS)) >= 10 * 96 / 72  # ten points at least
    page.close()


def test_names_of_people_run_nothing(browser: Any) -> None:
    page = browser.new_page()
    heard: list[str] = []
    page.on("dialog", lambda dialog: (heard.append(dialog.message), dialog.dismiss()))
    page.on("request", lambda request: heard.append(request.url))
    page.set_content(sheet_page(sheet_view(hostile_sheet()), FOOT))
    assert page.evaluate("document.scripts.length") == 0
    assert heard == []
    page.close()


def test_black_and_white_loses_nothing(browser: Any, whole: Sheet) -> None:
    page = shown(browser, whole)
    page.emulate_media(media="print")
    colours = page.evaluate(COLOURS)
    black, white, none = "rgb(0, 0, 0)", "rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"
    assert set(colours) <= {black, white, none}
    page.close()


def test_everybody_can_use_the_page(browser: Any) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.set_content(sheet_page(sheet_view(hostile_sheet()), FOOT))
    found = axe.run(page)
    assert found.violations_count == 0, found.generate_report()
    context.close()
