"""The board of a large fleet: its size, what it costs beside the due list, how soon it opens.

`report(path, as_of)` gives the lines. The plain table that its opening is held against shows the
same rows, engine by engine and job by job, and is as many bytes long.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date
from html import escape
from pathlib import Path
from typing import Any

from fleetcare.cli.board_facts import page_of
from fleetcare.cli.context import Desk, no_collecting
from fleetcare.cli.looking import view
from fleetcare.show.values import as_json, due_rows

ARGS = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
CHROMIUM = "/usr/bin/chromium"
TIMES = 7
# The load and two frames after it: by then it is laid out and on the screen.
OPENED = """() => new Promise(done => {
  const frame = then => requestAnimationFrame(then);
  const end = () => frame(() => frame(() => done(performance.now())));
  if (document.readyState === "complete") end(); else addEventListener("load", end);
})"""
COLUMNS = (
    "engine", "boat", "task", "status", "life_used", "due_early", "due_on", "due_late",
    "hours_since", "hours_left", "days_since", "water", "last_done_on", "reason",
)  # fmt: skip


def cpu(work: Callable[[], object], times: int = 3) -> float:
    """The least CPU time of several runs, in seconds."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def due_json(path: Path, as_of: date) -> str:
    """What `fleetcare due --format json` does, between reading its options and printing."""
    seen = view(Desk(fleet=str(path)), as_of, words=False)
    return as_json(due_rows(seen.rows, seen.held), as_of)


def plain_table(rows: list[dict[str, Any]], size: int) -> str:
    """A page with nothing but a table of the rows, again and again until it is so long."""
    head = "<!doctype html><html lang=en><meta charset=utf-8><title>Due</title><table>"
    head += "<thead><tr>" + "".join(f"<th>{name}" for name in COLUMNS) + "</thead><tbody>"
    lines, length = [head], len(head)
    while length < size:
        for row in rows:
            cells = [escape("" if row[name] is None else str(row[name])) for name in COLUMNS]
            lines.append("<tr><td>" + "<td>".join(cells))
            length += len(lines[-1].encode())
            if length >= size:
                break
    return "".join([*lines, "</table></html>"])


def opening(pages: dict[str, Path], times: int = TIMES) -> dict[str, float]:
    """The median milliseconds until each page is on the screen, opened in turn."""
    from playwright.sync_api import sync_playwright

    taken: dict[str, list[float]] = {name: [] for name in pages}
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(ARGS))
        for turn in range(times + 1):
            for name, path in pages.items():
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                page.goto(path.as_uri(), wait_until="commit")
                milliseconds = page.evaluate(OPENED)
                if turn:  # a first opening warms the browser up
                    taken[name].append(milliseconds)
                page.close()
        browser.close()
    return {name: statistics.median(values) for name, values in taken.items()}


def report(path: Path, as_of: date) -> str:
    """Size, cost and opening of the board of a fleet, in lines."""
    with no_collecting():
        desk = Desk(fleet=str(path))
        seen = view(desk, as_of, words=False)
        rows = due_rows(seen.rows, seen.held)
        ours = cpu(lambda: page_of(desk, as_of))
        theirs = cpu(lambda: due_json(path, as_of))
    content = page_of(desk, as_of)
    size = (
        f"board of {len(seen.fleet.engines):,} engines, {len(rows):,} rows: "
        f"{len(content) / 1e6:.2f} MB (below 3)\n"
        f"  {ours:.2f} s CPU, due {theirs:.2f} s, ratio {ours / theirs:.2f} (at most 2)\n"
    )
    if not Path(CHROMIUM).exists():
        return f"{size}  its opening was not measured: {CHROMIUM} is not there"
    with tempfile.TemporaryDirectory() as folder:
        board, table = Path(folder) / "board.html", Path(folder) / "table.html"
        board.write_bytes(content)
        table.write_text(plain_table(rows, len(content)), encoding="utf-8")
        opened = opening({"board": board, "table": table})
    ratio = opened["board"] / opened["table"]
    return (
        f"{size}  on the screen after {opened['board']:.0f} ms, a plain table as long after "
        f"{opened['table']:.0f} ms, ratio {ratio:.2f} (at most 2)"
    )


def main() -> None:
    from tests.benchmarks.fleets import build

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fleet.db"
        print(report(path, build(path, 1000, 5)))


if __name__ == "__main__":
    main()
