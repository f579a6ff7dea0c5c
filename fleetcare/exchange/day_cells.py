"""Days out of cells, and the vote of a column on whether the day or the month comes first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from fleetcare.errors import Fault
from fleetcare.exchange.cell import Broken, Cell, looks, plain

_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})|(\d{4})(\d\d)(\d\d)")
_SLASHED = re.compile(r"(\d{1,2}) ?([/-]) ?(\d{1,2}) ?\2 ?'?(\d{4}|\d\d)")
_DOTTED = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?'?(\d{4}|\d\d)?")
_SHORT_YEAR = re.compile(r"(\d\d) ?([-/.]) ?(\d{1,2}) ?\2 ?(\d{1,2})")
_DOTTED_SHORT = re.compile(r"(\d{1,2})\.(\d{1,2})\.?")
_SLASHED_SHORT = re.compile(r"(\d{1,2})[/-](\d{1,2})")
_YEAR = r"'?(\d{4}|\d\d)"
_NAME = r"([^\W\d_]+)\.?"
_DAY_NAMED = re.compile(
    rf"(\d{{1,2}})(?:st|nd|rd|th|er|º)?[.\- ]*(?:of |de )?{_NAME}(?:[,\- ]*(?:de )?{_YEAR})?"
)
_NAMED_DAY = re.compile(rf"{_NAME} ?(\d{{1,2}})(?:st|nd|rd|th)?(?:(?:, ?| )'?(\d{{4}}))?")
_TIME = re.compile(
    r"(?:t| |, )\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?(?: ?[ap]\.?m\.?| ?uhr)?(?:z|[+-]\d\d:?\d\d)?$"
)
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
_WEEKDAY = re.compile(r"([^\W\d_]+)\.?,? +(?=\d)")
FIRST_YEAR = 1950
WRITE = "Write it as YYYY-MM-DD."
EPOCHS = {"1900": date(1899, 12, 30), "1904": date(1904, 1, 1)}

# Months and weekdays in the languages that sheets are kept in; shortened forms are beginnings.
_MONTHS = (
    "january januar janvier enero gennaio januari janeiro janv ene gen",
    "february februar février fevrier febrero febbraio februari fevereiro févr fevr fév fev",
    "march märz maerz mars marzo maart marts março mrt mrz mär mae",
    "april avril abril aprile avr abr",
    "may mai mayo maggio mei maj maio mag",
    "june juni juin junio giugno junho giu",
    "july juli juillet julio luglio julho juil lug",
    "august août aout agosto augustus augusti ago aoû aou",
    "september septembre septiembre settembre setembro sept set",
    "october oktober octobre octubre ottobre outubro ott okt out",
    "november novembre noviembre novembro",
    "december dezember décembre decembre diciembre dicembre desember dezembro déc dez dic des",
)
_WEEKDAYS = (
    "monday montag maandag lundi mandag mon mo",
    "tuesday dienstag dinsdag mardi tirsdag tue tues di",
    "wednesday mittwoch woensdag mercredi onsdag wed mi",
    "thursday donnerstag donderdag jeudi torsdag thu thur thurs do",
    "friday freitag vrijdag vendredi fredag fri fr",
    "saturday samstag sonnabend zaterdag samedi lørdag lördag sat sa",
    "sunday sonntag zondag dimanche søndag söndag sun so",
)


def _numbered(table: tuple[str, ...], shortened: bool) -> dict[str, int]:
    found: dict[str, int] = {}
    for number, words in enumerate(table):
        for word in words.split():
            found[word] = number
            if shortened:
                found.setdefault(word[:3], number)
    return found


MONTH_OF = {word: number + 1 for word, number in _numbered(_MONTHS, shortened=True).items()}
del MONTH_OF["jui"]  # of two months
WEEKDAY_OF = _numbered(_WEEKDAYS, shortened=False)


@dataclass(frozen=True, slots=True)
class DayRules:
    """How a column's days are read: which part first, the year not written, day numbers.

    `order` is dmy, mdy, or ymd for years of two figures in front; without it such years stand last.
    `epoch` is the sheet's own day 0 for number cells; `serials` (1900, 1904) lets texts be such.
    """

    order: str = ""
    year: int | None = None
    serials: str = ""
    epoch: date = EPOCHS["1900"]


@dataclass(frozen=True, slots=True)
class Vote:
    """What a column's slashed days say: the first line that proves either order, how many do not.

    `open_as` is one of those that say nothing, as written.
    """

    dmy: int | None
    mdy: int | None
    open: int
    open_as: str


def vote(cells: Iterable[tuple[int, Cell]]) -> Vote:
    """The vote of lines with their cells on day first or month first."""
    dmy = mdy = None
    undecided, example = 0, ""
    for line, cell in cells:
        text = _bare(cell)[0] if isinstance(cell, str) else ""
        match = _SLASHED.fullmatch(text) or _SLASHED_SHORT.fullmatch(text)
        if match is None or not isinstance(cell, str):
            continue
        first, second = int(match[1]), int(match[3 if match.re is _SLASHED else 2])
        if first > 12 >= second:
            dmy = line if dmy is None else dmy
        elif second > 12 >= first:
            mdy = line if mdy is None else mdy
        elif first <= 12 and first != second:
            undecided += 1
            example = example or cell.strip()
    return Vote(dmy, mdy, undecided, example)


def year_in_front(cells: Iterable[tuple[int, Cell]], today: date | None) -> str:
    """A day of the column such as 26-04-03, when its years may as well stand in front as last.

    They may unless some row is no day then, or one to come. Days differ from row to row and years
    hardly: last they stand where fewer figures do, or with as many, the later ones.
    """
    fronts: set[int] = set()
    lasts: set[int] = set()
    example = ""
    for _, cell in cells:
        text = _bare(cell)[0] if isinstance(cell, str) else ""
        match = _SHORT_YEAR.fullmatch(text)
        if match is None or len(match[4]) < 2 or not isinstance(cell, str):
            continue
        front, last = int(match[1]), int(match[4])
        found = _made(2000 + front, int(match[3]), last, text, "")
        if isinstance(found, Fault) or (today is not None and found > today):
            return ""
        fronts.add(front)
        lasts.add(last)
        if front != last:
            example = example or cell.strip()
    if not example or (len(lasts), -max(lasts)) < (len(fronts), -max(fronts)):
        return ""
    return example


def is_serial_text(cell: Cell) -> bool:
    """Whether a text looks like a spreadsheet's day number."""
    return isinstance(cell, str) and _SERIAL.fullmatch(plain(cell)) is not None


def day_of(cell: Cell, what: str, rules: DayRules) -> date | Fault:
    """The one day that a cell means; refused with every reading shown when there are two."""
    if isinstance(cell, str):
        found = _text(cell, what, rules)
    elif isinstance(cell, Broken):
        found = Fault(what, f'"{cell.looks}" is no day: {cell.why}')
    elif isinstance(cell, datetime):
        found = cell.date()
    elif isinstance(cell, date):
        found = cell
    elif isinstance(cell, time | timedelta):
        found = Fault(what, f'"{looks(cell)}" is a time, not a day', WRITE)
    else:
        found = _number(cell, what, rules.epoch)
    if isinstance(found, date) and found.year < FIRST_YEAR:
        return Fault(what, f'"{looks(cell):.40}" lies before there were such engines')
    return found


def _number(value: int | float, what: str, epoch: date) -> date | Fault:
    """A number cell is a day number, or a day written without its marks: 20260403."""
    if value != value or not 0 <= value < 100_000_000:
        return Fault(what, f'"{looks(value)}" is no day', WRITE)
    whole = int(value)
    if whole >= 10_000_000:
        return _made(whole // 10_000, whole // 100 % 100, whole % 100, looks(value), what)
    if whole > 100_000:
        return Fault(what, f'"{looks(value)}" is no day', WRITE)
    return epoch + timedelta(days=whole)


def _bare(text: str) -> tuple[str, str]:
    """A day's text without a time behind it, and the weekday before it."""
    clean = _TIME.sub("", plain(text)) if len(text) < 80 else text
    match = _WEEKDAY.match(clean)
    if match and match[1] in WEEKDAY_OF and match[1] not in MONTH_OF:
        return clean[match.end() :], match[1]
    return clean, ""


def _text(text: str, what: str, rules: DayRules) -> date | Fault:
    clean, weekday = _bare(text)
    if not clean:
        return Fault(what, "is empty, and every row needs its day")
    if any(char.isdigit() and not char.isascii() for char in clean):
        return Fault(what, f'"{text:.40}" is not a day', WRITE)
    found = _written(clean, text, what, rules)
    if weekday and isinstance(found, date) and found.weekday() != WEEKDAY_OF[weekday]:
        return Fault(what, f'"{text:.40}" is {found.isoformat()}, which is another day of the week')
    return found


def _written(clean: str, text: str, what: str, rules: DayRules) -> date | Fault:
    match = _ISO.fullmatch(clean)
    if match:
        year, month, day = (match[1], match[3], match[4]) if match[1] else match.group(5, 6, 7)
        return _made(int(year), int(month), int(day), text, what)
    match = _SHORT_YEAR.fullmatch(clean)
    if match and rules.order == "ymd":
        return _made(2000 + int(match[1]), int(match[3]), int(match[4]), text, what)
    match = _DOTTED.fullmatch(clean) or _DOTTED_SHORT.fullmatch(clean)
    if match:
        year = match[3] if match.re is _DOTTED else None
        return _dotted(int(match[1]), int(match[2]), year, text, what, rules)
    match = _SLASHED.fullmatch(clean)
    if match:
        return _slashed(int(match[1]), int(match[3]), _year(match[4]), text, what, rules.order)
    match = _SLASHED_SHORT.fullmatch(clean)
    if match and rules.year:
        return _slashed(int(match[1]), int(match[2]), rules.year, text, what, rules.order)
    if match:
        return _no_year(text, what)
    if _SERIAL.fullmatch(clean):
        return _serial(clean, text, what, rules.serials)
    return _named(clean, text, what, rules)


def _dotted(
    day: int, month: int, year: str | None, text: str, what: str, rules: DayRules
) -> date | Fault:
    """With dots the day comes first, unless the column was said to begin with the month."""
    whole = _year(year) if year else rules.year
    if whole is None:
        return _no_year(text, what)
    if rules.order == "mdy" and day <= 12 and month <= 12 and day != month:
        return Fault(what, f'"{text:.40}" has dots, which put the day first', WRITE)
    return _made(whole, month, day, text, what)


def _slashed(first: int, second: int, year: int, text: str, what: str, order: str) -> date | Fault:
    if order == "dmy":
        return _made(year, second, first, text, what)
    if order == "mdy":
        return _made(year, first, second, text, what)
    readings = {
        found.isoformat(): found
        for month, day in ((second, first), (first, second))
        if isinstance(found := _made(year, month, day, text, what), date)
    }
    if len(readings) == 1:
        return next(iter(readings.values()))
    if readings:
        both = " or ".join(readings)
        return Fault(what, f'"{text:.40}" could be {both}', f"{WRITE[:-1]}, or --dates dmy or mdy")
    return Fault(what, f'"{text:.40}" is no day of the calendar')


def _named(clean: str, text: str, what: str, rules: DayRules) -> date | Fault:
    """A day with its month's name, 3 Apr 2026 or April 3, 2026."""
    match = _DAY_NAMED.fullmatch(clean)
    day, name, year = match.group(1, 2, 3) if match else ("", "", None)
    if match is None:
        match = _NAMED_DAY.fullmatch(clean)
        name, day, year = match.group(1, 2, 3) if match else ("", "", None)
    if match is None or name not in MONTH_OF:
        return Fault(what, f'"{text:.40}" is not a day', WRITE)
    whole = _year(year) if year else rules.year
    if whole is None:
        return _no_year(text, what)
    return _made(whole, MONTH_OF[name], int(day), text, what)


def _serial(clean: str, text: str, what: str, serials: str) -> date | Fault:
    days = int(clean.replace(",", ".").split(".")[0])
    if serials:
        return EPOCHS[serials] + timedelta(days=days)
    by_1900 = (EPOCHS["1900"] + timedelta(days=days)).isoformat()
    return Fault(
        what,
        f'"{text:.40}" is not a day, unless it is a spreadsheet\'s day number, then {by_1900}',
        "--serial-dates 1900 says so.",
    )


def _no_year(text: str, what: str) -> Fault:
    return Fault(what, f'"{text:.40}" has no year', "--year YYYY gives it to all of them.")


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) < 4 else 0)


def _made(year: int, month: int, day: int, text: str, what: str) -> date | Fault:
    try:
        return date(year, month, day)
    except ValueError:
        return Fault(what, f'"{text:.40}" is no day of the calendar')
