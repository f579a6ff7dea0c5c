"""A history as a PDF: the same form as the page, set by typst."""

from __future__ import annotations

from datetime import date
from importlib.resources import files

from fleetcare.show.history_page import plain
from fleetcare.show.history_page_form import Document

PAPERS = {"a4": "a4", "letter": "us-letter"}


def history_pdf(document: Document, paper: str, on: date) -> bytes:
    """The PDF, dated `on`; `paper` is a4 or letter. Raises RefusedError without typst."""
    from fleetcare.show.pdf import data, pdf_of

    source = files("fleetcare.show").joinpath("templates/history.typ").read_text(encoding="utf-8")
    texts = {"history.json": data({**plain(document), "paper": PAPERS[paper]})}
    drawings = {
        f"{section.key}.svg": section.drawing.encode()
        for section in document.sections
        if section.drawing
    }
    return pdf_of(source, {**texts, **drawings}, on)
