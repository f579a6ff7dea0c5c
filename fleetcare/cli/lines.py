"""Lines of ENGINE FIGURE [DATE], from a file or stdin, with exactly one reading or none."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fleetcare.errors import Fault
    from fleetcare.fleet.fleet import Fleet

SEPARATORS = "\t;,"
HEADINGS = frozenset(("engine", "name", "motor"))


@dataclass(frozen=True, slots=True)
class Given:
    """One engine's figure as it was written: where, by which name, what, on which day if said."""

    where: str
    engine: str
    figure: str
    on: date | None = None


def lines(source: Path, fleet: Fleet, today: date) -> tuple[list[Given], list[Fault]]:
    """The lines of a file or of stdin; blank ones and comments are left out."""
    from fleetcare.errors import Fault

    given: list[Given] = []
    faults: list[Fault] = []
    first = True
    for number, text in enumerate(text_from(source).splitlines(), 1):
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        if first and _is_heading(text, fleet):
            first = False
            continue
        first = False
        where = f"line {number}" if str(source) == "-" else f"{source}:{number}"
        found = read_line(text, where, fleet, today)
        if isinstance(found, Fault):
            faults.append(found)
        else:
            given.append(found)
    return given, faults


def text_from(source: Path) -> str:
    """The text of a file, or of stdin for a dash; refused when it is too long or no UTF-8."""
    from fleetcare.rules.shipped import MOST_BYTES, read_text, text_of

    if str(source) != "-":
        return read_text(source)
    return text_of(sys.stdin.buffer.read(MOST_BYTES + 1), "stdin")


def _is_heading(text: str, fleet: Fleet) -> bool:
    from fleetcare.fleet.names import folded

    for separator in SEPARATORS:
        text = text.replace(separator, " ")
    word = folded(text.split()[0].strip('"')) if text.split() else ""
    return word in HEADINGS and not fleet.has_engine(word) and not any(map(str.isdigit, text))


def read_line(text: str, where: str, fleet: Fleet, today: date) -> Given | Fault:
    """A line's engine, figure and day; the reading in which the fleet knows the engine counts.

    Spaces, a tab, `;` and `,` may part them, and a name may hold any of these; a line that means
    two different things is refused.
    """
    from fleetcare.errors import Fault

    found: list[Given] = []
    wrong: list[Fault] = []
    for cells in _ways(text.strip()):
        read = _cells(cells, where, today)
        if isinstance(read, Fault):
            wrong.append(read)
        elif fleet.has_engine(read.engine):
            found.append(read)
        else:
            wrong.append(_no_engine(fleet, read))
    known = {(fleet.engine(item.engine).name, item.figure, item.on): item for item in found}
    if len(known) == 1:
        return next(iter(known.values()))
    if known:
        both = " or ".join(f"{name}: {figure}" for name, figure, _ in known)
        return Fault(where, f'"{text.strip():.40}" could be {both}', "Part them by ; instead")
    if wrong:
        return min(wrong, key=lambda fault: "is not ENGINE" in fault.what)
    return Fault(where, f'"{text.strip():.40}" is not ENGINE FIGURE')


def _no_engine(fleet: Fleet, read: Given) -> Fault:
    from fleetcare.errors import Fault, RefusedError

    try:
        fleet.engine(read.engine)
    except RefusedError as error:
        return Fault(read.where, str(error))
    raise AssertionError("asked only of names that the fleet does not know")


def _ways(text: str) -> Iterator[list[str]]:
    """Every way to part a line into an engine, a figure and perhaps a day."""
    for separator in "\t;":
        yield from _parted(text, separator)
    words = text.split()
    if len(words) > 2 and _looks_like_a_day(words[-1]):
        yield [_bare(text.rsplit(None, 2)[0]), words[-2], words[-1]]
    if len(words) > 1:
        yield [_bare(text.rsplit(None, 1)[0]), words[-1]]
    yield from _parted(text, ",")


def _parted(text: str, separator: str) -> Iterator[list[str]]:
    cells = _quoted(text, separator) if separator in text else None
    if cells is not None and len(cells) > 1:
        yield cells


def _quoted(text: str, separator: str) -> list[str] | None:
    """The cells of a line of a table; None when its quotes do not close."""
    import csv

    try:
        cells = next(csv.reader([text], delimiter=separator, strict=True, skipinitialspace=True))
    except (csv.Error, StopIteration):
        return None
    cells = [cell.strip() for cell in cells]
    while len(cells) > 2 and not cells[-1]:
        cells.pop()
    return cells


def _bare(name: str) -> str:
    """A name without the quotes around it, or the comma after it."""
    name = name.strip().rstrip(",").strip()
    return name[1:-1] if len(name) > 2 and name[0] == name[-1] and name[0] in "\"'" else name


def _looks_like_a_day(text: str) -> bool:
    """Whether a last word is a day, in whatever form; a figure has neither - nor /."""
    if text.lower() in ("today", "yesterday"):
        return True
    return text[:1].isdigit() and (text.count("-") == 2 or text.count("/") == 2)


def _cells(cells: list[str], where: str, today: date) -> Given | Fault:
    from fleetcare.errors import Fault
    from fleetcare.fleet.days import day

    if len(cells) > 3 or not cells[0] or not cells[1]:
        return Fault(where, f'"{" ".join(cells):.40}" is not ENGINE FIGURE [DATE]')
    if len(cells) == 2 or not cells[2]:
        return Given(where, cells[0], cells[1])
    on = day(cells[2], "date", today)
    if isinstance(on, Fault):
        return Fault(where, str(on))
    if on > today:
        return Fault(where, f"date: {on} lies in the future (today is {today})")
    return Given(where, cells[0], cells[1], on)
