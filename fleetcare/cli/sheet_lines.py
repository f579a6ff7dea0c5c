"""The lines of a form that was filled in: which sheet, which engine, what was ticked and found."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleetcare.errors import Fault

DONE = frozenset(("x", "xx", "✓", "✔", "done", "yes"))
NOT_DONE = frozenset(("", "-", "no", "not done"))
_JOB = re.compile(r"\[([^\]]*)\](.*)")
_NUMBER = re.compile(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}")
_MISREAD = str.maketrans("OIL", "011")
_FIELDS = ("found", "count", "note")
_KEYS = ("on", "by", "sheet", "engine", "reading", "also found")


@dataclass(frozen=True, slots=True)
class Said:
    """A text and the line it stands on."""

    where: str
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """A job's line: whether it was done, its task as typed, and the rest."""

    where: str
    done: bool
    pieces: tuple[str, ...]

    def of(self, tasks: Iterable[str]) -> tuple[str, dict[str, str]] | Fault:
        """The task, which may itself hold a |, and what stands in the fields behind it."""
        known = {" ".join(task.split()).casefold() for task in tasks}
        ends = [
            at for at in range(1, len(self.pieces) + 1)
            if " ".join("|".join(self.pieces[:at]).split()).casefold() in known
        ]  # fmt: skip
        end = ends[0] if ends else 1
        task = "|".join(self.pieces[:end]).strip()
        fields: dict[str, str] = {}
        for piece in self.pieces[end:]:
            key, colon, value = piece.partition(":")
            name = key.strip().casefold()
            if "note" in fields:  # the last field: it may hold anything
                fields["note"] += f"|{piece}"
            elif colon and name in _FIELDS and name not in fields:
                fields[name] = value
            elif piece.strip():
                return Fault(
                    self.where, f'"{piece.strip():.40}" is none of {", ".join(_FIELDS)}',
                    "Each stands once, behind a |, such as | found: supple",
                )  # fmt: skip
        return task, {name: " ".join(value.split()) for name, value in fields.items()}


@dataclass(slots=True)
class Block:
    """What was written of one engine's sheet."""

    number: Said
    engine: Said | None = None
    on: Said | None = None
    by: Said | None = None
    reading: Said | None = None
    jobs: list[Line] = field(default_factory=list)
    also: list[Said] = field(default_factory=list)


@dataclass(slots=True)
class Form:
    """A whole form: what holds for all of it, its blocks, what is wrong in it."""

    on: Said | None = None
    by: Said | None = None
    blocks: list[Block] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read_form(text: str, source: str) -> Form:
    """The form out of its text; `source` is what its lines are called by, empty for stdin."""
    form = Form()
    for where, line in _lines(text, source):
        fault = _take(form, where, line)
        if fault is not None:
            form.faults.append(fault)
    if not form.blocks and not form.faults:
        form.faults.append(
            Fault("", "no sheet stands in it", "fleetcare sheet ENGINE --form FILE writes one")
        )
    return form


def _lines(text: str, source: str) -> Iterator[tuple[str, str]]:
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1):
        clean = line.strip()
        if clean and not clean.startswith("#"):
            yield (f"{source}:{number}" if source else f"line {number}"), clean


def _take(form: Form, where: str, line: str) -> Fault | None:
    job = _JOB.fullmatch(line)
    if job:
        return _take_job(form, where, job[1], job[2])
    key, colon, value = line.partition(":")
    name, said = " ".join(key.split()).casefold(), Said(where, value.strip())
    if not colon or name not in _KEYS:
        return Fault(
            where, f'"{line:.40}" is no line of a sheet',
            "Lines begin with [x], [ ], # or one of " + ", ".join(f"{key}:" for key in _KEYS),
        )  # fmt: skip
    if name == "sheet":
        return _begin(form, said)
    place: Form | Block = form.blocks[-1] if form.blocks else form
    if name == "also found" and isinstance(place, Block):
        place.also += [said] if said.text else []
        return None
    if not hasattr(place, name):
        return Fault(where, f"{name}: of which sheet? A line sheet: NUMBER comes first")
    if getattr(place, name) is not None:
        return Fault(where, f"{name}: stands twice", "Keep one of them")
    if said.text:
        setattr(place, name, said)
    return None


def _begin(form: Form, said: Said) -> Fault | None:
    number = said.text.upper().translate(_MISREAD)
    form.blocks.append(Block(Said(said.where, number)))
    if not _NUMBER.fullmatch(number):
        return Fault(
            said.where, f'"{said.text:.20}" is no number of a sheet',
            "It stands on the sheet beside the engine's name, such as 3F7K-M2TX",
        )  # fmt: skip
    for other in form.blocks[:-1]:
        if other.number.text == number:
            first = other.number.where
            return Fault(said.where, f"sheet {number} stands twice (also {first})", "Keep one")
    return None


def _take_job(form: Form, where: str, mark: str, rest: str) -> Fault | None:
    if not form.blocks:
        return Fault(where, "a job of which sheet? A line sheet: NUMBER comes first")
    word = mark.strip().casefold()
    if word not in DONE | NOT_DONE:
        return Fault(where, f'"[{mark:.20}]" is neither', "Write [x] for done, [ ] for not done")
    form.blocks[-1].jobs.append(Line(where, word in DONE, tuple(rest.split("|"))))
    return None


def typed_day(said: Said | None, today: date) -> date | Fault:
    """The day that was written, which cannot lie ahead."""
    from fleetcare.fleet.days import day

    if said is None:
        return Fault("", "on: is missing", "Write the day it was done, on: YYYY-MM-DD")
    found = day(said.text, "on", today)
    if isinstance(found, Fault):
        return Fault(said.where, str(found))
    if found > today:
        return Fault(
            said.where, f"on: {found} lies in the future (today is {today})",
            "Write the day on which it was done",
        )  # fmt: skip
    return found


def part_and_condition(text: str, parts: Sequence[str]) -> tuple[str, str, str] | None:
    """A part, a condition and a count out of one text: impeller vanes missing 2; None without."""
    from fleetcare.fleet.names import folded

    clean = " ".join(text.replace(":", " ").split())
    for part in sorted(parts, key=lambda part: -len(part)):
        length = len(part)
        if folded(clean[:length]) == folded(part) and clean[length : length + 1] in (" ", ""):
            word = clean[length:].strip()
            head, _, tail = word.rpartition(" ")
            return (part, head, tail) if head and tail.isdecimal() else (part, word, "")
    return None
