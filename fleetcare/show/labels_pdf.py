"""The sheets of labels as a PDF: the same drawings, a page each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetcare.show.labels import Label, sheets_svg
from fleetcare.show.labels_sizes import LabelSheet
from fleetcare.show.words import Words


def labels_pdf(
    labels: Sequence[Label], sheet: LabelSheet, words: Words, on: date, skip: int = 0,
    lines: bool = False,
) -> bytes:  # fmt: skip
    """The PDF of the sheets, dated `on`. Raises RefusedError without typst."""
    from fleetcare.show.pdf import in_code, pdf_of

    pages = sheets_svg(labels, sheet, words, skip, lines)
    files = {f"sheet-{at}.svg": svg.encode() for at, svg in enumerate(pages)}
    width, height = (side / 1000 for side in sheet.page)
    source = [
        f"#set page(width: {width}mm, height: {height}mm, margin: 0mm)",
        f"#set document(title: {in_code(words('Labels of engines'))})",
    ]
    source += [
        f"#place(top + left, image({in_code(name)}, width: {width}mm, height: {height}mm))"
        + ("\n#pagebreak()" if at + 1 < len(files) else "")
        for at, name in enumerate(files)
    ]
    return pdf_of("\n".join(source), files, on)
