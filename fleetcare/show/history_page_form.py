"""The form of a history: sections of sentences, tables and a drawing, before they become a page.

One form is printed twice, as HTML and as PDF, so that both say the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


class Piece(NamedTuple):
    """Some text of a cell; withdrawn text is struck through."""

    text: str
    struck: bool = False


class Cell(NamedTuple):
    """A cell: its pieces, and the look of a status they have (overdue, held, due, …) if any.

    `life` is a share of life to draw as a bar, in per mille.
    """

    pieces: tuple[Piece, ...]
    look: str = ""
    life: int | None = None
    small: str = ""

    @property
    def text(self) -> str:
        """All of it, without its looks."""
        return " ".join(piece.text for piece in self.pieces)


class Table(NamedTuple):
    """Rows of cells under a heading; `widths` are the columns' shares of the page, `right` those
    set to the right."""

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...]
    right: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it; `key` names it, `drawing` is an SVG picture."""

    key: str
    title: str
    lead: tuple[str, ...] = ()
    table: Table | None = None
    drawing: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Document:
    """A whole history; `facts` are pairs of what and which.

    `sign` is what is signed, and then what stands under the lines to sign on.
    """

    title: str
    name: str
    kind: str
    language: str
    verdict: str
    look: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    sign: tuple[str, ...]
    foot: tuple[str, ...]
    page_of: tuple[str, str, str]


def cell(text: str, look: str = "", life: int | None = None, small: str = "") -> Cell:
    """A cell of plain text."""
    return Cell((Piece(text),), look, life, small)


def cells(texts: Iterable[str], struck: bool = False) -> tuple[Cell, ...]:
    """Cells of plain texts, all struck through or none."""
    return tuple(Cell((Piece(text, struck),)) for text in texts)
