"""Numbers as people type them, with exactly one reading or none."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction

from fleetcare.errors import Fault

_PLAIN = re.compile(r"\d+(?:[.,]\d+)?")
_GROUPED = re.compile(r"\d{1,3}[.,]\d{3}")
_CLOCK = re.compile(r"(\d+)(?::|h)(\d\d)")
MOST = 1_000_000
LONGEST = 100  # signs of a figure


def number(text: str, what: str, decimals: int = 2) -> Fraction | Fault:
    """A plain number, decimal point or comma; refused when it could be read two ways."""
    clean = unicodedata.normalize("NFKC", text).strip()
    if len(clean) > LONGEST:
        return Fault(what, f'"{text:.40}…" is no number: it has {len(clean)} signs')
    if not clean.isascii() or not _PLAIN.fullmatch(clean):
        return Fault(what, f'takes a number such as 12.5, not "{text:.40}"')
    if _GROUPED.fullmatch(clean) and decimals < 3:
        point = clean.replace(",", ".").rstrip("0").rstrip(".")
        return Fault(
            what,
            f'"{clean}" could be {point} or {clean.replace(",", "").replace(".", "")}',
            "Write it without a separator for thousands, with at most two decimals.",
        )
    value = Fraction(clean.replace(",", "."))
    if value >= MOST:
        return Fault(what, f'"{clean}" is absurdly large')
    if (value * 10**decimals).denominator != 1:
        return Fault(what, f'"{clean}" has more than {decimals} decimals')
    return value


def hours(text: str, what: str) -> int | Fault:
    """Hours as whole hundredths: 12.5, 12,5, 12:30 or 12h30; negative ones are refused."""
    clean = unicodedata.normalize("NFKC", text).strip().lower()
    clean = clean.removesuffix("h").strip() if clean[-1:] == "h" else clean
    clock = _CLOCK.fullmatch(clean) if clean.isascii() else None
    if clock:
        minutes = int(clock[2])
        if minutes > 59:
            return Fault(what, f'"{text:.40}" has more than 59 minutes')
        if len(clock[1]) > 6:
            return Fault(what, f'"{text:.40}" is absurdly large')
        hundredths = Fraction(int(clock[1]) * 60 + minutes, 60) * 100
        return round(hundredths)
    if clean.startswith(("-", "−")):
        return Fault(what, f'"{text:.40}" is negative; hours only ever rise')
    value = number(clean, what)
    return value if isinstance(value, Fault) else int(value * 100)


def count(text: str, what: str) -> int | Fault:
    """A whole number of pieces."""
    clean = unicodedata.normalize("NFKC", text).strip()
    if not clean.isascii() or not clean.isdecimal() or len(clean) > 7:
        return Fault(what, f'takes a whole number, not "{text:.40}"')
    return int(clean)


def shown(value: int | Fraction, decimals: int = 2) -> str:
    """Hundredths as a number with no needless zeros: 41200 is 412, 325 is 3.25."""
    if value < 0:
        return f"-{shown(-value, decimals)}"
    scale: int = 10**decimals
    over = value.denominator * 100
    whole, rest = divmod((2 * value.numerator * scale + over) // (2 * over), scale)
    text = f"{whole}.{rest:0{decimals}d}" if decimals else str(whole)
    return text.rstrip("0").rstrip(".") if "." in text else text


def rounded(value: Fraction | int, decimals: int) -> float:
    """A share or number rounded half up: floor(x · 10^n + 1/2) / 10^n, exactly."""
    scale: int = 10**decimals
    numerator, denominator = value.numerator, value.denominator
    return ((2 * numerator * scale + denominator) // (2 * denominator)) / scale
