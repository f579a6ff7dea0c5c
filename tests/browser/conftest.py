"""One Chromium for all tests, and boards of fleets of every size and of hostile words."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from fleetcare.cli.board_facts import page_of
from fleetcare.cli.context import Desk
from tests.benchmarks.fleets import build
from tests.browser.hostile import AS_OF, hostile
from tests.cli.typed import fleetcare
from tests.show.board_fleets import TODAY, demo, ondrel_page

CHROMIUM = "/usr/bin/chromium"
ARGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
NOON = f"{TODAY}T12:00:00"  # of the invented fleets' today

Shown = Callable[..., Page]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not Path(CHROMIUM).exists():
        if os.environ.get("CI") == "true":
            pytest.fail("chromium is not installed (tests/debian.txt)")
        pytest.skip("chromium is not installed (tests/debian.txt)")
    with sync_playwright() as driver:
        one = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGS))
        yield one
        one.close()


@pytest.fixture(scope="session")
def boards(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The board of a fleet by name, made when it is first asked for: a number of engines, or one
    of the invented fleets, or `hostile`."""
    folder = tmp_path_factory.mktemp("boards")

    def made(fleet: str) -> Path:
        path = folder / f"{fleet}.html"
        if not path.exists():
            path.write_bytes(_page(fleet, folder / fleet))
        return path

    return made


def _page(fleet: str, folder: Path) -> bytes:
    if fleet == "ondrel":
        return ondrel_page().encode()
    folder.mkdir()
    path, as_of = folder / "fleet.db", TODAY
    if fleet == "0":
        fleetcare("new", "--fleet", path, "--hemisphere", "northern", "--rules", "small-petrol")
    elif fleet.isdecimal():
        as_of = build(path, int(fleet), 1)
    elif fleet == "hostile":
        hostile(path)
        as_of = AS_OF
    else:
        path = demo(folder / "demo", fleet)
    return page_of(Desk(fleet=str(path)), as_of)


class Window:
    """Boards in windows of one browser, and whatever went wrong in them."""

    def __init__(self, browser: Browser, boards: Callable[[str], Path]) -> None:
        self.browser, self.boards = browser, boards
        self.opened: list[BrowserContext] = []
        self.wrong: list[str] = []

    def show(
        self, fleet: str = "ondrel", width: int = 1280, height: int = 900, scripts: bool = True,
        now: str = NOON,
    ) -> Page:  # fmt: skip
        """A board in a window of its own, at a moment."""
        context = self.browser.new_context(
            viewport={"width": width, "height": height}, java_script_enabled=scripts
        )
        self.opened.append(context)
        page, wrong = context.new_page(), self.wrong
        address = self.boards(fleet).as_uri()
        page.on("console", lambda said: wrong.append(f"console: {said.text}"))
        page.on("pageerror", lambda error: wrong.append(f"error: {error}"))
        page.on("dialog", lambda dialog: wrong.append(f"dialog: {dialog.message}"))
        page.on("request", lambda one: one.url == address or wrong.append(f"asked: {one.url}"))
        page.clock.set_fixed_time(now)
        page.goto(address)
        return page

    def close(self) -> None:
        """Close all; nothing must have been asked of anyone, and nothing complained of."""
        for context in self.opened:
            context.close()
        assert self.wrong == []


@pytest.fixture
def shown(browser: Browser, boards: Callable[[str], Path]) -> Iterator[Shown]:
    """Shows a board in a window of its own."""
    window = Window(browser, boards)
    yield window.show
    window.close()


@pytest.fixture(scope="module")
def one_window(browser: Browser, boards: Callable[[str], Path]) -> Iterator[Page]:
    """The hire fleet's board, opened once for a whole module."""
    window = Window(browser, boards)
    yield window.show()
    window.close()


@pytest.fixture
def desk(one_window: Page) -> Page:
    """That board as it was when it was opened: nothing filtered, the worst engine first."""
    one_window.evaluate(
        """() => {
          const form = document.getElementById("find");
          form.reset();
          for (const name of ["order", "status"]) {
            form.elements[name].dispatchEvent(new Event("input", { bubbles: true }));
          }
        }"""
    )
    return one_window
