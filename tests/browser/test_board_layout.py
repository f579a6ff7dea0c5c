"""The board in Chromium: fleets of every size, every width, hostile words, paper, no scripts."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.conftest import Shown
from tests.browser.hostile import ENGINES
from tests.browser.looks import (
    DRAWN,
    keep_engines,
    lay_out,
    misfits,
    open_all,
    outside,
    overlaps,
    pixels,
    resized,
)
from tests.show.board_fleets import listed, ondrel

WIDE, PHONE, LEAST = 1280, 360, 320
A4, A3 = (718, 1047), (1047, 1510)  # what a sheet holds within its margins, in CSS pixels
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
BLACK = (0, 0, 0)


@pytest.mark.parametrize("fleet", ["0", "1", "3", "pim"])
def test_small_fleets_fit_every_width(shown: Shown, fleet: str) -> None:
    page = shown(fleet)
    open_all(page)
    assert misfits(page, (WIDE, 700, PHONE, LEAST)) == []


@pytest.mark.parametrize("fleet", ["ondrel", "tavvik", "60"])
def test_fleets_fit_the_desk_and_the_phone(shown: Shown, fleet: str) -> None:
    page = shown(fleet)
    lay_out(page)
    assert misfits(page, (WIDE, PHONE), 200) == []
    keep_engines(page, 5)
    open_all(page)
    assert misfits(page, (PHONE, WIDE), 200) == []


def test_a_thousand_engines_fit_and_are_searched_and_sorted(
    shown: Shown, boards: Callable[[str], Path]
) -> None:
    page = shown("1000")
    assert boards("1000").stat().st_size < 3_000_000
    assert page.locator("article").count() == 1000
    for width in (WIDE, PHONE):
        assert resized(page, width).evaluate("document.documentElement.scrollWidth") == width
    page.select_option("[name=order]", "name")
    page.fill("[name=q]", "S-077")
    names = page.locator("article:visible h3").all_text_contents()
    assert names == [f"S-077{last}" for last in range(10)]
    page.fill("[name=q]", "")
    page.select_option("[name=order]", "worst")
    keep_engines(page, 25)
    lay_out(page)
    assert misfits(page, (PHONE, WIDE), 200) == []


def test_hostile_words_neither_run_nor_stick_out_nor_lie_on_others(shown: Shown) -> None:
    page = shown("hostile")
    names = page.locator("article h3").all_text_contents()
    assert sorted(names) == sorted(ENGINES)
    places = set(page.locator("article header .p").all_text_contents())
    assert places == set(ENGINES)
    for choice in ("boat", "place"):
        told = page.locator(f"select[name={choice}] option").all_text_contents()[1:]
        assert len(told) == len(ENGINES)
    for name in ENGINES:
        page.fill("input[type=search]", name)
        assert name in page.locator("article:visible h3").all_text_contents()
    page.fill("input[type=search]", "")
    open_all(page)
    assert misfits(page, (WIDE, PHONE, LEAST), 200) == []
    assert page.locator("img, iframe, object, embed, link, base").count() == 0
    assert page.locator("script").count() == 1
    assert page.evaluate("window.hacked") is None


def test_bars_whiskers_and_the_limit_are_drawn_where_the_due_list_says(shown: Shown) -> None:
    page = shown("ondrel")
    page.evaluate("document.querySelectorAll('.clears').forEach(one => { one.open = true; })")
    rows = {(row["engine"], row["task"]): row for row in listed(ondrel(), "due")["rows"]}
    for width in (WIDE, PHONE):
        drawn = resized(page, width).evaluate(DRAWN)
        assert [one for one in drawn if not is_drawn_rightly(one, rows)] == []
        assert len(drawn) == sum(life_of(row) is not None for row in rows.values())
        assert sum(bool(one["whisker"]) for one in drawn) > 100


def life_of(row: dict[str, Any]) -> float | None:
    life: float | None = row["life_floor"] if row["life_used"] is None else row["life_used"]
    return life


def is_drawn_rightly(one: dict[str, Any], rows: dict[tuple[str, str], dict[str, Any]]) -> bool:
    """Whether a bar begins at nothing and ends at its life, with the line at the limit."""
    life = life_of(rows[one["engine"], one["task"]])
    right = one["bar"] == pytest.approx(life, abs=1e-4) and one["begins"] == pytest.approx(0)
    right = right and one["limit"] == pytest.approx(1, abs=2 * one["pixel"])
    if not one["whisker"]:
        return bool(right)
    begin, end = one["whisker"]
    return bool(right and life is not None and life - 1e-4 <= begin <= 1 + 1e-4 <= end + 2e-4)


def test_the_limit_is_one_line_above_the_bars_through_every_engine(shown: Shown) -> None:
    page = shown("ondrel")
    keep_engines(page, 3)
    for width in (WIDE, PHONE):
        shot = along_the_limit(resized(page, width, 1000))
        assert len(shot) == 800
        assert [at for at, row in enumerate(shot) if BLACK not in row] == []


def along_the_limit(page: Page) -> list[list[tuple[int, int, int]]]:
    """The pixels along the line of the limit, from the first engine's head down."""
    article = page.locator("article").first
    page.evaluate("document.querySelector('article').scrollIntoView()")
    box = article.bounding_box()
    assert box is not None
    left = float(article.evaluate("one => parseFloat(getComputedStyle(one, '::before').left)"))
    clip = {"x": round(box["x"] + left) - 2, "y": box["y"] + 8, "width": 5, "height": 800}
    return pixels(page.screenshot(clip=clip))  # type: ignore[arg-type]


def test_a_status_never_goes_by_its_colour_alone(shown: Shown) -> None:
    page = shown("ondrel")
    for kind, word in (("o", "overdue"), ("d", "due"), ("n", "no record")):
        rows = page.locator(f"#all > article > ol > li.{kind}")
        assert rows.count() > 10
        assert set(rows.locator("p > span").all_text_contents()) == {word}
    looks = {
        page.locator(f"#all > article > ol > li.{kind} rect").first.evaluate(
            "one => getComputedStyle(one).fill + getComputedStyle(one).strokeDasharray"
        )
        for kind in "odn"
    }
    assert len(looks) == 3
    assert sum("url(" in look for look in looks) == 2  # patterns
    assert sum("4px, 3px" in look for look in looks) == 1  # a dashed outline


# ---- the phone


def test_on_a_phone_what_must_not_go_out_comes_first_and_figures_when_asked_for(
    shown: Shown,
) -> None:
    page = shown("ondrel", PHONE, 780)
    box = page.locator(".holds li").first.bounding_box()
    assert box is not None
    assert box["y"] + 60 < 780
    keep_engines(page, 3)
    figures = page.locator("#e1 > ol > li > small").first
    assert not figures.is_visible()
    page.get_by_label("with all figures").check()
    assert figures.is_visible()
    assert "318.4 h and 1200 days since done" in (figures.text_content() or "")
    lay_out(page)
    assert (outside(page), overlaps(page, 200)) == ([], [])


# ---- paper


def test_paper_shows_the_board_and_nothing_to_press(shown: Shown) -> None:
    page = shown("ondrel", *A4)
    page.emulate_media(media="print")
    for wide, high in (A4, A3):
        resized(page, wide, high)
        assert (outside(page), overlaps(page, 200)) == ([], [])
        for gone in ("nav", "form", ".skip", ".more"):
            assert not page.locator(gone).first.is_visible()
        for there in ("#held", "#chains", "article >> nth=25", "#days", "#hours", "#found"):
            assert page.locator(there).is_visible()
    kept = "one => getComputedStyle(one).printColorAdjust"
    for drawn in ("#e1 > ol > li > svg >> nth=0", ".overdue >> nth=0", ".hours svg >> nth=0"):
        assert page.locator(drawn).evaluate(kept) == "exact"


def test_a_club_prints_on_half_a_dozen_sheets(shown: Shown) -> None:
    sheets = shown("tavvik").pdf(format="A4")
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", sheets)) <= 8


# ---- without scripts, and for everybody


def test_with_scripts_off_everything_is_there_and_opens(shown: Shown) -> None:
    page = shown("ondrel", scripts=False)
    assert not page.locator("#find").is_visible()
    assert not page.locator("#old").is_visible()
    assert page.locator("article:visible").count() == 26
    assert page.locator("#all > article > ol > li:visible").count() == 174
    clear = page.locator("#e1 .clears li").first
    assert not clear.is_visible()
    page.locator("#e1 .clears summary").click()
    assert clear.is_visible()
    page.locator("#e1 .past summary").click()
    assert page.locator("#e1 .line").is_visible()


@pytest.mark.parametrize(("fleet", "width"), [("ondrel", WIDE), ("pim", PHONE), ("0", WIDE)])
def test_axe_finds_nothing_that_not_everybody_could_use(
    shown: Shown, fleet: str, width: int
) -> None:
    page = shown(fleet, width)
    keep_engines(page, 1)
    page.evaluate(
        "document.querySelectorAll('.chain').forEach((one, at) => at < 3 || one.remove())"
    )
    open_all(page)
    assert complaints(page) == []


def complaints(page: Page) -> list[str]:
    found = Axe().run(page, options=RULES).response
    assert found["passes"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found["violations"]]
