"""The sheet as one HTML file that prints: no network, no script."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcare.show.pages import page
from fleetcare.show.qr import modules
from fleetcare.show.sheet_view import SheetText
from fleetcare.show.words import ENGLISH, Words

PAPERS = ("a4", "letter")


@dataclass(frozen=True, slots=True)
class Code:
    """A QR code as an SVG path: its side in modules, its quiet zone included."""

    size: int
    path: str


def sheet_page(sheet: SheetText, day: str, paper: str = "a4", words: Words = ENGLISH) -> str:
    """The page; `day` stands at the foot of every printed one, `paper` is a4 or letter."""
    return page(
        "sheet.html", words, sheet=sheet, day=day, paper=paper,
        codes=[code_of(visit.engine) for visit in sheet.visits], page_words=_page_words(words),
    )  # fmt: skip


def code_of(text: str) -> Code:
    """The QR code of a text, each run of dark modules of a row as one rectangle."""
    rows = modules(text)
    path = []
    for y, row in enumerate(rows):
        start = None
        for x, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                path.append(f"M{start} {y}h{x - start}v1h{start - x}z")
                start = None
    return Code(len(rows), "".join(path))


def _page_words(words: Words) -> tuple[str, str, str]:
    """What stands before, between and behind the two numbers of "page 2 of 3"."""
    before, _, rest = words("page {page} of {pages}").partition("{page}")
    between, _, behind = rest.partition("{pages}")
    return before, between, behind
