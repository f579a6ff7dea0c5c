"""Text as large as its box allows: in lines broken between words, inside a word only if it must.

Widths are those of the usual sans-serif letters; whoever draws a line says its width beside it,
so that another font is pressed into the same room.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from typing import NamedTuple

LINE = 1.16  # from one line to the next, in sizes
RISE = 0.92  # from a line's top to its baseline
READABLE = 4.0  # millimetres: a name this large is rather left whole than enlarged and broken

# Thousandths of the size by letter: the advance widths of Liberation Sans, measured.
_BOLD_GROUPS = {
    238: "'", 278: " ,./I\\ijl", 280: "|", 333: "!()-:;[]`ft", 389: "*r{}", 474: '"', 500: "z",
    556: "#$0123456789J_aceksvxy", 584: "+<=>^~", 611: "?FLTZbdghnopqu", 667: "EPSVXY",
    722: "&ABCDHKNRU", 778: "GOQw", 833: "M", 889: "%m", 944: "W", 975: "@",
}  # fmt: skip
_PLAIN_GROUPS = {
    191: "'", 222: "ijl", 260: "|", 278: " !,./:;I[\\]ft", 333: "()-`r", 334: "{}", 355: '"',
    389: "*", 469: "^", 500: "Jcksvxyz", 556: "#$0123456789?L_abdeghnopqu", 584: "+<=>~",
    611: "FTZ", 667: "&ABEKPSVXY", 722: "CDHNRUw", 778: "GOQ", 833: "Mm", 889: "%", 944: "W",
    1015: "@",
}  # fmt: skip


def _by_letter(groups: Mapping[int, str]) -> dict[str, int]:
    return {letter: width for width, letters in groups.items() for letter in letters}


_BOLD, _PLAIN = _by_letter(_BOLD_GROUPS), _by_letter(_PLAIN_GROUPS)


class Fitted(NamedTuple):
    """Lines at a size in millimetres, each with its width; `height` is theirs together."""

    size: float
    lines: tuple[tuple[str, float], ...]

    @property
    def height(self) -> float:
        """From the top of the first line to the bottom of the last."""
        return LINE * self.size * len(self.lines)


def width_of(text: str, bold: bool) -> float:
    """The width of a text, in sizes."""
    known = _BOLD if bold else _PLAIN
    total = 0
    for letter in unicodedata.normalize("NFD", text):
        total += known[letter] if letter in known else _width_of_other(letter)
    return total / 1000


def _width_of_other(letter: str) -> int:
    if unicodedata.category(letter) in ("Mn", "Me", "Cf", "Cc"):
        return 0
    if unicodedata.east_asian_width(letter) in ("W", "F"):
        return 1050
    return 760 if letter.isupper() else 640


def fitted(text: str, width: float, height: float, largest: float, bold: bool) -> Fitted:
    """The text as large as fits into a box of millimetres, at most of the size `largest`."""
    whole = _largest(text, width, height, largest, bold, False)
    if whole.size >= min(READABLE, largest):
        return whole
    broken = _largest(text, width, height, largest, bold, True)
    return broken if broken.size > whole.size * 1.25 else whole


def _largest(
    text: str, width: float, height: float, largest: float, bold: bool, breaks: bool
) -> Fitted:  # fmt: skip
    """By halving, in hundredths of a millimetre; something is always drawn."""
    low, high = 1, max(1, int(largest * 100))
    while low < high:
        middle = (low + high + 1) // 2
        lines = _lines(text, width / middle * 100, bold, breaks)
        fits = len(lines) * LINE * middle / 100 <= height
        if fits and max(width_of(line, bold) for line in lines) * middle / 100 <= width:
            low = middle
        else:
            high = middle - 1
    size = low / 100
    lines = _lines(text, width / size, bold, breaks)
    return Fitted(size, tuple((line, width_of(line, bold) * size) for line in lines))


def _lines(text: str, room: float, bold: bool, breaks: bool) -> list[str]:
    """The text in lines of at most so many sizes, where its words allow it or may be broken."""
    lines: list[str] = []
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(joined, bold) <= room:
            lines[-1] = joined
        elif breaks and width_of(word, bold) > room:
            lines += _pieces(word, room, bold)
        else:
            lines.append(word)
    return lines


def _pieces(word: str, room: float, bold: bool) -> list[str]:
    pieces: list[str] = [""]
    for letter in _letters(word):
        if pieces[-1] and width_of(pieces[-1] + letter, bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def _letters(word: str) -> Sequence[str]:
    """Letters with the marks and joiners that belong to them."""
    letters: list[str] = []
    joined = False
    for char in word:
        mark = unicodedata.category(char) in ("Mn", "Me", "Mc") or char == "\u200d"
        if letters and (mark or joined):
            letters[-1] += char
        else:
            letters.append(char)
        joined = char == "\u200d"
    return letters
