"""CSV files as rows of cells: UTF-8, comma separated, a heading row; strict about all three."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from fleetcare.errors import Fault, RefusedError

MOST_BYTES = 200_000_000
MOST_ROWS = 2_000_000
_RUN = ("=", "+", "-", "@", "\t", "\r")


def read_cells(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The headings and the rows of a CSV file, each row with its line number.

    Rows whose cells are all blank are skipped. Raises RefusedError, naming file and line, for a
    file that cannot be read, is empty, is not UTF-8, or is not CSV.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise RefusedError(f"{path}: larger than 200 MB; split it")
        raw = path.read_bytes()
    except OSError as error:
        raise RefusedError(f"{path}: {error.strerror or 'cannot be read'}") from error
    if not raw.strip():
        raise RefusedError(f"{path}: is empty; nothing was taken")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise RefusedError(f"{path}: is UTF-16. Save it as CSV UTF-8 and try again")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise RefusedError(
            f"{path}:{line}: is not UTF-8. Save it as CSV UTF-8 and try again"
        ) from error
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise RefusedError(f"{path}:{line}: holds a NUL byte; it is no text file")
    return _rows(path, text)


def _rows(path: Path, text: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    head: list[str] | None = None
    rows: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            tidy = [unguarded(cell.strip()) for cell in cells]
            if any(tidy):
                if head is None:
                    head = tidy
                else:
                    rows.append((line, tidy))
            line = reader.line_num + 1
            if len(rows) > MOST_ROWS:
                raise RefusedError(f"{path}: more than {MOST_ROWS:,} rows; split it")
    except csv.Error as error:
        raise RefusedError(f"{path}:{line}: is not CSV from here on ({error})") from error
    if head is None:
        raise RefusedError(f"{path}: is empty; nothing was taken")
    return head, rows


def write_cells(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV: comma, quotes where needed, CRLF (RFC 4180)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue()


def guarded(cell: str) -> str:
    """The cell with an apostrophe before it where a spreadsheet would run it as a formula.

    One that has such apostrophes already gets one more, so that `unguarded` gives each back.
    """
    return f"'{cell}" if cell.lstrip("'")[:1] in _RUN else cell


def unguarded(cell: str) -> str:
    """The cell without the apostrophe that guards it."""
    return cell[1:] if cell[:1] == "'" and cell.lstrip("'")[:1] in _RUN else cell


def by_column(
    where: str, head: Sequence[str], rows: Sequence[tuple[int, list[str]]]
) -> tuple[list[tuple[str, dict[str, str]]], list[Fault]]:
    """Rows as cells by heading, each with its place; rows longer than the heading are faults."""
    found: list[tuple[str, dict[str, str]]] = []
    faults: list[Fault] = []
    for line, cells in rows:
        place = f"{where}:{line}"
        if len(cells) > len(head) and any(cells[len(head) :]):
            faults.append(Fault(place, f"has {len(cells)} cells for {len(head)} headings"))
            continue
        padded = [*cells, *([""] * (len(head) - len(cells)))]
        found.append((place, dict(zip(head, padded, strict=False))))
    return found, faults
