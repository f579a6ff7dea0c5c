"""One engine's trace: its record, the answers typed so far, and logging them at the end."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

import click

from fleetcare.cli.context import Desk
from fleetcare.cli.options import refuse

if TYPE_CHECKING:
    from fleetcare.log.entries import Entry
    from fleetcare.repair.trace import Answer, ToLog, Traced
    from fleetcare.repair.trace_record import Record
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.rules.symptoms import Look, Symptom, Tracing
    from fleetcare.show.trace import Page
    from fleetcare.store.fleet_file import FleetFile

_COUNTED = re.compile(r"(?P<word>.*[^\s(])[\s(]+(?P<pieces>\d{1,3})\)?")


@dataclass(slots=True)
class Case:
    """A trace under way: the symptom as it fits the engine, its record, the answers so far."""

    engine: str
    symptom: Symptom
    tracing: Tracing
    record: Record
    book: RuleBook
    ruleset: RuleSet
    page: Page
    more: tuple[str, ...]
    answers: dict[str, Answer] = field(default_factory=dict)
    skipped: list[str] = field(default_factory=list)

    def traced(self) -> Traced:
        """How far the answers lead."""
        from fleetcare.repair.trace import trace

        return trace(
            self.symptom, self.tracing, self.record, self.book.conditions, self.ruleset.access,
            self.answers, self.skipped,
        )  # fmt: skip

    def command(self, repaired: bool = False) -> str:
        """The line that takes it up again where it is, or where a repair leaves it."""
        from fleetcare.repair.trace import mended
        from fleetcare.show.trace import resume_command

        answers = mended(self.symptom, self.answers) if repaired else self.answers
        return resume_command(self.engine, self.symptom, answers, self.skipped, self.more)


def case_of(
    desk: Desk, file: FleetFile, engine: str, symptom: str, as_of: date,
    seen: Iterable[str], skip: Iterable[str],
) -> Case:  # fmt: skip
    """Read what the trace needs; refused in words where a name or an answer is none."""
    from fleetcare.cli.looking import forecast_of
    from fleetcare.cli.naming import rules_of
    from fleetcare.due.rows import due_and_standing
    from fleetcare.errors import RefusedError
    from fleetcare.repair.trace import narrowed
    from fleetcare.repair.trace_record import record_of

    fleet, history = file.fleet(), file.history(as_of)
    book = desk.book(fleet, words=True)
    tracing = _tracing(book)
    of = tracing.symptoms[_known(symptom, tracing.symptoms, "symptom")]
    name = fleet.engine(engine).name
    forecast = forecast_of(file, book, as_of)
    rows, stands = due_and_standing(fleet, history, book, as_of, name, forecast)
    if not rows:
        raise RefusedError(f'"{name}" has no jobs on {as_of}: not known yet by then, or retired')
    ruleset = rules_of(fleet, book, name)
    standing = stands.get(name, [])
    case = Case(
        name, narrowed(of, ruleset, fleet.engines[name]), tracing,
        record_of(
            fleet, history, ruleset, rows, name, as_of, [item.incident for item in standing]
        ),
        book, ruleset,
        _page(desk, name, as_of, [item.words(as_of) for item in standing if item.holds]),
        _options(desk, as_of),
    )  # fmt: skip
    for text in seen:
        _take(case, text)
    case.skipped += [_look(case, text).name for text in skip]
    case.skipped = [item for item in dict.fromkeys(case.skipped) if item not in case.answers]
    return case


def _tracing(book: RuleBook) -> Tracing:
    from fleetcare.errors import FaultsError
    from fleetcare.rules.faults import read_tracing
    from fleetcare.rules.shipped import word_table

    where = "intervals/faults.toml"
    found = read_tracing(word_table("faults"), where, book.conditions, book.incidents)
    if isinstance(found, list):
        raise FaultsError(found)
    return found


def _page(desk: Desk, engine: str, as_of: date, held: list[str]) -> Page:
    import sys

    from fleetcare.show.trace import Page

    try:
        "█".encode(getattr(sys.stdout, "encoding", None) or "utf-8")
        block = "█"
    except (UnicodeEncodeError, LookupError):
        block = "#"
    return Page(engine, as_of, desk.width(), block, tuple(held))


def _options(desk: Desk, as_of: date) -> tuple[str, ...]:
    """What else the line that resumes must say: the fleet, the day."""
    words = ["--fleet", desk.fleet] if desk.fleet else []
    return (*words, *([] if as_of == desk.today() else ["--as-of", as_of.isoformat()]))


def _plain(name: str) -> str:
    """A name without what people leave out or put in: telltale is tell-tale."""
    from fleetcare.fleet.names import folded

    return re.sub(r"[\s_-]+", "", folded(name))


def _known(typed: str, names: Iterable[str], what: str) -> str:
    """The name that was meant: its letters, or the only one that begins so."""
    from fleetcare.errors import Fault
    from fleetcare.fleet.names import did_you_mean

    names = list(names)
    same = [name for name in names if _plain(name) == _plain(typed)]
    begins = [name for name in names if _plain(typed) and _plain(name).startswith(_plain(typed))]
    if same or len(begins) == 1:
        return (same or begins)[0]
    hint = did_you_mean(typed, names) or f"One of: {', '.join(names)}."
    refuse(Fault("", f'"{typed}" is no {what}', hint))
    raise AssertionError


def _look(case: Case, typed: str) -> Look:
    return case.symptom.look(_known(typed, [look.name for look in case.symptom.looks], "test here"))


def answer_of(look: Look, typed: str) -> Answer:
    """The answer that was typed: an outcome's word, with a count where it asks for one."""
    from fleetcare.repair.trace import Answer

    words = [outcome.word for outcome in look.outcomes]
    counted = _COUNTED.fullmatch(typed.strip())
    if counted and _plain(typed) not in map(_plain, words):
        word = _known(counted["word"], words, f'outcome of "{look.name}"')
        if look.outcome(word).count:
            return Answer(word, int(counted["pieces"]))
        refuse(f'"{word}" of "{look.name}" takes no count')
    return Answer(_known(typed, words, f'outcome of "{look.name}"'))


def _take(case: Case, text: str) -> None:
    name, equals, typed = text.partition("=")
    if not equals:
        refuse(f'"{text}" is not TEST=OUTCOME, such as --seen tell-tale=weak')
    look = _look(case, name)
    answer = answer_of(look, typed)
    if look.outcome(answer.word).count and answer.pieces is None:
        refuse(f'how many? --seen "{look.name}={answer.word} N"')
    before = case.answers.get(look.name)
    if before is not None and before != answer:
        refuse(f'"{look.name}" cannot be both "{before.word}" and "{answer.word}": give one')
    case.answers[look.name] = answer


def log(desk: Desk, file: FleetFile, case: Case, by: str | None, note: str) -> None:
    """Log what was seen, save what stands on the record already."""
    from fleetcare.cli.effects import log_and_tell

    day = date.fromordinal(case.record.as_of)
    if day > desk.today():
        refuse(f"{day} lies in the future: nothing was seen then yet, so nothing is logged")
    items = case.traced().to_log
    if not items:
        click.echo("Nothing to log that the record does not have.")
        return
    entries = [_entry(case, item, day, desk.by(file.fleet(), by), note) for item in items]
    log_and_tell(desk, file, case.book, entries)
    for item in items:
        if item.incident and case.book.incidents[item.incident].caution:
            desk.note(f"Caution: {case.book.incidents[item.incident].caution}")


def _entry(case: Case, item: ToLog, day: date, by: str, note: str) -> Entry:
    from fleetcare.log.entries import Finding, Incident

    if item.incident:
        return Incident(on=day, by=by, note=note, engine=case.engine, kind=item.incident)
    return Finding(
        on=day, by=by, note=note, engine=case.engine, part=item.part, condition=item.condition,
        count=item.count,
    )  # fmt: skip
