"""Names: how they are kept, compared, ordered, and what a slip was probably meant to be."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

_BIDI = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u061c")
_UNSEEN = frozenset("\u00ad\u180e\u200b\u2060\ufeff")  # two names must not look alike
_LINES = frozenset("\t\n\r")
_DIGITS = re.compile(r"(\d+)")


def tidy(name: str) -> str:
    """The name as it is kept: NFC, single spaces, none around it."""
    return " ".join(unicodedata.normalize("NFC", name).split())


def folded(name: str) -> str:
    """The form in which names are compared: case and compatibility forms do not matter."""
    return unicodedata.normalize("NFKC", tidy(name)).casefold()


def wrong_with(name: str) -> str | None:
    """Why this text cannot be a name, or None when it can."""
    if not name.strip():
        return "is empty"
    if has_controls(name):
        return "holds a control character"
    if any(char in _UNSEEN for char in name):
        return "holds a character that cannot be seen"
    if len(name) > 80:
        return "is longer than 80 characters"
    if ";" in name:
        return 'holds a ";", which separates names in tables'
    return None


def has_controls(text: str) -> bool:
    """Whether a text holds control characters, or ones that turn the direction of writing."""
    return any(unicodedata.category(char) in ("Cc", "Cs") or char in _BIDI for char in text)


def wrong_with_text(text: str, is_note: bool = False) -> str | None:
    """Why a text that is no name cannot be kept, or None; a note may have lines and tabs.

    It may also hold marks of direction, which phones put around pasted words.
    """
    if is_note:
        bad = next(
            (c for c in text if unicodedata.category(c) in ("Cc", "Cs") and c not in _LINES), ""
        )
    else:
        bad = next(filter(has_controls, text), "")
    return f"holds a control character (U+{ord(bad):04X}); leave it out" if bad else None


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key in which OB-2 stands before OB-10."""
    return tuple(
        (0, int(piece), "") if piece.isdecimal() else (1, 0, piece)
        for piece in _DIGITS.split(name.casefold())
        if piece
    )


def nearest(name: str, known: Iterable[str], most: int = 3) -> list[str]:
    """The known names that a slip was probably meant to be, best first."""
    import difflib

    by_fold: dict[str, str] = {}
    for item in known:
        by_fold.setdefault(folded(item), item)
    return [by_fold[hit] for hit in difflib.get_close_matches(folded(name), by_fold, most, 0.6)]


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """A sentence naming the nearest known names, or an empty text."""
    near = [f'"{hit}"' for hit in nearest(name, known)]
    return f"Did you mean {' or '.join(near)}?" if near else ""
