"""A browser that prints pages, and what stands where on the paper."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
SWITCHES = ("--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")
TURNS = "\u2066\u2067\u2068\u2069"  # signs of the direction of writing, which nobody sees
DPI = 300
MM = DPI / 25.4


def need(*names: str) -> None:
    """Leave the tests out without these programs; CI fails instead."""
    missing = [name for name in names if shutil.which(name) is None]
    if missing and os.environ.get("CI") == "true":
        pytest.fail(f"{missing[0]} is not installed (tests/debian.txt)")
    if missing:
        pytest.skip(f"{missing[0]} is not installed (tests/debian.txt)")


@contextmanager
def a_browser() -> Iterator[Browser]:
    """A real Chromium without a window."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(SWITCHES))
        yield browser
        browser.close()


@contextmanager
def opened(browser: Browser, path: Path, **options: Any) -> Iterator[Page]:
    """A page from a file; whatever it would fetch or complain of fails the test."""
    context = browser.new_context(**options)
    page = context.new_page()
    trouble: list[str] = []
    page.on("console", lambda said: trouble.append(said.text))
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on("dialog", lambda dialog: trouble.append(dialog.message))
    page.on("request", lambda request: trouble.append(request.url) if "file:" not in request.url
            else None)  # fmt: skip
    page.goto(path.resolve().as_uri())
    yield page
    context.close()
    assert trouble == []


def printed(browser: Browser, page: Path, pdf: Path, **options: Any) -> Path:
    """The page printed as its style says."""
    with opened(browser, page) as shown:
        shown.pdf(path=pdf, prefer_css_page_size=True, print_background=True, **options)
    return pdf


def drawn(pdf: Path, number: int = 1) -> np.ndarray[Any, Any]:
    """A page of a PDF as grey pixels, 0 is black."""
    done = subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-gray", "-f", str(number), "-l", str(number), str(pdf)],
        check=True, capture_output=True,
    )  # fmt: skip
    head = re.match(rb"P5\s(\d+) (\d+)\s255\s", done.stdout)
    assert head is not None
    width, height = int(head[1]), int(head[2])
    pixels = np.frombuffer(done.stdout[head.end() :], dtype=np.uint8)
    return pixels.reshape(height, width)


@dataclass(frozen=True)
class Word:
    """A word on paper, millimetres from its upper left corner."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def words_on(pdf: Path, number: int = 1) -> list[Word]:
    """Where the words of a page stand."""
    from lxml import html

    text = subprocess.run(
        ["pdftotext", "-bbox", "-f", str(number), "-l", str(number), str(pdf), "-"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    read, point = html.HTMLParser(encoding="utf-8"), 25.4 / 72
    return [
        Word(
            word.text or "", *(float(word.get(key)) * point for key in ("xmin", "ymin", "xmax",
                                                                        "ymax")),
        )
        for word in html.fromstring(text.encode(), parser=read).iter("word")
        if (word.text or "").strip(TURNS)
    ]  # fmt: skip


def text_of(pdf: Path) -> str:
    """All the text of a PDF, in the order of reading."""
    return subprocess.run(
        ["pdftotext", str(pdf), "-"], check=True, capture_output=True, text=True
    ).stdout


def pages_of(pdf: Path) -> tuple[int, tuple[float, float]]:
    """How many pages, and their size in millimetres."""
    said = subprocess.run(["pdfinfo", str(pdf)], check=True, capture_output=True, text=True).stdout
    count = re.search(r"^Pages: +(\d+)", said, re.M)
    size = re.search(r"^Page size: +([\d.]+) x ([\d.]+) pts", said, re.M)
    assert count and size
    return int(count[1]), (float(size[1]) * 25.4 / 72, float(size[2]) * 25.4 / 72)
