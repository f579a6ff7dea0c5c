"""A trace as text and as values: causes with bars and reasons, the next look, what to log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from fleetcare.fleet.days import spoken
from fleetcare.fleet.figures import rounded
from fleetcare.repair.trace import Answer, Likely, Sign, ToLog, Traced, seen_words
from fleetcare.repair.trace_record import Reason
from fleetcare.rules.symptoms import Symptom
from fleetcare.show.table import NO_BREAK, wrapped
from fleetcare.show.values import SCHEMA, iso, percent

JUDGEMENT = "The shares are our judgement, not statistics."
HANDBOOK = "The engine's own handbook, local codes and trained hands come before all of this."
FEW = Fraction(2, 100)  # causes less likely than this share a line
LONGEST_BAR = 30
BEFORE = {"ask": "Care:", "hands": "Before a hand goes there:", "run": "Before it runs:"}
WHO = {"anyone": "", "trained": ", for trained hands", "workshop": ", for a workshop"}


@dataclass(frozen=True, slots=True)
class Page:
    """What a trace is printed on: its engine and day, the width, the letter bars are made of."""

    engine: str
    as_of: date
    width: int = 80
    block: str = "█"
    held: Sequence[str] = ()

    def fill(self, line: str) -> str:
        """A line wrapped to the page."""
        return wrapped(
            line.replace(" %", f"{NO_BREAK}%").replace(" min", f"{NO_BREAK}min"), self.width
        )


def chance_words(chance: Fraction) -> str:
    """A chance in whole per cent; never 0 or 100, since nothing is certain."""
    return "<1 %" if chance < Fraction(1, 100) else f"{min(99, round(chance * 100))} %"


def trace_text(traced: Traced, page: Page, command: str, mended: str, logged: bool = False) -> str:
    """The whole of it: stop first, then causes, the next look, what to log.

    `command` is the line that comes here again, `mended` the one after a repair.
    """
    blocks = [head_text(traced, page), causes_text(traced, page), next_text(traced, page)]
    blocks.append(mended_text(page, mended) if traced.proved else again_text(traced, page, command))
    if not logged:
        blocks.append(log_text(traced, page))
    blocks.append(page.fill(HANDBOOK))
    return "\n\n".join(block for block in blocks if block)


def again_text(traced: Traced, page: Page, command: str) -> str:
    """The line to answer with, as a script adds one more."""
    if traced.next is None:
        return ""
    asked = traced.next.look
    seen = _quoted(f"{asked.name}={asked.outcomes[0].word}")
    return f"{page.fill('To answer, such as:')}\n  {command} --seen {seen}"


def mended_text(page: Page, command: str) -> str:
    """The line to go on with where what was found was put right, and was not all."""
    return f"{page.fill('Put right, and still the same? Go on with:')}\n  {command}"


def head_text(traced: Traced, page: Page) -> str:
    """The engine and what it does; the stop, or what to do first."""
    day = spoken(page.as_of, page.as_of)
    lines = [page.fill(f"{page.engine}: {traced.symptom.title}, {day}")]
    if page.held:
        lines.append(page.fill(f"It is held: {'; '.join(page.held)}."))
    lines += [stop_text(traced, page)] if traced.stops else []
    lines.append("First:")
    lines += [page.fill(f"- {line}") for line in traced.symptom.first]
    return "\n".join(lines)


def stop_text(traced: Traced, page: Page) -> str:
    """What forbids the engine to run."""
    return "\n".join(page.fill(f"STOP. {line}") for line in traced.stops)


def causes_text(traced: Traced, page: Page, brief: bool = False) -> str:
    """A bar for each cause, with the reasons, the likeliest first; the rare ones in one line."""
    lines = [page.fill(line) for line in seen_lines(traced, page.as_of)]
    lines.append(page.fill(f"What it may be. {JUDGEMENT}"))
    shown = [item for item in traced.causes if item.chance >= FEW]
    size = max(len(item.cause.name) for item in shown)
    longest = min(LONGEST_BAR, max(4, page.width - size - 8))
    top = max(item.chance for item in shown)
    for item in shown:
        bar = page.block * max(1, round(item.chance / top * longest))
        lines.append(f"{item.cause.name:<{size}}  {chance_words(item.chance):>4}  {bar}")
        because = because_words(item, page.as_of)
        if because and not brief:
            lines.append(page.fill(f"  {because}"))
    rare = [item.cause.name for item in traced.causes if item.chance < FEW]
    if rare:
        lines.append(page.fill(f"Below 2 % each: {', '.join(rare)}."))
    if traced.doubtful:
        lines += ["", page.fill(_doubt_words(traced.doubtful))]
    return "\n".join(lines)


def seen_lines(traced: Traced, as_of: date) -> list[str]:
    """What the chances go by: the answers, and the findings on the record that still wait."""
    lines = []
    if traced.answers:
        told = [
            seen_words(traced.symptom.look(name), answer.word)
            + ("" if answer.pieces is None else f" ({answer.pieces})")
            for name, answer in traced.answers.items()
        ]
        lines.append(f"Seen: {'; '.join(told)}.")
    if traced.remembered:
        past = [
            f"{item.part} {item.condition}"
            + ("" if item.pieces is None else f" ({item.pieces})")
            + f", {spoken(date.fromordinal(item.day), as_of)}"
            for item in traced.remembered.values()
        ]
        lines.append(f"On the record, and still waiting: {'; '.join(past)}.")
    return lines


def _doubt_words(signs: Sequence[Sign]) -> str:
    against = ", ".join(sign.what for sign in signs)
    return f"The answers hardly go together: no cause here fits all of them. Look again: {against}."


def because_words(item: Likely, as_of: date) -> str:
    """Why a cause is as likely as it is: the record, the looks, then what speaks against it."""
    rises = [_reason(reason, as_of) for reason in item.reasons if reason.factor > 1]
    rises += [_sign(sign, as_of) for sign in item.signs if sign.is_for]
    falls = [_reason(reason, as_of) for reason in item.reasons if reason.factor < 1]
    falls += [_sign(sign, as_of) for sign in item.signs if not sign.is_for]
    parts = rises + ([f"against it: {', '.join(falls)}"] if falls else [])
    return "; ".join(parts)


def _reason(reason: Reason, as_of: date) -> str:
    when = f", {spoken(date.fromordinal(reason.day), as_of)}" if reason.day else ""
    if reason.kind == "life":
        of = "hours" if reason.by == "hours" else "time"
        only = "only " if reason.factor < 1 else ""
        return f"{reason.what} {only}at {percent(reason.life or Fraction(0))} of its {of}"
    if reason.kind == "no record":
        return f"no record of {reason.what}"
    if reason.kind == "job":
        often = "twice lately, last" if reason.number > 1 else "done"
        return f"{reason.what} {often}{when.replace(',', '')} and still the same"
    if reason.kind == "years":
        return f"{reason.number} years old"
    if reason.kind == "idle":
        return f"not run for {reason.number} months"
    if reason.kind == "water":
        return f"lies in {reason.what} water"
    return reason.what + when


def _sign(sign: Sign, as_of: date) -> str:
    when = f", {spoken(date.fromordinal(sign.day), as_of)}" if sign.day else ""
    return sign.what + when


def next_text(traced: Traced, page: Page, numbered: bool = False) -> str:
    """What was found, or the next look: its minutes, its cautions, what each outcome means."""
    lines = []
    for cause in traced.on_record:
        jobs = f" Do first what it asks for: {', '.join(cause.remedy)}." if cause.remedy else ""
        lines.append(page.fill(f"On the record already: {cause.title}.{jobs}"))
    if traced.proved:
        return "\n".join([*lines, *_found_lines(traced, page)])
    if traced.next is None:
        lines.append(page.fill("Nothing is left to look at here: a workshop's job."))
        return "\n".join(lines)
    choice, look = traced.next, traced.next.look
    wait = f", then {look.wait_hours} h to wait" if look.wait_hours else ""
    opening = ""
    if choice.opens:
        opening = f", {choice.minutes - look.minutes} of it for {', '.join(choice.opens)}"
    lines.append(
        page.fill(f"Next: {look.name}, {choice.minutes} min{opening}{wait}{WHO[look.who]}")
    )
    lines.append(page.fill(f"  {look.asks}"))
    if traced.cautions:
        lines.append(f"  {BEFORE[look.kind]}")
        lines += [page.fill(f"  - {line}") for line in traced.cautions]
    for at, tell in enumerate(traced.tells, start=1):
        mark = f"{at} " if numbered else "  "
        then = f"{tell.then.name} {chance_words(tell.then_chance)}"
        lines.append(page.fill(f"{mark}{tell.outcome.word}: {tell.outcome.means} Then {then}."))
    far = 0 if choice.expected is None or traced.on_record else round(choice.expected)
    if far > choice.minutes:
        lines.append(page.fill(f"By these shares about {far} min of work until it is found."))
    return "\n".join(lines)


def _found_lines(traced: Traced, page: Page) -> list[str]:
    lines = []
    for look, answer in traced.answers.items():
        outcome = traced.symptom.look(look).outcome(answer.word)
        if outcome.proves:
            lines.append(page.fill(f"{look}: {outcome.word}. {outcome.means}"))
    for cause in traced.proved:
        chance = next(item.chance for item in traced.causes if item.cause == cause)
        jobs = f" Jobs: {', '.join(cause.remedy)}." if cause.remedy else ""
        lines.append(page.fill(f"{cause.title} ({chance_words(chance)}).{jobs}"))
    return lines


def log_text(traced: Traced, page: Page) -> str:
    """The commands that log what was seen."""
    if not traced.to_log:
        return ""
    lines = [page.fill("To log what was seen (--log does all of it):")]
    lines += [f"  {command}" for command in log_commands(page.engine, traced.to_log)]
    return "\n".join(lines)


def log_commands(engine: str, items: Sequence[ToLog]) -> list[str]:
    """What to type for each thing to log."""
    name = _quoted(engine)
    commands = []
    for item in items:
        if item.incident:
            commands.append(f"fleetcare incident {name} {_quoted(item.incident)}")
            continue
        count = "" if item.count is None else f" --count {item.count}"
        words = f"{_quoted(item.part)} {_quoted(item.condition)}"
        commands.append(f"fleetcare found {name} {words}{count}")
    return commands


def resume_command(
    engine: str, symptom: Symptom, answers: Mapping[str, Answer], skipped: Sequence[str],
    more: Sequence[str] = (),
) -> str:  # fmt: skip
    """The one line that takes a trace up where it was left."""
    words = ["fleetcare", "trace", _quoted(engine), symptom.name]
    for look, answer in answers.items():
        pieces = "" if answer.pieces is None else f" {answer.pieces}"
        words += ["--seen", _quoted(f"{look}={answer.word}{pieces}")]
    for look in skipped:
        words += ["--skip", _quoted(look)]
    return " ".join([*words, *map(_quoted, more)])


def _quoted(word: str) -> str:
    """A word as a shell takes it: in double quotes, which every shell knows."""
    plain = word and all(char.isalnum() or char in "-_=./:" for char in word)
    if plain:
        return word
    return '"' + "".join(f"\\{char}" if char in '"\\$`' else char for char in word) + '"'


def trace_values(traced: Traced, page: Page) -> dict[str, Any]:
    """The trace as the JSON object."""
    choice = traced.next
    return {
        "fleetcare": SCHEMA,
        "as_of": page.as_of.isoformat(),
        "engine": page.engine,
        "symptom": traced.symptom.name,
        "stop": list(traced.stops),
        "first": list(traced.symptom.first),
        "causes": [
            {
                "cause": item.cause.name,
                "title": item.cause.title,
                "chance": rounded(item.chance, 6),
                "because": because_words(item, page.as_of) or None,
            }
            for item in traced.causes
        ],
        "next_test": None if choice is None else _test_values(traced),
        "cautions": list(traced.cautions),
        "seen": {name: answer.word for name, answer in traced.answers.items()},
        "on_record": {
            name: {"part": item.part, "condition": item.condition, "on": iso(item.day)}
            for name, item in traced.remembered.items()
        },
        "found": [{"cause": cause.name, "jobs": list(cause.remedy)} for cause in traced.proved],
        "log": log_commands(page.engine, traced.to_log),
        "judgement": JUDGEMENT,
    }


def _test_values(traced: Traced) -> dict[str, Any]:
    choice = traced.next
    assert choice is not None
    look = choice.look
    return {
        "test": look.name,
        "asks": look.asks,
        "minutes": choice.minutes,
        "wait_hours": look.wait_hours,
        "opens": list(choice.opens),
        "who": look.who,
        "tells": [
            {
                "outcome": tell.outcome.word,
                "means": tell.outcome.means,
                "chance": rounded(tell.chance, 6),
                "then": tell.then.name,
                "then_chance": rounded(tell.then_chance, 6),
            }
            for tell in traced.tells
        ],
        "expected_minutes": None if choice.expected is None else round(choice.expected, 1),
    }
