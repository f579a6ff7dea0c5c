"""Label sheets by size: how many labels stand where on which paper, to the micrometre.

The counts and the gaps between labels are common practice, no source; the labels of a sheet stand
in its middle, so its margins follow from them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from fleetcare.fleet.names import nearest

INCH = 25400  # micrometres, exactly
PAPERS = {"A4": (210_000, 297_000), "Letter": (17 * INCH // 2, 11 * INCH)}


class LabelSheet(NamedTuple):
    """A sheet of labels; lengths are micrometres, gaps those between two labels."""

    name: str
    said: str
    paper: str
    columns: int
    rows: int
    width: int
    height: int
    gap: int = 0
    gap_down: int = 0

    @property
    def labels(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    @property
    def page(self) -> tuple[int, int]:
        """Width and height of the paper."""
        return PAPERS[self.paper]

    @property
    def left(self) -> int:
        """From the paper's edge to the first label."""
        return (self.page[0] - self.columns * self.width - (self.columns - 1) * self.gap) // 2

    @property
    def top(self) -> int:
        """From the paper's upper edge to the first label."""
        return (self.page[1] - self.rows * self.height - (self.rows - 1) * self.gap_down) // 2

    def places(self) -> Iterator[tuple[int, int]]:
        """The upper left corners of the labels, row by row."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield (
                    self.left + column * (self.width + self.gap),
                    self.top + row * (self.height + self.gap_down),
                )


def _a4(name: str, columns: int, rows: int, gap: int = 0) -> LabelSheet:
    """A sheet of A4 by the name that says its labels' width and height in millimetres."""
    width, height = (round(float(side) * 1000) for side in name.split("x"))
    return LabelSheet(
        name, f"{name.replace('x', ' × ')} mm", "A4", columns, rows, width, height, gap
    )


SHEETS: tuple[LabelSheet, ...] = (
    _a4("70x36", 3, 8),
    _a4("70x37", 3, 8),
    _a4("63.5x33.9", 3, 8, gap=2500),
    _a4("63.5x38.1", 3, 7, gap=2500),
    _a4("99.1x38.1", 2, 7, gap=2500),
    _a4("99.1x57", 2, 5, gap=2500),
    _a4("99.1x67.7", 2, 4, gap=2500),
    _a4("105x57", 2, 5),
    _a4("105x74", 2, 4),
    LabelSheet("2-5/8x1in", "2⅝ × 1 in", "Letter", 3, 10, 21 * INCH // 8, INCH, INCH // 8),
    LabelSheet("4x2in", "4 × 2 in", "Letter", 2, 5, 4 * INCH, 2 * INCH, 3 * INCH // 16),
    LabelSheet(
        "4x3-1/3in", "4 × 3⅓ in", "Letter", 2, 3, 4 * INCH, 10 * INCH // 3, 3 * INCH // 16
    ),
)  # fmt: skip
_SIGNS = str.maketrans({"×": "x", "*": "x", ",": ".", "⅝": "-5/8", "⅓": "-1/3", "″": '"'})


def sheet_named(text: str) -> LabelSheet | None:
    """The sheet of that size, however its signs were typed: 70 x 36 mm, 2 5/8 × 1 in."""
    wanted = _plain(text)
    return next((sheet for sheet in SHEETS if _plain(sheet.name) == wanted), None)


def near_sizes(text: str) -> list[str]:
    """The sizes that a slip was probably meant to be."""
    return nearest(_plain(text), [sheet.name for sheet in SHEETS])


def _plain(text: str) -> str:
    clean = " ".join(text.casefold().translate(_SIGNS).split())
    clean = re.sub(r"(?<=\d) (?=\d/)", "-", clean)
    clean = re.sub(r'\s+|mm|inch(es)?|in\b|"', "", clean)
    return clean.replace("2.625", "2-5/8").replace("3.333", "3-1/3").replace("3.33", "3-1/3")
