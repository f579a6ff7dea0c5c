"""Tables for the terminal: as wide as it is, nothing broken inside a word."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from itertools import zip_longest
from textwrap import fill, wrap

# Stands behind a wide letter while the columns are laid out, so that it counts for two.
_FILLER = "\ue000"
NO_BREAK = "\u00a0"  # between words that stay on one line; printed as a plain space

Colour = Callable[[str], str]


def laid_out(text: str) -> str:
    """The text with as many characters as it takes columns, controls taken out."""
    out = []
    for char in unicodedata.normalize("NFC", text):
        if char == "\n" or char == "\x1b" or unicodedata.category(char) not in ("Cc", "Cf", "Mn"):
            out.append(char)
            if unicodedata.east_asian_width(char) in ("W", "F"):
                out.append(_FILLER)
    return "".join(out)


def wrapped(line: str, width: int) -> str:
    """A line broken between words where it is longer than the width; what follows is indented."""
    indent = " " * (len(line) - len(line.lstrip()) + 2)
    text = fill(
        laid_out(line), width, subsequent_indent=indent, break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
    return text.replace(_FILLER, "").replace(NO_BREAK, " ")


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    width: int,
    flexible: Sequence[int],
    right: Sequence[int] = (),
    colour: tuple[int, Colour] | None = None,
) -> str:
    """Rows under a heading, `width` columns wide at most where words allow it.

    `flexible` are the columns that may wrap, the widest first; `right` those set to the right;
    `colour` paints the cells of one column once everything is laid out.
    """
    cells = [[laid_out(cell.strip()) for cell in row] for row in rows]
    heads = [laid_out(name) for name in head]
    limits = _widths(heads, cells, width, flexible)
    columns = [
        [heads[at], *(line for row in cells for line in _broken(row[at], limits[at]))]
        for at in range(len(heads))
    ]
    widths = [max(map(len, column)) for column in columns]
    lines = [_line(heads, widths, right), "  ".join("-" * size for size in widths)]
    for row in cells:
        broken = [_broken(cell, limit) for cell, limit in zip(row, limits, strict=True)]
        for line in zip_longest(*broken, fillvalue=""):
            lines.append(_line(line, widths, right))
    lines = [line.replace(_FILLER, "").replace(NO_BREAK, " ") for line in lines]
    if colour is not None:
        lines = _painted(lines, colour)
    return "\n".join(lines)


def _broken(cell: str, limit: int | None) -> list[str]:
    """A cell's lines: broken between words where it is longer than its column may be."""
    if limit is None or len(cell) <= limit:
        return cell.split("\n")
    return wrap(cell, limit, break_long_words=False, break_on_hyphens=False)


def _line(cells: Sequence[str], widths: Sequence[int], right: Sequence[int]) -> str:
    padded = (
        cell.rjust(size) if at in right else cell.ljust(size)
        for at, (cell, size) in enumerate(zip(cells, widths, strict=True))
    )
    return "  ".join(padded).rstrip()


def _widths(
    head: Sequence[str], cells: Sequence[Sequence[str]], width: int, flexible: Sequence[int]
) -> list[int | None]:
    """How wide each column may be so that all fit; None leaves it as it is."""
    natural = [
        max((len(row[at]) for row in [list(head), *cells] if at < len(row)), default=0)
        for at in range(len(head))
    ]
    words = {at: _longest_word([head[at], *(row[at] for row in cells)]) for at in flexible}
    over = sum(natural) + 2 * (len(head) - 1) - width
    now = dict(enumerate(natural))
    limits: list[int | None] = [None] * len(head)
    while over > 0:
        widest = max(
            (at for at in flexible if now[at] > words[at]), key=now.__getitem__, default=-1
        )
        if widest < 0:
            break
        limits[widest] = now[widest] = now[widest] - 1
        over -= 1
    if flexible and limits[flexible[0]]:
        spare = sum(_unused(limits[at], {row[at] for row in cells}) for at in flexible[1:])
        limits[flexible[0]] = (limits[flexible[0]] or 0) + spare
    return limits


def _longest_word(texts: Sequence[str]) -> int:
    """The columns of the longest word, below which a column cannot be narrowed."""
    return max((len(word) for text in texts for word in text.split(" ")), default=0)


def _unused(limit: int | None, cells: set[str]) -> int:
    """The columns that wrapping between words leaves over, for another column to use."""
    if limit is None:
        return 0
    lines = (
        line
        for cell in cells
        for line in wrap(cell, limit, break_long_words=False, break_on_hyphens=False)
    )
    return max(0, limit - max(map(len, lines), default=0))


def _painted(lines: list[str], colour: tuple[int, Colour]) -> list[str]:
    """The lines with the cells of one column painted; the rule under the heading tells where."""
    column, paint = colour
    if len(lines) < 2:
        return lines
    start = 0
    for at, dashes in enumerate(lines[1].split("  ")):
        if at == column:
            end = start + len(dashes)
            break
        start += len(dashes) + 2
    else:
        return lines
    painted = lines[:2]
    for line in lines[2:]:
        word = line[start:end].strip()
        plain = all(unicodedata.east_asian_width(char) not in ("W", "F") for char in line[:start])
        if word and plain:
            line = line[:start] + line[start:end].replace(word, paint(word)) + line[end:]
        painted.append(line)
    return painted
