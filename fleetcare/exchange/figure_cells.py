"""Hours, litres and whole numbers out of cells, with exactly one reading or none."""

from __future__ import annotations

import re
import unicodedata
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import NamedTuple

from fleetcare.errors import Fault
from fleetcare.exchange.cell import ERRORS, Broken, Cell, looks, plain, seconds_of
from fleetcare.fleet.days import MONTHS
from fleetcare.fleet.figures import MOST

_HOURS = r"(?:h|hrs?|hours?|std|stdn|stunden?|uur|heures?|horas?)\.?"
_MINUTES = r"(?:min|mins|minutes?|minuten)\.?"
_NUMBER = r"\d[\d.,' \u2019]*"
_CLOCK = re.compile(rf"(\d+):(\d\d)(?::(\d\d))?(?: ?{_HOURS})?")
_SPOKEN = re.compile(rf"(\d+) ?{_HOURS} ?(?:(\d\d)|(\d{{1,2}}) ?(?:{_MINUTES}|m))")
_IN_MINUTES = re.compile(rf"({_NUMBER}) ?{_MINUTES}")
_IN_HOURS = re.compile(rf"({_NUMBER}) ?(?:{_HOURS})?")
_IN_LITRES = re.compile(rf"({_NUMBER}) ?(?:l|ltrs?|litres?|liters?)\.?")
_IN_GALLONS = re.compile(rf"({_NUMBER}) ?(?:gal|gals|gallons?)\.?")
_UNSURE = re.compile(
    r"(?:ca|circa|about|approx|etwa|ungefähr|env|environ|around)\b.*|[~<>≈±].*|.*\?"
    r"|.*\d.*\b(?:or|oder|ou|bis|to)\b.*\d.*"
)
_GROUPS = re.compile(r"[1-9]\d{0,2}(?:([., '\u2019])\d{3})(?:\1\d{3})*")
_LIKE_CLOCK = re.compile(r"\d+[.,][0-5]\d")
_NO_FIGURE = frozenset("-./")
LITRES_A_GALLON = Fraction(3785411784, 10**9)  # US liquid gallon: 231 cubic inches, by definition
LONGEST = 60


class Figure(NamedTuple):
    """A figure in whole hundredths; whether decimals were rounded away, whether it was a time.

    `like_clock`: it is read as 12.3 hours, but whoever writes times may mean 12.30 for 12:30.
    """

    value: int
    is_rounded: bool = False
    is_clock: bool = False
    like_clock: bool = False


def hours(cell: Cell, what: str, decimal: str = "") -> Figure | Fault | None:
    """Hundredths of an hour out of a cell; None out of a blank or a lone dash."""
    if isinstance(cell, str):
        return _hours_text(cell, what, decimal)
    return _not_text(cell, what)


def minutes(cell: Cell, what: str, decimal: str = "") -> Figure | Fault | None:
    """Hundredths of an hour out of a cell that holds minutes."""
    if isinstance(cell, str) and _CLOCK.fullmatch(plain(cell)):
        return Fault(what, f'"{cell:.40}" is no number of minutes')
    if isinstance(cell, time | timedelta):
        return Fault(what, f'"{looks(cell)}" is a time, not a number of minutes')
    if isinstance(cell, str):
        match = _IN_MINUTES.fullmatch(plain(cell))
        found = _number(match[1] if match else cell, cell, what, decimal)
    else:
        found = _not_text(cell, what)
    if not isinstance(found, Figure):
        return found
    return _rounded(Fraction(found.value, 60), found.is_rounded)


def litres(cell: Cell, what: str, unit: str, decimal: str = "") -> Figure | Fault | None:
    """Hundredths of a litre; `unit` (litres, US gallons) counts where the cell names none."""
    if isinstance(cell, time | timedelta):
        return Fault(what, f'"{looks(cell)}" is a time, not an amount of fuel')
    in_gallons = unit != "litres"
    if isinstance(cell, str):
        gallons = _IN_GALLONS.fullmatch(plain(cell))
        named = gallons or _IN_LITRES.fullmatch(plain(cell))
        if named:
            in_gallons = bool(gallons)
        found = _number(named[1] if named else cell, cell, what, decimal)
    else:
        found = _not_text(cell, what)
    if isinstance(found, Figure) and in_gallons:
        return _rounded(found.value * LITRES_A_GALLON, found.is_rounded)
    return found


def count(cell: Cell, what: str) -> int | Fault | None:
    """A whole number of pieces."""
    found = _number(cell, cell, what, "") if isinstance(cell, str) else _not_text(cell, what)
    if not isinstance(found, Figure):
        return found
    if found.value % 100 or found.is_rounded or isinstance(cell, time | timedelta):
        return Fault(what, f'takes a whole number, not "{looks(cell):.40}"')
    return found.value // 100


def has_no_figure(cell: Cell) -> bool:
    """Whether nothing is written: a blank, or only dashes and dots."""
    return isinstance(cell, str) and set(plain(cell)) <= _NO_FIGURE


def _not_text(cell: Cell, what: str) -> Figure | Fault:
    """A figure out of a cell to which the sheet gave a type."""
    if isinstance(cell, Broken):
        return Fault(what, f'"{cell.looks}" is no figure: {cell.why}')
    if isinstance(cell, time | timedelta):
        return _clock_figure(seconds_of(cell), looks(cell), what)
    if isinstance(cell, date):
        return _turned(cell, what)
    if isinstance(cell, str):
        raise TypeError("texts are read by their own rules")
    if cell != cell or cell in (float("inf"), float("-inf")):
        return Fault(what, f'"{cell}" is no figure')
    return _bounded(Fraction(looks(cell)), looks(cell), what)


def _turned(cell: date, what: str) -> Fault:
    """Why a date is no figure, and which figure it may have been."""
    if isinstance(cell, datetime) and cell.year < 1905:
        return Fault(
            what,
            f'"{looks(cell)}" is a time of day with whole days before it',
            "Show the column as [h]:mm in the sheet and see what it holds.",
        )
    shown = f"{cell.day} {MONTHS[cell.month - 1]} {cell.year}"
    return Fault(
        what,
        f'the sheet turned this into a date ("{shown}")',
        f"Was it {cell.day}.{cell.month} or {cell.month}.{cell.day}? Write it as a number.",
    )


def _hours_text(text: str, what: str, decimal: str) -> Figure | Fault | None:
    clean = plain(text)
    if clean.isascii() and not _is_raised(text) and len(clean) <= LONGEST:
        clock, spoken = _CLOCK.fullmatch(clean), _SPOKEN.fullmatch(clean)
        if clock:
            return _clock_text(clock[1], clock[2], clock[3] or "0", text, what)
        if spoken:
            return _clock_text(spoken[1], spoken[2] or spoken[3], "0", text, what)
    in_minutes = _IN_MINUTES.fullmatch(clean)
    if in_minutes:
        return minutes(text, what, decimal)
    in_hours = _IN_HOURS.fullmatch(clean)
    number = in_hours[1] if in_hours else text
    found = _number(number, text, what, decimal)
    if isinstance(found, Figure):
        return found._replace(like_clock=_LIKE_CLOCK.fullmatch(plain(number)) is not None)
    return found


def _clock_text(whole: str, minute: str, second: str, text: str, what: str) -> Figure | Fault:
    if int(minute) > 59 or int(second) > 59:
        return Fault(what, f'"{text:.40}" has more than 59 minutes or seconds')
    if len(whole) > 6:
        return Fault(what, f'"{text:.40}" is absurdly large')
    return _clock_figure(int(whole) * 3600 + int(minute) * 60 + int(second), text, what)


def _clock_figure(seconds: int, text: str, what: str) -> Figure | Fault:
    if seconds < 0:
        return Fault(what, f'"{text:.40}" is negative, which no such figure is')
    if seconds >= MOST * 3600:
        return Fault(what, f'"{text:.40}" is absurdly large')
    return Figure((seconds + 18) // 36, False, True)


def _number(number: str, text: str, what: str, decimal: str) -> Figure | Fault | None:
    """A number in any country's writing, as long as it can be read in one way only."""
    clean = plain(number)
    if set(clean) <= _NO_FIGURE:
        return None
    if clean.upper() in ERRORS or set(clean) == {"#"}:
        return Fault(what, f'"{text:.40}" is no figure: the sheet shows an error')
    if len(clean) > LONGEST or _is_raised(text):
        return Fault(what, f'takes a number such as 12.5, not "{text:.40}"')
    if re.fullmatch(r"- ?\d.*", clean):
        return Fault(what, f'"{text:.40}" is negative, which no such figure is')
    if _UNSURE.fullmatch(clean):
        return Fault(
            what, f'"{text:.40}" is not sure', "Write the one figure known, or leave it out"
        )
    if not re.fullmatch(_NUMBER, clean) or not clean.replace("\u2019", "'").isascii():
        return Fault(what, f'takes a number such as 12.5, not "{text:.40}"')
    digits = _digits(clean, decimal)
    if not digits:
        return Fault(what, f'takes a number such as 12.5, not "{text:.40}"')
    if digits.startswith("?"):
        return Fault(what, f'"{text:.40}" {digits[1:]}', _ways_out(decimal))
    return _bounded(Fraction(digits), text, what)


def _is_raised(text: str) -> bool:
    """Whether a digit stands raised, in a circle or the like: 12² is not 122."""
    return any(unicodedata.category(char) == "No" for char in text)


def _ways_out(decimal: str) -> str:
    if decimal:
        return ""
    return "--decimal . or --decimal , says which; or write it without thousands."


def _digits(clean: str, decimal: str) -> str:
    """The number with a point and no groups; "?" and why it cannot be told; or nothing."""
    last = max(clean.rfind("."), clean.rfind(","))
    whole, tail = (clean[:last], clean[last + 1 :]) if last >= 0 else (clean, "")
    mark = clean[last] if last >= 0 else ""
    only_once = clean.count(mark) == 1 if mark else False
    if mark and only_once and tail.isdecimal() and (whole.isdecimal() or _is_grouped(whole, mark)):
        grouped = _is_grouped(clean, "")
        if decimal and mark != decimal and not grouped:
            return f'?has "{mark}" for decimals, and --decimal says "{decimal}"'
        if grouped and not decimal:
            plain_whole = whole + tail
            return f"?could be {whole}.{tail} or {plain_whole}"
        if not (grouped and decimal and mark != decimal):
            return f"{_bare(whole)}.{tail}"
    if _is_grouped(clean, ""):
        mark = next(char for char in clean if not char.isdecimal())
        if mark == decimal:
            return f'?has "{mark}" for thousands, and --decimal says it is for decimals'
        return _bare(clean)
    return clean if clean.isdecimal() else ""


def _is_grouped(text: str, but: str) -> bool:
    """Whether digits stand in groups of three parted by one mark, which is not `but`."""
    match = _GROUPS.fullmatch(text)
    return match is not None and match[1] != but


def _bare(text: str) -> str:
    return "".join(char for char in text if char.isdecimal())


def _bounded(value: Fraction, text: str, what: str) -> Figure | Fault:
    if value < 0:
        return Fault(what, f'"{text:.40}" is negative, which no such figure is')
    if value >= MOST:
        return Fault(what, f'"{text:.40}" is absurdly large')
    return _rounded(value * 100, False)


def _rounded(hundredths: Fraction, was_rounded: bool) -> Figure:
    whole = (2 * hundredths.numerator + hundredths.denominator) // (2 * hundredths.denominator)
    return Figure(whole, was_rounded or hundredths.denominator != 1)
