"""Names and sums of the parts lists, whatever was typed into them."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from fleetcare.fleet.names import has_controls
from fleetcare.show.table import laid_out

_PAINT = re.compile("\x1b\\[[0-9;]*m")


def clean(text: str) -> str:
    """A name on one line without characters that move the cursor or turn the writing."""
    if not has_controls(text):
        return text
    return "".join(
        char if not has_controls(char) else " " if unicodedata.category(char) == "Cc" else ""
        for char in text
    )


def fits(text: str, width: int) -> bool:
    """Whether no line of a painted text is wider."""
    return all(len(laid_out(_PAINT.sub("", line))) <= width for line in text.splitlines())


def money_words(value: Fraction | float, sign: str) -> str:
    """A sum with two decimals, the money's sign behind it."""
    return f"{float(value):.2f} {clean(sign)}".strip()
