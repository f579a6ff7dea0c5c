"""What is asked of a page in the browser: what overlaps, what is drawn where."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from typing import Any

from playwright.sync_api import Page

# Boxes of lines of text that share more than a third of the smaller one's height and width.
OVERLAPS = """() => {
  const boxes = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const unseen = (element) =>
    element.closest("script, style, .unseen, .skip, .scale, [hidden]") ||
    element.matches("details:not([open])") ||
    !element.checkVisibility({ contentVisibilityAuto: true });
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    if (!node.data.trim() || unseen(node.parentElement)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) {
      if (box.width > 1 && box.height > 1) boxes.push({ box, text: node.data.trim().slice(0, 40) });
    }
  }
  boxes.sort((one, other) => one.box.top - other.box.top);
  const found = [];
  for (let i = 0; i < boxes.length; i += 1) {
    const one = boxes[i].box;
    for (let j = i + 1; j < boxes.length && boxes[j].box.top < one.bottom; j += 1) {
      const other = boxes[j].box;
      const high = Math.min(one.bottom, other.bottom) - other.top;
      const wide = Math.min(one.right, other.right) - Math.max(one.left, other.left);
      if (high > Math.min(one.height, other.height) / 3 && wide > 2) {
        found.push(`${boxes[i].text} / ${boxes[j].text}`);
      }
    }
  }
  return { lines: boxes.length, found };
}"""

OUTSIDE = """() => {
  const wide = document.documentElement.clientWidth;
  const found = [];
  for (const element of document.body.querySelectorAll("*")) {
    if (element.closest("svg, .unseen, .skip, [hidden]") || !element.checkVisibility()) continue;
    const box = element.getBoundingClientRect();
    const sticksOut = box.right > wide + 1 || box.left < -1;
    if (box.width && sticksOut) found.push(element.outerHTML.slice(0, 80));
  }
  if (document.documentElement.scrollWidth > wide) found.push("the page scrolls sideways");
  return found;
}"""

# Each row's bar, whisker and limit line, as shares of the limit, measured where they are drawn.
DRAWN = """() => Array.from(document.querySelectorAll("#all ol > li"), (item) => {
  const drawing = item.querySelector("svg");
  const article = item.closest("article");
  const rect = drawing?.querySelector("rect");
  if (!rect) return null;
  const frame = drawing.getBoundingClientRect();
  const share = (x) => (x - frame.left) / frame.width * 2;
  const along = (length) => length.baseVal.value / frame.width * 2;
  const line = drawing.querySelector("line");
  const limit = article.getBoundingClientRect().left +
    parseFloat(getComputedStyle(article, "::before").left);
  return {
    engine: article.querySelector("h3").textContent,
    task: (item.querySelector("b > bdi") ?? item.firstChild).textContent,
    bar: along(rect.width),
    begins: along(rect.x),
    whisker: line && [along(line.x1), along(line.x2)],
    limit: share(limit), pixel: 2 / frame.width,
  };
}).filter((row) => row)"""


def keep_engines(page: Page, count: int) -> None:
    """Leave the first engines alone on the page, so that all of it can be looked at."""
    page.evaluate(
        "count => Array.from(document.querySelectorAll('article')).slice(count)"
        ".forEach(one => one.remove())",
        count,
    )


def lay_out(page: Page) -> None:
    """Have all of the page laid out, also what a reader has not come to yet."""
    page.evaluate(
        "document.styleSheets[0].insertRule('article { content-visibility: visible !important }',"
        " document.styleSheets[0].cssRules.length)"
    )


def open_all(page: Page) -> None:
    """Open every part that is folded, and have it laid out."""
    lay_out(page)
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")


def resized(page: Page, width: int, height: int = 900) -> Page:
    """The page in a window of another size."""
    page.set_viewport_size({"width": width, "height": height})
    return page


def misfits(page: Page, widths: Iterable[int], least: int = 10) -> list[str]:
    """What sticks out or lies on other text, at each width."""
    return [
        f"{width}: {told}"
        for width in widths
        for told in outside(resized(page, width)) + overlaps(page, least)
    ]


def overlaps(page: Page, least: int = 10) -> list[str]:
    """Lines of text that lie on each other, once enough of them were looked at."""
    found: dict[str, Any] = page.evaluate(OVERLAPS)
    assert found["lines"] >= least
    return list(found["found"])


def outside(page: Page) -> list[str]:
    """What sticks out of the window sideways."""
    found: list[str] = page.evaluate(OUTSIDE)
    return found


def pixels(png: bytes) -> list[list[tuple[int, int, int]]]:
    """Rows of a screenshot's pixels: its PNG undone, eight bits a colour."""
    at, data, head = 8, b"", b""
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        kind, body = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        head = body if kind == b"IHDR" else head
        data += body if kind == b"IDAT" else b""
        at += 12 + length
    wide, high, depth, colours = struct.unpack(">IIBB", head[:10])
    assert depth == 8
    step = {2: 3, 6: 4}[colours]
    raw, rows, before = zlib.decompress(data), [], bytes(wide * step)
    for row in range(high):
        start = row * (wide * step + 1)
        before = _unfiltered(raw[start], raw[start + 1 : start + 1 + wide * step], before, step)
        rows.append(
            [(before[x], before[x + 1], before[x + 2]) for x in range(0, len(before), step)]
        )
    return rows


def _unfiltered(kind: int, line: bytes, above: bytes, step: int) -> bytes:
    out = bytearray(line)
    for at in range(len(out)):
        left = out[at - step] if at >= step else 0
        corner = above[at - step] if at >= step else 0
        add = (0, left, above[at], (left + above[at]) // 2, _paeth(left, above[at], corner))[kind]
        out[at] = (out[at] + add) & 255
    return bytes(out)


def _paeth(left: int, above: int, corner: int) -> int:
    guess = left + above - corner
    by = [(abs(guess - left), 0, left), (abs(guess - above), 1, above),
          (abs(guess - corner), 2, corner)]  # fmt: skip
    return min(by)[2]
