"""An address as a QR code: for the terminal, whatever its ground, and as an SVG picture."""

from __future__ import annotations

from io import BytesIO

QUIET = 4  # modules of margin that ISO/IEC 18004 asks for
# Two modules a letter, upper and lower: light or dark each. Both colours are said, so that the
# code is dark on light whatever ground the terminal has.
_HALVES = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
_PAINT, _PLAIN = "\x1b[38;5;16;48;5;231m", "\x1b[0m"


def modules(text: str) -> list[list[int]]:
    """The code's rows, 1 for dark, its quiet zone about it.

    Error correction is M or better: 15 % of it may be unreadable.
    """
    import segno

    code = segno.make(text, error="m", micro=False)
    return [list(map(int, row)) for row in code.matrix_iter(border=QUIET)]


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
    import segno

    out = BytesIO()
    code = segno.make(text, error="m", micro=False)
    code.save(out, kind="svg", scale=6, border=QUIET, dark="#000", light="#fff")
    return out.getvalue()
