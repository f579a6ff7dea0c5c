"""The import's report in words: how a sheet was understood, what became of its rows."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fleetcare.exchange.accounts import (
    PLACE,
    REFUSED,
    REPORT_HEADS,
    SKIPPED,
    TAKEN,
    Account,
    Report,
    row_of,
    source_of,
)
from fleetcare.exchange.cell import is_blank, letters
from fleetcare.exchange.found import FoundSheet
from fleetcare.exchange.synonyms import MEANINGS
from fleetcare.show.log_text import entry_words
from fleetcare.show.table import table, wrapped

SHOWN, NAMED = 20, 8
_QUOTED = re.compile(r'^"[^"]*" ')
_READINGS = re.compile(r"^could be .*")
_LOG_WORDS = ("readings", "runs", "jobs", "findings")
MANY = {"a total": "totals", "a heading between rows": "headings between rows",
        "no figure and no job": "without a figure or a job"}  # fmt: skip
ROW_HEADS = ("row", "verdict", "reason", "cell", "mend", "read")


def understood(sheet: FoundSheet, width: int) -> list[str]:
    """How a sheet was read: its form, its row of headings, what each of them means."""
    layout = sheet.layout
    lines = [wrapped(_form(sheet), width)]
    rows = [[layout.head(at), _meant(sheet, meaning)] for meaning, at in
            sorted(layout.columns.items(), key=lambda item: item[1])]  # fmt: skip
    rows += [[name, f"{_meant(sheet, layout.settled.partition(':')[0])} of {name}"]
             for _, name in layout.wide]  # fmt: skip
    if layout.engine:
        rows.append(["all rows", f"of {layout.engine}"])
    lines.append(table(("Heading", "Read as"), rows, width, (1,)))
    used = {*layout.columns.values(), *(at for at, _ in layout.wide)}
    spare = [
        head
        for at, head in enumerate(layout.heads)
        if head and at not in used and head not in REPORT_HEADS
    ]
    if spare:
        lines.append(
            wrapped(f"Not taken: {', '.join(spare)} (--map note=HEADING takes one)", width)
        )
    bare = _without_heading(sheet)
    if bare:
        lines.append(wrapped(f"Not taken: {bare}", width))
    return lines


def _form(sheet: FoundSheet) -> str:
    grid, header = sheet.grid, sheet.layout.header
    row = "row" if grid.sheet else "line"
    above = sum(1 for line in grid.lines if line.number < header)
    said = "".join(f"{item}; " for item in grid.said)
    text = f"{grid.name}: {said}headings on {row} {header}"
    if above:
        text += f", {'the one' if above == 1 else f'the {above}'} above not taken"
    return text


def _meant(sheet: FoundSheet, meaning: str) -> str:
    layout = sheet.layout
    text = MEANINGS.get(meaning, meaning)
    kind, _, why = layout.settled.partition(": ")
    if meaning == kind and why:
        return f"{text}: {why}" if why != "as said" else f"{text}, as you said"
    if meaning == "on" and layout.order == "ymd":
        return f"{text}; the year first where it has two figures"
    if meaning == "on" and layout.order:
        first = "day" if layout.order == "dmy" else "month"
        shown = f", as {layout.order_shown_by} shows" if layout.order_shown_by else ""
        return f"{text}; the {first} first where slashes part it{shown}"
    return text


def _without_heading(sheet: FoundSheet) -> str:
    """The columns that hold something below a blank heading."""
    heads = sheet.layout.heads
    filled: Counter[int] = Counter()
    for row in sheet.rows:
        for at, cell in enumerate(row.line.cells):
            if (at >= len(heads) or not heads[at]) and not is_blank(cell):
                filled[at] += 1
    return ", ".join(
        f"{count} {'cell' if count == 1 else 'cells'} of column {letters(at)}, which has no heading"
        for at, count in sorted(filled.items())
    )


def summary(report: Report, verb: str) -> str:
    """What became of all rows in one line; the counts add up to the rows read."""
    taken = ", ".join(_counted(name, count) for name, count in report.taken.items() if count)
    skipped = f"{report.skipped} skipped; " if report.skipped else ""
    return (
        f"{verb} {taken or 'nothing'}; {report.there_already} there already; {skipped}"
        f"{len(report.left_out)} left out; {report.rows} rows read"
    )


def _counted(name: str, count: int) -> str:
    if name in _LOG_WORDS and count == 1:
        return f"1 {name.removesuffix('s')}"
    return f"{count} {name}"


def skipped_lines(report: Report) -> list[str]:
    """Why rows were skipped, how many each, and where; blank ones are only counted."""
    groups: dict[str, list[str]] = {}
    for account in report.accounts:
        if account.verdict == SKIPPED:
            why = "say the same as a row above" if "same as" in account.what else account.what
            groups.setdefault(why, []).append(account.place)
    lines = []
    for why, places in groups.items():
        words = MANY.get(why, why) if len(places) > 1 else why
        where = "" if why == "blank" else f": {where_of(places)}"
        lines.append(f"skipped, {len(places)} {words}{where}")
    return lines


def doubt_lines(report: Report) -> list[str]:
    """What was taken but is worth a look."""
    return [
        f"worth a look, {len(places)} {what}: {where_of(places)}"
        for what, places in report.doubts.items()
    ]


def refused_lines(
    report: Report, sheets: Sequence[FoundSheet] = (), most: int | None = SHOWN
) -> list[str]:
    """Why rows were refused, a line for each reason and cell's heading, the commonest first."""
    groups: dict[tuple[str, str, str], list[Account]] = {}
    for account in report.accounts:
        if account.verdict == REFUSED:
            source = source_of(account.place)
            groups.setdefault((source, account.column, _kind(account.what)), []).append(account)
    ordered = sorted(groups.values(), key=lambda group: -len(group))  # stable: as they came
    lines = [_group_line(group, sheets) for group in ordered[:most]]
    if most is not None and len(ordered) > most:
        rest = sum(map(len, ordered[most:]))
        lines.append(f"and {rest} more {'row' if rest == 1 else 'rows'} (--all names them)")
    return lines


def _kind(what: str) -> str:
    """A reason without the text that it quotes and how that could be read, which differ by row."""
    return _READINGS.sub("could be", _QUOTED.sub("", what))


def _group_line(group: Sequence[Account], sheets: Sequence[FoundSheet]) -> str:
    first = group[0]
    if len(group) == 1:
        place, rows = _cell_place(first, sheets), ""
        if first.more:
            rows = f" (and {len(first.more)} more in this row)"
    else:
        place = source_of(first.place)
        alike = len({account.what for account in group}) == 1
        like = "rows" if alike else "rows like it"
        rows = f" ({len(group)} {like}: {_numbers([account.place for account in group])})"
    where = f"{place}: {first.column}" if first.column else place
    mend = f". {first.mend}" if first.mend else ""
    return f"{where}: {first.what}{rows}{mend}"


def _cell_place(account: Account, sheets: Sequence[FoundSheet]) -> str:
    """A refused cell's place in a workbook, C17, where its heading tells the column."""
    match = PLACE.fullmatch(account.place)
    if match is None or match[2] != "!":
        return account.place
    for sheet in sheets:
        if sheet.grid.name == match[1] and account.column in sheet.layout.heads:
            column = letters(sheet.layout.heads.index(account.column))
            return f"{match[1]}!{column}{match[3]}"
    return account.place


def where_of(places: Sequence[str]) -> str:
    """Where rows stand: rows 3, 5–7; by file when there are several."""
    by_source: dict[str, list[str]] = {}
    for place in places:
        by_source.setdefault(source_of(place), []).append(place)
    if len(by_source) == 1:
        return f"{'row' if len(places) == 1 else 'rows'} {_numbers(places)}"
    return "; ".join(f"{source} {_numbers(inside)}" for source, inside in by_source.items())


def _numbers(places: Sequence[str]) -> str:
    """Row numbers, neighbours drawn together, at most a few."""
    numbers = sorted(set(map(row_of, places)))
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    texts = [f"{a}" if a == b else f"{a}–{b}" if b > a + 1 else f"{a}, {b}" for a, b in spans]
    more = ", …" if len(texts) > NAMED else ""
    return ", ".join(texts[:NAMED]) + more


def row_values(report: Report) -> list[dict[str, Any]]:
    """Every row with its verdict, why, and what it was read as: the stable contract."""
    return [
        {
            "row": account.place,
            "verdict": account.verdict,
            "reason": account.what or None,
            "cell": account.column or None,
            "mend": account.mend or None,
            "read": "; ".join(f"{entry.on} {entry_words(entry)}" for entry in account.entries)
            or None,
        }
        for account in report.in_order()
    ]


def every_row(report: Report) -> Iterator[str]:
    """A line for every row, in the order of the file."""
    for values in row_values(report):
        said = values["reason"] or values["read"] or ""
        cell = f"{values['cell']}: " if values["cell"] else ""
        yield f"{values['row']}: {values['verdict']}{': ' if said else ''}{cell}{said}"


def totals(report: Report) -> Mapping[str, Any]:
    """The counts beside the rows in JSON."""
    return {
        "rows_read": report.rows,
        TAKEN: dict(+report.taken),
        "there_already": report.there_already,
        SKIPPED: report.skipped,
        REFUSED: len(report.left_out),
    }
