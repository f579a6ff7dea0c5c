"""The refused rows as a table of their own, to be mended and fed back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from fleetcare.errors import Fault
from fleetcare.exchange.accounts import REFUSED, REPORT_HEADS, Account
from fleetcare.exchange.cell import Cell, Line, looks
from fleetcare.exchange.csvfile import write_cells
from fleetcare.exchange.day_cells import DayRules, day_of
from fleetcare.exchange.found import FoundSheet
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.own_tables import OwnSheet
from fleetcare.exchange.parting import CANDIDATES


def refused_tables(
    accounts: Iterable[Account], own: Iterable[OwnSheet], sheets: Iterable[FoundSheet]
) -> dict[str, str]:
    """By the name of its source, each table of refused rows as CSV: the headings as they were,
    the cells as they looked, and why."""
    why: dict[str, list[Account]] = {}
    for account in accounts:
        if account.verdict == REFUSED:
            why.setdefault(account.place, []).append(account)
    out: dict[str, str] = {}
    for sheet in own:
        lines = [line for line in sheet.grid.lines if line.number > sheet.header]
        _add(out, sheet.grid, sheet.heads, lines, why, None)
    for found in sheets:
        lines = [row.line for row in found.rows]
        rules = DayRules(found.layout.order, epoch=found.grid.epoch)
        days = _Days(found.layout.columns["on"], rules)
        _add(out, found.grid, found.layout.heads, lines, _by_row(found, why), days)
    return out


def _by_row(found: FoundSheet, why: Mapping[str, list[Account]]) -> dict[str, list[Account]]:
    """Refusals by the row's place, those of single figures of a wide row among them."""
    rows: dict[str, list[Account]] = {}
    for draft in found.drafts:
        if draft.place in why:
            rows.setdefault(found.grid.place(draft.line), []).extend(why[draft.place])
    return rows


def _add(
    out: dict[str, str],
    grid: Grid,
    heads: Sequence[str],
    lines: Iterable[Line],
    why: Mapping[str, list[Account]],
    days: _Days | None,
) -> None:
    """The refused rows of one sheet; those of a table that was such a report keep its headings.

    Cells beyond the headings stand behind the reason, where they refuse the row until it is mended.
    """
    columns = [at for at, head in enumerate(heads) if head not in REPORT_HEADS]
    rows = []
    for line in lines:
        accounts = why.get(grid.place(line.number), [])
        if accounts:
            reasons = [text for account in accounts for text in _reasons(account)]
            reason = "; ".join(dict.fromkeys(reasons))
            for number, cells in _taken_apart(line):
                texts = [_text(cells, at, days) for at in columns]
                beyond = [] if grid.sheet else [looks(cell) for cell in cells[len(heads) :]]
                beyond = beyond if any(map(str.strip, beyond)) else []
                rows.append([*texts, grid.place(number), reason, *beyond])
    if rows:
        out[grid.name] = write_cells([*(heads[at] for at in columns), *REPORT_HEADS], rows)


def _taken_apart(line: Line) -> Iterator[tuple[int, Sequence[Cell]]]:
    """A row; one that a stray quotation mark made of several as those, each with its number."""
    if not line.wrong or line.last == line.number:
        yield line.number, line.cells
        return
    swallowed = "".join(piece for cell in line.cells for piece in str(cell).splitlines()[1:])
    mark = max(CANDIDATES, key=swallowed.count)
    number, row = line.number, list[Cell]()
    for cell in line.cells:
        first, *others = str(cell).splitlines() or [""]
        row.append(first)
        for other in others:
            yield number, row
            number, row = number + 1, list(other.split(mark))
    yield number, row


class _Days(NamedTuple):
    """The column of days, and how they were read."""

    column: int
    rules: DayRules


def _text(cells: Sequence[Cell], at: int, days: _Days | None) -> str:
    """A cell as it looked; a day in the form that reads the same without the rows beside it."""
    cell: Cell = cells[at] if at < len(cells) else ""
    if days is not None and at == days.column:
        found = day_of(cell, "", days.rules)
        if isinstance(found, date):
            return found.isoformat()
    return looks(cell)


def _reasons(account: Account) -> list[str]:
    first = Fault(account.column, account.what)
    return [str(Fault(item.where, item.what)) for item in (first, *account.more)]
