"""The four tables as one workbook: days, figures and texts each as what they are."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from io import BytesIO
from typing import Any

from fleetcare.errors import RefusedError
from fleetcare.exchange.csvfile import unguarded
from fleetcare.exchange.take_out import Rows

DAYS = frozenset(("on", "since", "until"))
NUMBERS = frozenset(
    ("reading", "hours", "fuel", "old_reading", "cost", "hp", "litres_hour", "stroke", "year",
     "digits", "count")
)  # fmt: skip
WIDE = {"note": 40, "engine": 14, "boat": 14, "task": 18, "value": 40}
LONGEST_CELL = 32_767  # what a workbook's cell can hold (ECMA-376)
_STAMP = (1980, 1, 1, 0, 0, 0)  # the first a zip file can say; the same for the same fleet
_MADE = re.compile(rb"(<dcterms:(?:created|modified)[^<>]*>)[^<]*")
# What XML cannot hold as it is, and what would be taken for such: written _x000D_ (ECMA-376,
# ST_Xstring).
_ODD = re.compile(r"[\x00-\x08\x0b-\x1f\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")


def workbook(found: dict[str, tuple[Sequence[str], Rows]]) -> bytes:
    """A sheet for each table, its headings on top; the same bytes for the same tables.

    Raises RefusedError for a text that is longer than a cell can hold.
    """
    import openpyxl

    _refuse_long_texts(found)
    book = openpyxl.Workbook(write_only=True)
    for name, (head, body) in found.items():
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for at, column in enumerate(head):
            letters = openpyxl.utils.get_column_letter(at + 1)
            sheet.column_dimensions[letters].width = WIDE.get(column, 11)
        sheet.append([_cell(sheet, text, "") for text in head])
        is_typed = name != "settings"
        for row in body:
            sheet.append(
                [_cell(sheet, text, head[at] if is_typed else "") for at, text in enumerate(row)]
            )
    made = BytesIO()
    book.save(made)
    return _settled(made.getvalue())


def _refuse_long_texts(found: dict[str, tuple[Sequence[str], Rows]]) -> None:
    for _, body in found.values():
        for text in (text for row in body for text in row):
            if len(text) > LONGEST_CELL // 7 and len(_escaped(text)) >= LONGEST_CELL:
                raise RefusedError(
                    f'a text of {len(text):,} letters ("{text[:40]}…") is longer than a sheet\'s '
                    f"cell can hold; export to a folder, as CSV, instead"
                )


def _escaped(text: str) -> str:
    return _ODD.sub(lambda match: f"_x{ord(match[0]):04X}_", text)


def _cell(sheet: Any, text: str, column: str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    if not text:
        return None
    if column in DAYS:
        return date.fromisoformat(text)
    if column in NUMBERS:
        number = Decimal(text)
        return int(number) if number == number.to_integral_value() else float(number)
    if unguarded(text) != text:
        text = f"'{text}"
    cell = WriteOnlyCell(sheet)
    cell.value = _escaped(text)
    cell.data_type = "s"  # a text that begins with = is no formula
    return cell


def _settled(raw: bytes) -> bytes:
    """The file packed again without the time of its making."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(raw)) as old, zipfile.ZipFile(out, "w") as new:
        for info in old.infolist():
            body = old.read(info)
            if info.filename == "docProps/core.xml":
                body = _MADE.sub(rb"\g<1>2000-01-01T00:00:00Z", body)
            part = zipfile.ZipInfo(info.filename, _STAMP)
            part.compress_type = zipfile.ZIP_DEFLATED
            part.create_system = 3  # the same on every machine
            new.writestr(part, body)
    return out.getvalue()
