"""Typing `history --html`, `--pdf`, `--export`: printed, read by everybody, handed over."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from lxml import html
from playwright.sync_api import Browser

from tests.cli.test_rules import HARBOUR
from tests.cli.typed import fleetcare, one_line, refused, rows, written
from tests.show.paper_kit import a_browser, need, opened, pages_of, printed, text_of

EXACT = (
    "status", "life_used", "life_floor", "hours_since", "hours_left", "days_since", "water",
    "last_done_on", "last_done_hours", "overdue_since", "held", "put_off_until", "leads_to",
)  # fmt: skip


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    need("chromium", "pdftotext", "pdfinfo")
    with a_browser() as running:
        yield running


def told(fleet: Path) -> None:
    """Plover of the small fleet with a mistake taken back, a job put off, a swap and a hold."""
    fleetcare("reading", "Plover", 262, "--on", "2026-06-01")
    fleetcare("reading", "Plover", 279.9, "--on", "2026-06-02", "--note", "a slip")
    fleetcare("undo", 4, "--by", "office")
    fleetcare("done", "Plover", "gear oil", "--on", "2026-06-10", "--reading", 270, "--by", "shed")
    fleetcare("swap", "Plover", "Spare", "gearcase", "--on", "2026-06-20")
    because = ("--because", "none on the shelf", "--on", "2026-07-01")
    fleetcare("put-off", "Plover", "plugs", "--until", "2026-08-01", *because)
    fleetcare("incident", "Plover", "overheated", "--on", "2026-07-05")


# -- the page -------------------------------------------------------------------------------------


def test_the_page_shows_every_entry_of_the_log_and_what_is_due(small: Path) -> None:
    told(small)
    said = fleetcare("history", "Plover", "--html", "page.html")
    kept = json.loads(fleetcare("history", "Plover", "--format", "json").out)["rows"]
    own = [row for row in kept if row["event"] != "withdrawal"]
    assert one_line(said.out) == f"page.html: history of Plover, {len(own)} entries."
    page = html.fromstring(Path("page.html").read_text(encoding="utf-8"))
    text = page.text_content()
    for row in own:
        if row["event"] not in ("reading", "run"):
            assert page.xpath(f"//td[normalize-space()='{row['entry']}']"), row
    assert "262" in text and "279.9" in text
    assert [item.text for item in page.iter("s")][:1] == ["2:\u00a0279.9 (a slip)"]
    assert "none on the shelf" in text and "Held, it must not go out: overheated on 5 Jul." in text
    jobs = {item.text_content() for item in page.xpath("//section[@id='due']//td[1]/text()/..")}
    assert len(jobs) == len(rows("due", "--engine", "Plover"))


def test_the_figures_of_the_due_table_are_those_of_due(ondrel: Path) -> None:
    page = html.fromstring(fleetcare("history", "OB-21", "--html", "-").out)
    shown = {}
    for row in page.xpath("//section[@id='due']//tbody/tr"):
        cells = row.findall("td")
        name = next(cells[0].itertext()).strip()
        shown[name] = [" ".join(cell.itertext()).split() for cell in cells]
    for row in rows("due", "--engine", "OB-21"):
        cells = shown.pop(row["task"])
        assert " ".join(cells[1]).startswith(row["status"]), row
        share = row["life_used"] if row["life_used"] is not None else row["life_floor"]
        if share is not None:
            percent = int("".join(char for char in "".join(cells[2]) if char.isdigit()) or 0)
            assert percent == pytest.approx(share * 100, abs=0.51), row
        if row["last_done_on"]:
            assert cells[4][2] == row["last_done_on"][:4]
    assert shown == {}


def test_a_list_as_of_a_day_ends_there_and_so_does_the_page(ondrel: Path) -> None:
    ends = [row["on"] for row in rows("history", "OB-14", "--as-of", "2026-06-30")]
    assert max(ends) <= "2026-06-30" < max(row["on"] for row in rows("history", "OB-14"))
    page = fleetcare("history", "OB-14", "--as-of", "2026-06-30", "--html", "-").out
    assert "overheated on" not in page
    assert "tell-tale weak" in page


def test_what_cannot_be_told_is_refused(small: Path) -> None:
    assert "was not known yet on 2026-03-31" in refused(
        small, "history", "Plover", "--as-of", "2026-03-31", "--html", "x.html"
    )
    assert "Did you mean" in refused(small, "history", "Plovr", "--html", "x.html")
    assert "give each its own file" in refused(
        small, "history", "Plover", "--html", "x", "--pdf", "x"
    )
    assert not Path("x.html").exists() and not Path("x").exists()


def test_a_retired_engine_has_a_history_that_ends(small: Path) -> None:
    fleetcare("engine", "retire", "Knot", "--on", "2026-07-01")
    page = fleetcare("history", "Knot", "--html", "-").out
    assert "Retired since 1 Jul 2026: it is on no list any more." in page
    assert "A retired engine has no due list." in page


# -- on paper and on a screen ---------------------------------------------------------------------


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
@pytest.mark.parametrize("way", ["browser", "typst"])
def test_it_prints_whole_on_the_paper_asked_for_page_by_page(
    paper: str, size: tuple[float, float], way: str, browser: Browser, small: Path
) -> None:
    told(small)
    fleetcare("history", "Plover", "--html", "page.html", "--pdf", "page.pdf", "--paper", paper)
    pdf = Path("page.pdf")
    if way == "browser":
        pdf = printed(browser, Path("page.html"), Path("printed.pdf"))
    count, measured = pages_of(pdf)
    assert measured == pytest.approx(size, abs=0.4)
    text = text_of(pdf)
    for number in range(1, count + 1):
        assert f"Page {number} of {count}" in text
    assert text.count("History of Plover") >= count
    flat = " ".join(text.split())
    for wanted in (
        "Held, it must not go out", "gear oil", "none on the shelf", "withdrawn by office on",
        "Entries are never changed or removed", "Its own gearcase is under Spare now.",
        "Name and signature", "licensed practice",
    ):  # fmt: skip
        assert wanted in flat, wanted


def test_nothing_on_the_printed_page_runs_over_its_edge(browser: Browser, ondrel: Path) -> None:
    fleetcare("engine", "also-called", "OB-14", "W" * 80)
    fleetcare("done", "OB-14", "plugs", "--note", "M" * 300, "--on", "2026-07-17")
    Path("page.html").write_bytes(fleetcare("history", "OB-14", "--html", "-").out.encode())
    with opened(browser, Path("page.html"), viewport={"width": 703, "height": 900}) as page:
        page.emulate_media(media="print")
        over = page.evaluate(
            """() => [...document.querySelectorAll('main *')].filter(item => {
                const box = item.getBoundingClientRect();
                return box.right > innerWidth + 1 && !item.closest('svg');
            }).map(item => item.tagName + ' ' + item.textContent.slice(0, 40))"""
        )
    assert over == []


def test_a_phone_scrolls_tables_inside_and_never_the_page(browser: Browser, ondrel: Path) -> None:
    Path("page.html").write_bytes(fleetcare("history", "OB-14", "--html", "-").out.encode())
    with opened(browser, Path("page.html"), viewport={"width": 360, "height": 740}) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_everybody_can_use_the_page(browser: Browser, ondrel: Path) -> None:
    Path("page.html").write_bytes(fleetcare("history", "OB-14", "--html", "-").out.encode())
    with opened(browser, Path("page.html"), viewport={"width": 1000, "height": 800}) as page:
        found = Axe().run(page)
    assert [item["id"] for item in found.response["violations"]] == []


def test_the_page_is_whole_without_a_network_or_scripts(ondrel: Path) -> None:
    page = fleetcare("history", "OB-14", "--html", "-").out
    assert "<script" not in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")


# -- handed over ----------------------------------------------------------------------------------


def exact(*words: object) -> list[dict[str, object]]:
    return [{"task": row["task"], **{key: row[key] for key in EXACT}} for row in rows(*words)]


def by_task(found: list[dict[str, object]]) -> list[dict[str, object]]:
    return sorted(found, key=lambda row: str(row["task"]))


@pytest.mark.parametrize("engine", ["OB-19", "OB-08", "OB-14", "Spare A"])
def test_another_fleetcare_opens_the_engine_alone_and_sees_the_same(
    engine: str, ondrel: Path
) -> None:
    before = written(ondrel)
    said = fleetcare("history", engine, "--export", "alone.db")
    assert said.lines[0] == "wrote alone.db"
    assert "parts on the shelf stay behind" in said.err
    assert written(ondrel) == before
    assert by_task(exact("due", "--fleet", "alone.db")) == by_task(exact("due", "--engine", engine))
    assert "is whole; 0 worth a look" in fleetcare("check", "--fleet", "alone.db").out
    assert "stored entry" in fleetcare("done", engine, "plugs", "--fleet", "alone.db").out


def test_tables_of_the_engine_alone_are_read_into_a_new_fleet(ondrel: Path) -> None:
    fleetcare("history", "OB-19", "--export", "tables")
    fleetcare("new", "--fleet", "new.db")
    fleetcare("import", "tables", "--fleet", "new.db")
    assert by_task(exact("due", "--fleet", "new.db")) == by_task(exact("due", "--engine", "OB-19"))
    fleetcare("history", "OB-19", "--export", "alone.db")
    one, two = (fleetcare("settings", "--fleet", file).out for file in ("new.db", "alone.db"))
    assert one == two


def test_a_rule_set_of_ones_own_goes_along(small: Path) -> None:
    Path("intervals").mkdir()
    Path("intervals/harbour.toml").write_text(HARBOUR, encoding="utf-8")
    fleetcare("settings", "rules", "harbour")
    said = fleetcare("history", "Plover", "--export", "over/alone.db")
    assert said.lines[:2] == ["wrote over/alone.db", "wrote over/intervals/harbour.toml"]
    assert by_task(exact("due", "--fleet", "over/alone.db")) == by_task(
        exact("due", "--engine", "Plover")
    )
    Path("over/intervals/harbour.toml").write_text(HARBOUR + "# other\n", encoding="utf-8")
    assert "says something else" in refused(small, "history", "Plover", "--export", "over/b.db")
    assert not Path("over/b.db").exists()


def test_nothing_is_overwritten(small: Path) -> None:
    fleetcare("history", "Plover", "--export", "alone.db")
    kept = Path("alone.db").read_bytes()
    assert "exists already" in refused(small, "history", "Plover", "--export", "alone.db")
    assert Path("alone.db").read_bytes() == kept
    fleetcare("history", "Plover", "--export", "tables")
    assert "exists already" in refused(small, "history", "Plover", "--export", "tables")
    Path("plain").write_text("mine", encoding="utf-8")
    assert "is a file" in refused(small, "history", "Plover", "--export", "plain")
    assert sorted(item.name for item in Path().glob(".*")) == []


def test_withdrawn_entries_stay_behind_and_that_is_said(small: Path) -> None:
    told(small)
    said = fleetcare("history", "Plover", "--export", "alone.db")
    assert "1 withdrawn entry stays behind" in said.err
    assert "of Spare only what tells of the gearcase goes along" in said.err
    assert "its own gearcase is under Spare now" in said.err
    assert "279.9" not in fleetcare("log", "--fleet", "alone.db").out


def test_the_same_engine_makes_the_same_tables(ondrel: Path) -> None:
    for folder in ("one", "two"):
        fleetcare("history", "OB-19", "--export", folder)
    assert [path.read_bytes() for path in sorted(Path("one").iterdir())] == [
        path.read_bytes() for path in sorted(Path("two").iterdir())
    ]


def test_a_page_and_a_fleet_can_be_asked_for_at_once(small: Path) -> None:
    said = fleetcare("history", "Plover", "--export", "alone.db", "--html", "page.html")
    assert "wrote alone.db" in said.lines and said.lines[-1].startswith("page.html: history of")
