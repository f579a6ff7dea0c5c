"""The sheet as PDF: the same texts as the page, laid out by typst."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from importlib.resources import files

from fleetcare.show.pdf import data, pdf_of
from fleetcare.show.qr import qr_svg
from fleetcare.show.sheet_view import SheetText
from fleetcare.show.words import ENGLISH, Words

_PAPERS = {"a4": "a4", "letter": "us-letter"}


def sheet_pdf(
    sheet: SheetText, day: str, as_of: date, paper: str = "a4", words: Words = ENGLISH
) -> bytes:
    """The PDF; its date is that of the figures. Raises RefusedError when typst is missing."""
    source = files("fleetcare.show").joinpath("templates", "sheet.typ").read_text("utf-8")
    values = {
        **asdict(sheet),
        "day": day,
        "paper": _PAPERS[paper],
        "language": words.language,
        "labels": _labels(words),
    }
    codes = {f"code{at}.svg": qr_svg(visit.engine) for at, visit in enumerate(sheet.visits)}
    return pdf_of(source, {"data.json": data(values), **codes}, as_of)


def _labels(words: Words) -> dict[str, str | list[str]]:
    """The texts that stand on every sheet."""
    return {
        "cautions": words("For every job"),
        "engines": words("Engines"),
        "heads": [words("Engine"), words("Where"), words("Jobs"), words("Time")],
        "fetch": words("Fetch first"),
        "left_out": words("Planned, and left out"),
        "sheet": words("Sheet"),
        "reach": words("To reach it, in this order"),
        "jobs": words("Jobs, in this order"),
        "done": words("done"),
        "not_done": words("not done"),
        "found": words("As found: {part} (tick one)"),
        "how_many": words("how many"),
        "note": words("Note"),
        "looks": words("Before it goes out, and at every start"),
        "reads": words("Hour meter reads"),
        "also": words("Also found"),
        "done_on": words("Done on"),
        "role": words("Role"),
        "signature": words("Signature"),
        "back": words(
            "Type it back: fleetcare sheet … --form FILE, fill it in, fleetcare done --sheet FILE."
        ),
        "page": words("page {page} of {pages}"),
        "code": words("QR code of the engine's name"),
    }
