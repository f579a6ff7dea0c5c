"""fleetcare history --html, --pdf and --export: an engine's history as a page, or as a fleet."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.rules.sets import RuleBook
    from fleetcare.show.history_page_facts import Past, Written
    from fleetcare.store.fetch import Kept


def write_history(
    desk: Desk, engine: str, as_of: date, language: str | None, html: str | None, pdf: str | None,
    paper: str,
) -> None:  # fmt: skip
    """Write the page, the PDF or both."""
    from fleetcare.cli.naming import words_of
    from fleetcare.cli.paper import write_papers
    from fleetcare.show.history_page import history_document, history_page
    from fleetcare.show.history_page_pdf import history_pdf

    past, book = past_at(desk, engine, as_of)
    words = words_of(past.fleet, language)
    document = history_document(past, book, words)
    count = sum(item.entry is not None for item in past.entries)
    write_papers(
        desk, html, lambda: history_page(document, paper, words), pdf,
        lambda: history_pdf(document, paper, as_of),
        f"history of {past.engine.name}, {count} {'entry' if count == 1 else 'entries'}",
    )  # fmt: skip


def past_at(desk: Desk, engine: str, as_of: date) -> tuple[Past, RuleBook]:
    """The past of an engine as of a day, and the rules it was judged by."""
    from fleetcare.cli.looking import view
    from fleetcare.errors import RefusedError
    from fleetcare.show.history_page_facts import carriers_of, past_of

    seen = view(desk, as_of)
    known = seen.fleet.engine(engine)
    if known.since > as_of:
        raise RefusedError(f'engine "{known.name}" was not known yet on {as_of}')
    with desk.open() as file, file.reading():
        whole = file.history(as_of)
        carriers = carriers_of(seen.fleet, whole, as_of, known.name)
        own = _written(file.log(known.name), as_of)
        others = [item for name in carriers for item in _written(file.log(name), as_of)]
    flag = seen.flags.get(known.name)
    past = past_of(
        seen.fleet, whole, seen.book, as_of, known.name,
        [row for row in seen.rows if row.engine == known.name],
        flag.standing if flag else (), own, others,
    )  # fmt: skip
    return past, seen.book


def _written(kept: list[Kept], as_of: date) -> list[Written]:
    """Entries up to a day, by day; withdrawals whenever they were written."""
    from fleetcare.show.history_page_facts import Written

    return [
        Written(
            item.number, item.on, item.by, datetime.fromisoformat(item.at).date(), item.entry,
            item.withdraws, item.withdrawn,
        )
        for item in sorted(kept, key=lambda item: (item.on, item.number))
        if item.on <= as_of or item.entry is None
    ]  # fmt: skip
