"""The refused rows as a table of their own, to be mended and fed back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from fleetcare.errors import Fault
from fleetcare.exchange.accounts import REFUSED, REPORT_HEADS, Account
from fleetcare.exchange.cell import Cell, Line, looks
from fleetcare.exchange.csvfile import write_cells
from fleetcare.exchange.day_cells import DayRules, day_of
from fleetcare.exchange.found import FoundSheet
from fleetcare.exchange.grid import Grid
from fleetcare.exchange.own_tables import OwnSheet


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
        days = found.layout.columns["on"]
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
    days: int | None,
) -> None:
    """The refused rows of one sheet; those of a table that was such a report keep its headings."""
    columns = [at for at, head in enumerate(heads) if head not in REPORT_HEADS]
    rows = []
    for line in lines:
        accounts = why.get(grid.place(line.number), [])
        if accounts:
            texts = [_text(grid, line, at, days) for at in columns]
            reasons = [text for account in accounts for text in _reasons(account)]
            rows.append([*texts, grid.place(line.number), "; ".join(dict.fromkeys(reasons))])
    if rows:
        out[grid.name] = write_cells([*(heads[at] for at in columns), *REPORT_HEADS], rows)


def _text(grid: Grid, line: Line, at: int, days: int | None) -> str:
    cell: Cell = line.cells[at] if at < len(line.cells) else ""
    if at == days and not isinstance(cell, str):  # day numbers as days
        found = day_of(cell, "", DayRules(epoch=grid.epoch))
        if isinstance(found, date):
            return found.isoformat()
    return looks(cell)


def _reasons(account: Account) -> list[str]:
    first = Fault(account.column, account.what)
    return [str(Fault(item.where, item.what)) for item in (first, *account.more)]
