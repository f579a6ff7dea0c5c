"""A text as a QR code: for the terminal, whatever its ground, and as an SVG picture."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from segno import QRCode

QUIET = 4  # modules of margin that ISO/IEC 18004 asks for
# Two modules a letter, upper and lower: light or dark each. Both colours are said, so that the
# code is dark on light whatever ground the terminal has.
_HALVES = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
_PAINT, _PLAIN = "\x1b[38;5;16;48;5;231m", "\x1b[0m"


def modules(text: str) -> list[list[int]]:
    """The code's rows, 1 for dark, its quiet zone about it.

    Error correction is M or better: 15 % of it may be unreadable.
    """
    return [list(map(int, row)) for row in _code(text).matrix_iter(border=QUIET)]


def _code(text: str) -> QRCode:
    """The code; letters beyond ASCII as UTF-8 that says it is, since readers guess otherwise."""
    import segno

    if text.isascii():
        return segno.make_qr(text, error="m")
    return segno.make_qr(text, error="m", mode="byte", encoding="utf-8", eci=True)


def qr_text(text: str, painted: bool = True) -> str:
    """The code in letters of half blocks, black on white.

    `painted` off leaves out the colours, for a terminal that has none: it is then drawn for a
    light ground, as on paper.
    """
    rows = modules(text)
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    lines = [
        "".join(_HALVES[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    ]
    return "\n".join(f"{_PAINT}{line}{_PLAIN}" if painted else line for line in lines)


def qr_svg(text: str) -> bytes:
    """The code as an SVG picture on white; the text itself does not stand in it."""
    out = BytesIO()
    _code(text).save(out, kind="svg", scale=6, border=QUIET, dark="#000", light="#fff")
    return out.getvalue()
