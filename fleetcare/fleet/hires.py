"""Hires as people write them down, out and in: 9:30-12:15, 0930-1215+1400-1530, or plain hours."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from fleetcare.errors import Fault
from fleetcare.fleet.figures import hours

_TIME = re.compile(r"(\d{1,2})(?:[:h](\d\d))?|(\d{1,2})(\d\d)")
_DASHES = str.maketrans("\u2010\u2011\u2012\u2013\u2014\u2212", "------")
MINUTES_A_DAY = 24 * 60
FORM = "write OUT-IN such as 9:30-12:15, or hours such as 2.75"


def is_hire(text: str) -> bool:
    """Whether a text is meant as times out and in, not as a figure."""
    clean = _clean(text)
    return "+" in clean or "-" in clean[1:]


def hired(text: str, what: str) -> int | Fault:
    """Hundredths of an hour out of hires: OUT-IN, several by `,` or `+`, or plain hours by `+`.

    The minutes are added up exactly and rounded once, to 0.01 h. Refused: an IN that is not after
    its OUT (a hire over midnight is two days' hours), and hires that overlap.
    """
    minutes, plain = 0, 0
    taken: list[tuple[int, int]] = []
    for piece, is_span in _pieces(_clean(text)):
        if not is_span:
            given = hours(piece, what)
            if isinstance(given, Fault):
                return given
            plain += given
            continue
        span = _span(piece, what)
        if isinstance(span, Fault):
            return span
        if any(span[0] < end and begin < span[1] for begin, end in taken):
            return Fault(what, f'"{text:.40}" has hires that overlap', "One engine is out once")
        taken.append(span)
        minutes += span[1] - span[0]
    return plain + (minutes * 100 + 30) // 60  # thirds of a hundredth: never halfway


def _clean(text: str) -> str:
    return unicodedata.normalize("NFKC", text).translate(_DASHES).strip().lower()


def _pieces(text: str) -> Iterator[tuple[str, bool]]:
    """The pieces, and whether each is a hire; a comma parts hires, and is decimal in hours."""
    for part in text.split("+"):
        if "-" in part.strip()[1:]:
            yield from ((piece.strip(), True) for piece in part.split(","))
        else:
            yield part.strip(), False


def _span(piece: str, what: str) -> tuple[int, int] | Fault:
    """Minutes since midnight of out and in."""
    out, _, back = piece.partition("-")
    begin, end = _minutes(out.strip()), _minutes(back.strip())
    if begin is None or end is None:
        bad = (out if begin is None else back).strip()
        return Fault(what, f'"{bad:.40}" is no time of day', f"{FORM[0].upper()}{FORM[1:]}")
    if end < begin:
        return Fault(
            what,
            f'"{piece:.40}" comes back before it goes out',
            "Over midnight: give each day its own hours, the first up to 24:00",
        )
    if end == begin:
        return Fault(what, f'"{piece:.40}" is no time at all', "Did not go out: 0")
    return begin, end


def _minutes(text: str) -> int | None:
    """Minutes since midnight of 9:30, 9h30, 0930, 930 or 9; 24:00 ends the day."""
    match = _TIME.fullmatch(text) if text.isascii() else None
    if match is None:
        return None
    hour, minute = int(match[1] or match[3]), int(match[2] or match[4] or 0)
    total = hour * 60 + minute
    return total if minute < 60 and total <= MINUTES_A_DAY else None
