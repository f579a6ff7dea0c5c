"""Everything known of one engine, for the insurer, the committee or the buyer: one HTML page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.show import history_page_log as log
from fleetcare.show import history_page_past as before
from fleetcare.show import history_page_today as today
from fleetcare.show.history_page_facts import Past
from fleetcare.show.history_page_form import Cell, Document, Piece, Section, Table
from fleetcare.show.history_page_line import line_svg
from fleetcare.show.words import Words

PAPERS = {"a4": "A4", "letter": "letter"}


def history_document(past: Past, book: RuleBook, words: Words) -> Document:
    """The history of an engine in the reader's language."""
    verdict, look = today.verdict_of(past, words)
    page, pages = "\x01", "\x02"
    numbered = words("Page {page} of {pages}", page=page, pages=pages)
    begin, _, rest = numbered.partition(page)
    middle, _, end = rest.partition(pages)
    return Document(
        words("History of {engine}", engine=past.engine.name),
        past.engine.name,
        today.kind_of(past, words),
        words.language,
        verdict,
        look,
        (
            *today.facts_of(past, words),
            (words("This history"), words("as of {day}", day=words.day(past.as_of))),
        ),
        tuple(section for section in _sections(past, book, words) if section is not None),
        (
            words("This is a true print of the log as it stands in the fleet file."),
            words("Role"), words("Name and signature"), words("Place and day"),
        ),
        (
            words("An engine's own handbook, local codes and licensed practice come before "
                  "anything said here."),
            words("Names of jobs, conditions and their texts are those of the rule set."),
        ),
        (begin, middle, end),
    )  # fmt: skip


def _sections(past: Past, book: RuleBook, words: Words) -> Iterator[Section | None]:
    ruleset = book.set_of(past.engine.rules or past.fleet.settings.rules)
    yield today.waiting(past, words)
    yield today.due_now(past, words)
    yield today.put_off(past, words)
    drawing = line_svg(past, _tasks(ruleset), _conditions(book), words)
    yield Section("line", words("Time line"), drawing=drawing)
    yield before.boats(past, words)
    yield before.components(past, words)
    yield log.found(past, words)
    yield log.work(past, words)
    yield log.earlier_work(past, words)
    yield log.changes(past, words)
    yield log.months(past, words)
    yield log.taken_back(past, words)
    yield before.gaps(past, words)
    yield before.roles(past, words)


def _tasks(ruleset: RuleSet) -> dict[str, tuple[str, bool]]:
    return {name: (rule.component, rule.is_precursor) for name, rule in ruleset.rules.items()}


def _conditions(book: RuleBook) -> dict[str, dict[str, Any]]:
    return {part: dict(words) for part, words in book.conditions.items()}


def history_page(document: Document, paper: str, words: Words) -> str:
    """The history as an HTML page; `paper` is a4 or letter."""
    from fleetcare.show.pages import page

    begin, middle, end = map(_in_css, document.page_of)
    running = f"{_in_css(document.title)} "
    return page(
        "history.html", words, document=document, paper=PAPERS[paper], running=running,
        numbered=f"{begin} counter(page) {middle} counter(pages) {end}",
    )  # fmt: skip


def _in_css(text: str) -> str:
    """A text as a string of a style sheet, whatever it holds."""
    safe = (char if char.isalnum() and char.isascii() else f"\\{ord(char):x} " for char in text)
    return f'"{"".join(safe)}"'


def plain(value: object) -> Any:
    """The form of a history, or a part of it, as plain values for whoever prints it otherwise."""
    if isinstance(value, Document | Section):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Table | Cell | Piece):
        return {name: plain(part) for name, part in value._asdict().items()}
    if isinstance(value, tuple):
        return [plain(part) for part in value]
    return value
