"""Text as large as its box allows: in lines broken between words, inside a word only if it must.

Widths are those of the usual sans-serif letters; whoever draws a line says its width beside it,
so that another font is pressed into the same room. Of other scripts' letters only the most that
they may take is known, and their lines say nothing.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from typing import NamedTuple

LINE = 1.16  # from one line to the next, in sizes
RISE = 0.92  # from a line's top to its baseline
READABLE = 3.5  # millimetres from which a name is rather left whole
BROKEN, SMALL_BROKEN = 2.0, 1.25  # how much larger words must come out to be broken
MOST, MOST_LOW, MOST_WIDE, MARK = 1150, 900, 1400, 620  # of letters that are not in the table
_TAME = (
    "GREEK ", "CYRILLIC ", "HEBREW ", "ARABIC LETTER", "ARABIC FATHA", "ARABIC KASRA",
    "COMBINING ", "CJK ",
    "HIRAGANA ", "KATAKANA", "HANGUL ", "LATIN ", "THAI ", "DEVANAGARI ", "BENGALI ", "TAMIL ",
    "GEORGIAN ", "ARMENIAN ",
)  # fmt: skip

# Thousandths of the size by letter: the advance widths of Liberation Sans, measured.
_BOLD_GROUPS = {
    238: "'", 278: " ,./I\\ijl\u00a0ł‘’‚·", 280: "|", 333: "!()-:;[]`ft¡", 389: "*r{}", 400: "°",
    474: '"', 500: "z“”„", 549: "±÷", 556: "#$0123456789J_aceksvxy£§«»–€", 584: "+<=>^~×",
    611: "?FLTZbdghnopqu¿ßøðþđŁ", 667: "EPSVXYÞ", 722: "&ABCDHKNRUÐĐ", 778: "GOQwØ", 833: "M",
    834: "¼½¾", 889: "%mæ", 944: "Wœ", 975: "@", 1000: "ÆŒ—…", 1115: "№",
}  # fmt: skip
_PLAIN_GROUPS = {
    191: "'", 222: "ijlł‘’‚", 260: "|", 278: " !,./:;I[\\]ft\u00a0·", 333: "()-`r“”„¡", 334: "{}",
    355: '"', 389: "*", 400: "°", 469: "^", 500: "Jcksvxyz", 549: "±÷",
    556: "#$0123456789?L_abdeghnopqu£§«»–€ðþđŁ", 584: "+<=>~×", 611: "FTZ¿ßø", 667: "&ABEKPSVXYÞ",
    722: "CDHNRUwÐĐ", 778: "GOQØ", 833: "Mm", 834: "¼½¾", 889: "%æ", 944: "Wœ", 1000: "ÆŒ—…",
    1015: "@", 1073: "№",
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
    """The width of a text, in sizes; the most it may be where letters are not in the table."""
    known = _BOLD if bold else _PLAIN
    total = 0
    for letter in unicodedata.normalize("NFC", text):
        base = letter if letter in known else unicodedata.normalize("NFD", letter)[0]
        total += known[base] if base in known else _most_of(letter)
    return total / 1000


def is_tame(text: str) -> bool:
    """Whether its letters surely take no more room than `width_of` says, and may take less.

    A text of known letters takes just that; one with signs and rare letters may take anything.
    """
    beyond = [
        letter
        for letter in unicodedata.normalize("NFC", text)
        if unicodedata.normalize("NFD", letter)[0] not in _BOLD
    ]
    return bool(beyond) and all(
        unicodedata.name(letter, "").startswith(_TAME) and unicodedata.category(letter)[0] in "LM"
        for letter in beyond
    )


def _most_of(letter: str) -> int:
    category = unicodedata.category(letter)
    if category in ("Cf", "Cc"):
        return 0
    if category in ("Mn", "Me"):
        return MARK  # no room over their letter, but a font without them draws a box
    if unicodedata.east_asian_width(letter) in ("W", "F"):
        return MOST_WIDE
    return MOST if category == "Lu" else MOST_LOW


def fitted(text: str, width: float, height: float, largest: float, bold: bool) -> Fitted:
    """The text as large as fits into a box of millimetres, at most of the size `largest`."""
    whole = _largest(text, width, height, largest, bold, False)
    broken = _largest(text, width, height, largest, bold, True)
    wanted = SMALL_BROKEN if whole.size < READABLE else BROKEN
    return broken if broken.size > wanted * whole.size else whole


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
