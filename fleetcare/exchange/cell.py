"""A cell as it was found, before anyone knows what it means, and how it is shown again."""

from __future__ import annotations

import unicodedata
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import NamedTuple


class Broken(NamedTuple):
    """A cell that holds no value: how it looks in the sheet, and why it has none."""

    looks: str
    why: str


Cell = str | int | float | date | time | timedelta | Broken

# What cannot be seen and means nothing: soft hyphens, zero-width spaces, marks of direction.
_UNSEEN = str.maketrans("", "", "\u00ad\u180e\u200b\u2060\ufeff\u200e\u200f")
_DASHES = str.maketrans(
    dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63", "-")
)
ERRORS = frozenset(
    ("#REF!", "#DIV/0!", "#VALUE!", "#NAME?", "#N/A", "#NUM!", "#NULL!", "#SPILL!", "#CALC!")
)

UNWORKED = "(formula)"  # how a formula without a value looks


class Line(NamedTuple):
    """A row of a sheet: its number, its cells, the last line of it, what is wrong with it."""

    number: int
    cells: tuple[Cell, ...]
    last: int
    wrong: str = ""


def seen(text: str) -> str:
    """The text without what cannot be seen, and without blanks around it."""
    if text.isascii():
        return text.strip()
    return text.translate(_UNSEEN).strip()


def harmless(text: str) -> str:
    """The text with a mark in the place of every character that a terminal would obey."""
    return "".join("�" if unicodedata.category(char)[0] == "C" else char for char in text)


def plain(text: str) -> str:
    """A text as figures and days are read: compatibility forms, small letters, plain dashes."""
    if text.isascii():
        return " ".join(text.lower().split())
    clean = unicodedata.normalize("NFKC", seen(text)).translate(_DASHES).casefold()
    return " ".join(clean.split())


def is_blank(cell: Cell) -> bool:
    """Whether there is nothing in it."""
    return isinstance(cell, str) and not seen(cell)


def looks(cell: Cell) -> str:
    """A cell as text that reads the same again: days in ISO form, points for decimals."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Broken):
        return cell.looks
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ", "minutes")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time | timedelta):
        return _clock(cell)
    return number_text(cell)


def number_text(value: int | float) -> str:
    """A number without exponent and needless zeros; noise below fifteen digits is dropped."""
    if isinstance(value, int) or value != value or value in (float("inf"), float("-inf")):
        return str(value)
    text = format(Decimal(f"{value:.15g}"), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def seconds_of(value: time | timedelta) -> int:
    """Whole seconds of a time of day or a duration, halves up."""
    if isinstance(value, timedelta):
        return (2 * (value // timedelta(microseconds=1)) + 1_000_000) // 2_000_000
    whole = value.hour * 3600 + value.minute * 60 + value.second
    return whole + (1 if value.microsecond >= 500_000 else 0)


def _clock(value: time | timedelta) -> str:
    total = seconds_of(value)
    sign, total = ("-", -total) if total < 0 else ("", total)
    minutes, seconds = divmod(total, 60)
    text = f"{sign}{minutes // 60}:{minutes % 60:02}"
    return f"{text}:{seconds:02}" if seconds else text


def is_error(text: str) -> bool:
    """Whether a text is what a sheet shows in the place of a value that it does not have."""
    return text.upper() in ERRORS or text == UNWORKED


def letters(column: int) -> str:
    """A column's letters in a spreadsheet: 0 is A, 26 is AA."""
    text = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
