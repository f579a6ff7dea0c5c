"""Searching, filtering and sorting the board, by mouse and by keyboard; and how old it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page

from fleetcare.fleet.names import natural
from tests.browser.conftest import Shown
from tests.show.board_fleets import listed, ondrel

Json = dict[str, Any]


@pytest.fixture(scope="module")
def rows() -> list[Json]:
    found: list[Json] = listed(ondrel(), "due")["rows"]
    return found


def engines(page: Page) -> list[str]:
    return page.locator("article:visible h3").all_text_contents()


def jobs(page: Page) -> set[tuple[str, str]]:
    """The engine and job of every row that is not filtered out, folded ones too."""
    found = page.evaluate(
        """() => Array.from(document.querySelectorAll("article > ol > li, .clears > ol > li"))
          .filter((item) => !item.closest("[hidden]"))
          .map((item) => [item.closest("article").querySelector("h3").textContent,
                          (item.querySelector("b > bdi") ?? item.firstChild).textContent])"""
    )
    return {(engine, task) for engine, task in found}


def of(rows: list[Json], is_wanted: Callable[[Json], bool]) -> set[tuple[str, str]]:
    return {(row["engine"], row["task"]) for row in rows if is_wanted(row)}


def told(page: Page) -> str:
    return page.locator("output").inner_text()


# ---- filters


@pytest.mark.parametrize(
    ("choice", "status"), [("o", "overdue"), ("n", "no record"), ("d", "due"), ("c", "clear")]
)
def test_a_status_leaves_its_rows_alone(
    desk: Page, rows: list[Json], choice: str, status: str
) -> None:
    page = desk
    page.select_option("[name=status]", choice)
    meant = of(rows, lambda row: row["status"] == status)
    assert jobs(page) == meant
    assert set(engines(page)) == {engine for engine, _ in meant}
    assert told(page) == f"{len(set(engines(page)))} of 26 engines"
    if status == "clear":
        assert page.locator(".clears li:visible").count() == len(meant)


def test_held_leaves_the_held_engines_with_all_their_rows(desk: Page, rows: list[Json]) -> None:
    page = desk
    page.select_option("[name=status]", "h")
    assert engines(page) == ["OB-14", "OB-17"]
    assert jobs(page) == of(rows, lambda row: row["held"])


def test_a_boat_leaves_its_engines(desk: Page) -> None:
    page = desk
    boats = page.locator("[name=boat] option").all_text_contents()[1:]
    assert boats == sorted(boats, key=natural)
    page.select_option("[name=boat]", "Boat 12")
    assert engines(page) == ["OB-12"]


def test_a_place_leaves_its_engines_and_is_asked_only_where_there_are_several(
    shown: Shown, desk: Page
) -> None:
    page = shown("tavvik")
    places = page.evaluate(
        """() => Array.from(document.querySelectorAll("article header"), (head) =>
          [head.querySelector("h3").textContent, head.querySelector(".p")?.textContent])"""
    )
    for place, least in (("Slip", 5), ("Mill pond", 1)):
        page.select_option("[name=place]", place)
        meant = {name for name, there in places if there == place}
        assert set(engines(page)) == meant
        assert len(meant) >= least
    assert not desk.locator("[name=place]").is_visible()


@pytest.mark.parametrize("harm", ["overheating", "seized swivel", "gear failure"])
def test_leads_to_leaves_the_jobs_that_do(desk: Page, rows: list[Json], harm: str) -> None:
    page = desk
    page.select_option("[name=leads]", label=harm)
    assert jobs(page) == of(rows, lambda row: harm in row["leads_to"])


def test_filters_narrow_each_other(desk: Page, rows: list[Json]) -> None:
    page = desk
    page.select_option("[name=status]", "o")
    page.select_option("[name=leads]", label="overheating")
    page.fill("[name=q]", "boat 14")
    meant = of(
        rows,
        lambda row: row["boat"] == "Boat 14" and row["status"] == "overdue"
        and "overheating" in row["leads_to"],
    )  # fmt: skip
    assert len(meant) > 3
    assert jobs(page) == meant


def test_a_search_finds_engines_boats_other_names_and_jobs(desk: Page, rows: list[Json]) -> None:
    page = desk
    for said, engine in (("ob-07", "OB-07"), ("BOAT 21", "OB-21"), ("pestle", "OB-14")):
        page.fill("[name=q]", said)
        assert engine in engines(page)
    page.fill("[name=q]", "impeller")
    assert jobs(page) == of(rows, lambda row: "impeller" in f"{row['task']} {row['title']}".lower()
                            if row["status"] != "clear" else "impeller" in row["task"])  # fmt: skip
    page.fill("[name=q]", "ob-17 thermostat")
    assert jobs(page) == {("OB-17", "thermostat")}
    assert page.locator(".clears li:visible").count() == 1  # opened, since it is among the clear
    page.fill("[name=q]", "no such thing")
    assert (engines(page), told(page)) == ([], "0 of 26 engines")


def test_show_all_brings_everything_back_as_it_was(shown: Shown, rows: list[Json]) -> None:
    page = shown()
    before = engines(page)
    page.select_option("[name=status]", "c")
    page.select_option("[name=order]", "name")
    page.get_by_role("button", name="Show all").click()
    page.wait_for_function("document.querySelector('[name=order]').value === 'worst'")
    page.wait_for_function("document.querySelector('article h3').textContent === 'OB-14'")
    assert engines(page) == before
    assert len(jobs(page)) == len(rows)
    assert page.locator(".clears[open]").count() == 0
    assert told(page) == "26 of 26 engines"


def test_folded_counts_follow_the_filter(desk: Page, rows: list[Json]) -> None:
    page = desk
    page.select_option("[name=leads]", label="overheating")
    for engine in engines(page)[:6]:
        mine = of(
            rows,
            lambda row, one=engine: row["engine"] == one and row["status"] == "clear"
            and "overheating" in row["leads_to"],
        )  # fmt: skip
        article = page.locator("article", has=page.get_by_role("heading", name=engine, exact=True))
        summary = article.locator(".clears summary")
        assert summary.text_content() == f"{len(mine)} clear"


# ---- order


def test_engines_are_put_in_the_order_asked_for(desk: Page, rows: list[Json]) -> None:
    page = desk
    worst = engines(page)
    assert worst == list(dict.fromkeys(row["engine"] for row in rows))
    page.select_option("[name=order]", "name")
    assert engines(page) == sorted(worst, key=natural)
    page.select_option("[name=order]", "boat")
    boats = [row["boat"] for name in engines(page) for row in rows if row["engine"] == name]
    shown_boats = list(dict.fromkeys(boats))
    afloat = [boat for boat in shown_boats if boat is not None]
    assert afloat == sorted(afloat, key=natural)
    assert shown_boats[-1] is None  # in store comes last
    page.select_option("[name=order]", "due")
    first = [min(_days(rows, name)) for name in engines(page)]
    assert first == sorted(first)
    page.select_option("[name=order]", "used")
    used = [max(_lives(rows, name)) for name in engines(page)]
    assert used == sorted(used, reverse=True)
    page.select_option("[name=order]", "worst")
    assert engines(page) == worst


def _days(rows: list[Json], engine: str) -> list[str]:
    return [row["due_on"] for row in rows if row["engine"] == engine and row["due_on"]]


def _lives(rows: list[Json], engine: str) -> list[float]:
    return [
        round(row["life_used"] if row["life_used"] is not None else row["life_floor"] or 0, 3)
        for row in rows
        if row["engine"] == engine
    ]


# ---- the keyboard


def focused(page: Page) -> str:
    return str(
        page.evaluate(
            "(() => { const one = document.activeElement;"
            " return one.name || one.textContent.trim() || one.localName; })()"
        )
    )


def test_the_keyboard_goes_through_the_page_in_its_order(shown: Shown) -> None:
    page = shown()
    page.keyboard.press("Tab")
    assert focused(page) == "Skip to what must not go out"
    box = page.locator(".skip:focus").bounding_box()
    assert box is not None
    assert box["x"] >= 0
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.url.endswith("#engines")
    page.keyboard.press("Tab")
    assert focused(page) == "q"
    seen = []
    for _ in range(5):
        page.keyboard.press("Tab")
        seen.append(focused(page))
    assert seen == ["status", "boat", "leads", "order", "Show all"]
    page.keyboard.press("Tab")
    assert focused(page) == "How to read it"
    page.keyboard.press("Tab")
    assert focused(page) == "15 clear"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    assert page.locator("#e1 .clears li:visible").count() == 15
    page.keyboard.press("Tab")
    assert focused(page) == "history"
    page.keyboard.press("Space")
    assert page.locator("#e1 .line").is_visible()


def test_the_keyboard_alone_searches_filters_and_sorts(shown: Shown) -> None:
    page = shown()
    page.locator("[name=q]").focus()
    page.keyboard.type("ob-2")
    assert set(engines(page)) == {f"OB-2{last}" for last in range(5)}
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    assert page.locator("[name=status]").input_value() == "o"
    assert set(engines(page)) == {"OB-21", "OB-22"}
    page.keyboard.press("Enter")
    assert page.url.endswith("ondrel.html")


def test_a_link_from_the_top_comes_to_its_engine(shown: Shown) -> None:
    page = shown()
    page.locator("#chains").get_by_role("link", name="OB-22").first.click()
    place = page.url.partition("#")[2]
    assert page.locator(f"#{place} h3").inner_text() == "OB-22"
    page.wait_for_function(
        "place => Math.abs(document.getElementById(place).getBoundingClientRect().top) < 120",
        arg=place,
    )


# ---- how old it is


@pytest.mark.parametrize(
    ("now", "said"),
    [
        ("2026-07-18T00:00:01", None),
        ("2026-07-17T12:00:00", None),
        ("2026-07-19T00:00:01", "This board is of yesterday. What was logged since is not on it."),
        ("2026-08-17T23:59:00", "This board is 30 days old. What was logged since is not on it."),
    ],
)
def test_an_old_board_says_so(shown: Shown, now: str, said: str | None) -> None:
    page = shown("0", now=now)
    old = page.locator("#old")
    assert old.is_visible() is (said is not None)
    assert said is None or old.inner_text() == said
