"""Tables for the terminal: as wide as it is, nothing broken inside a word."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence

# Stands behind a wide letter while the columns are laid out, so that it counts for two.
_FILLER = "\ue000"

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
    from tabulate import tabulate

    cells = [[laid_out(cell) for cell in row] for row in rows]
    text = tabulate(
        cells,
        headers=[laid_out(name) for name in head],
        tablefmt="simple",
        disable_numparse=True,
        colalign=["right" if at in right else "left" for at in range(len(head))],
        maxcolwidths=_widths(head, cells, width, flexible),
        break_long_words=False,
        break_on_hyphens=False,
    )
    lines = [line.rstrip().replace(_FILLER, "") for line in text.split("\n")]
    if colour is not None:
        lines = _painted(lines, colour)
    return "\n".join(lines)


def _widths(
    head: Sequence[str], cells: Sequence[Sequence[str]], width: int, flexible: Sequence[int]
) -> list[int | None]:
    """How wide each column may be so that all fit; None leaves it as it is."""
    natural = [
        max((len(row[at]) for row in [list(head), *cells] if at < len(row)), default=0)
        for at in range(len(head))
    ]
    over = sum(natural) + 2 * (len(head) - 1) - width
    limits: list[int | None] = [None] * len(head)
    while over > 0:
        widest = max(flexible, key=lambda at: limits[at] or natural[at], default=None)
        if widest is None or (limits[widest] or natural[widest]) <= 10:
            break
        limits[widest] = (limits[widest] or natural[widest]) - 1
        over -= 1
    return limits


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
