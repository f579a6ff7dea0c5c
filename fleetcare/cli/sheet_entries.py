"""One engine's block of a form as entries, each that the log does not have yet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from fleetcare.cli.context import Desk, sentence
from fleetcare.cli.many import Sorted, sifted
from fleetcare.errors import Fault
from fleetcare.log.entries import Entry, Finding, Job, Reading

if TYPE_CHECKING:
    from fleetcare.cli.sheet_lines import Block, Form, Line, Said
    from fleetcare.fleet.fleet import Fleet
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.rules.words import Condition
    from fleetcare.store.fetch import Kept
    from fleetcare.store.fleet_file import FleetFile

MOST_PIECES = 999


@dataclass(slots=True)
class Taken:
    """What the form says, engine by engine, and what is wrong with it."""

    good: list[tuple[str, Entry]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    there: list[int] = field(default_factory=list)
    left: list[tuple[str, str, str]] = field(default_factory=list)  # engine, task, why not
    numbers: list[str] = field(default_factory=list)


class Reader:
    """Reads one engine's block into entries."""

    def __init__(
        self, desk: Desk, file: FleetFile, fleet: Fleet, book: RuleBook, form: Form, block: Block,
        engine: str, by: str | None, again: bool,
    ) -> None:  # fmt: skip
        from fleetcare.cli.naming import rules_of
        from fleetcare.cli.sheet_lines import typed_day

        self.desk, self.file, self.book, self.block = desk, file, book, block
        self.engine, self.again = engine, again
        self.ruleset: RuleSet = rules_of(fleet, book, engine)
        signed = block.by or form.by
        self.by = desk.by(fleet, by or (signed.text if signed else None))
        self.on = typed_day(block.on or form.on, desk.today())
        self.mark = f"sheet {block.number.text}"
        self.kept = [
            item for item in file.log(engine) if item.entry is not None and not item.withdrawn
        ]

    def read(self, taken: Taken) -> None:
        """Add what the block says to what was taken."""
        if isinstance(self.on, Fault):
            fault = self.on
            where = fault.where or self.block.number.where
            taken.faults.append(Fault(where, fault.what, fault.mend))
            return
        read = self._reading(self.on)
        reading = None if isinstance(read, Fault) else read
        found: list[tuple[str, Entry]] = [
            *self._jobs(self.on, reading, taken),
            *self._also(self.on, reading, taken),
        ]
        if reading is not None and not any(isinstance(entry, Job) for _, entry in found):
            said = self.block.reading or self.block.number
            found.append((said.where, Reading(**self._line(self.on, reading))))
        if isinstance(read, Fault):  # without its figure nothing of this engine is taken
            taken.faults.append(read)
            return
        for where, entry in found:
            self._once(where, entry, taken)
        taken.numbers.append(self.block.number.text)

    def _reading(self, on: date) -> int | Fault | None:
        """The meter's figure, once the log can hold it."""
        from fleetcare.fleet.figures import hours

        said = self.block.reading
        if said is None:
            return None
        figure = hours(said.text, "reading")
        if isinstance(figure, Fault):
            return Fault(said.where, str(figure))
        probe = Reading(on=on, engine=self.engine, reading=figure)
        wrong = sifted(self.desk, self.file, Sorted([(said.where, probe)], [])).faults
        return wrong[0] if wrong else figure

    def _jobs(
        self, on: date, reading: int | None, taken: Taken
    ) -> Iterator[tuple[str, Job | Finding]]:
        seen: dict[str, str] = {}
        for line in self.block.jobs:
            entry = self._job(line, on, reading, seen, taken)
            if isinstance(entry, Fault):
                taken.faults.append(entry)
            elif entry is not None:
                yield line.where, entry

    def _job(
        self, line: Line, on: date, reading: int | None, seen: dict[str, str], taken: Taken
    ) -> Job | Finding | Fault | None:
        """A job that was done; or what was found although it was not done."""
        from fleetcare.rules.sets import task_of

        read = line.of(self.ruleset.rules)
        if isinstance(read, Fault):
            return read
        typed, fields = read
        task = task_of(self.ruleset, typed)
        if isinstance(task, Fault):
            return Fault(line.where, sentence(str(task)))
        before = seen.setdefault(task, line.where)
        if before != line.where:
            return Fault(line.where, f"{task} stands twice (also {before})", "Keep one of them")
        condition = self._condition(line.where, task, fields)
        if isinstance(condition, Fault):
            return condition
        part, word, count = condition
        note = fields.get("note", "")
        if line.done:
            line_of = self._line(on, reading, note)
            return Job(**line_of, task=task, part=part, condition=word, count=count)
        taken.left.append((self.engine, task, "" if part else note))
        if not part:
            return None
        return Finding(**self._line(on, reading, note), part=part, condition=word, count=count)

    def _condition(
        self, where: str, task: str, fields: dict[str, str]
    ) -> tuple[str, str, int | None] | Fault:
        """The part, the word and the count that a job's line tells."""
        word, count = fields.get("found", ""), fields.get("count", "")
        if not word:
            if count:
                return Fault(where, "count: of what? It goes with found:")
            return "", "", None
        part = self.ruleset.rules[task].part
        if not part:
            mend = "Write it behind also found: with its part"
            return Fault(where, f'"{task}" has no part to judge', mend)
        return self._seen(where, part, word, count)

    def _seen(
        self, where: str, part: str, word: str, count: str
    ) -> tuple[str, str, int | None] | Fault:
        from fleetcare.fleet.figures import count as pieces
        from fleetcare.rules.words import find_condition

        condition: Condition | Fault = find_condition(self.book.conditions, part, word)
        if isinstance(condition, Fault):
            mend = ". ".join(filter(None, (condition.mend, "Other things go behind also found:")))
            return Fault(where, sentence(f"{condition.where}: {condition.what}"), mend)
        if condition.count and not count:
            what = f"how many? count: N goes with {condition.part} {condition.word}"
            return Fault(where, what)
        number = pieces(count, "count") if count else None
        if isinstance(number, Fault) or (number or 0) > MOST_PIECES:
            return Fault(where, f'count: takes a whole number up to {MOST_PIECES}, not "{count}"')
        return condition.part, condition.word, number

    def _also(self, on: date, reading: int | None, taken: Taken) -> Iterator[tuple[str, Finding]]:
        """What else was found, each a line of its own."""
        for said in self.block.also:
            seen = self._also_seen(said)
            if isinstance(seen, Fault):
                taken.faults.append(seen)
                continue
            part, word, count = seen
            line_of = self._line(on, reading)
            yield said.where, Finding(**line_of, part=part, condition=word, count=count)

    def _also_seen(self, said: Said) -> tuple[str, str, int | None] | Fault:
        from fleetcare.cli.sheet_lines import part_and_condition
        from fleetcare.fleet.names import did_you_mean

        read = part_and_condition(said.text, list(self.book.conditions))
        if read is None:
            near = did_you_mean(said.text, self.book.conditions)
            mend = near or f"Parts: {', '.join(self.book.conditions)}"
            return Fault(said.where, f'"{said.text:.40}" begins with no part', mend)
        part, word, count = read
        if not word:
            return Fault(said.where, f"{part}: its condition is missing", self._words(part))
        whole = self._seen(said.where, part, f"{word} {count}".strip(), "") if count else None
        if whole is not None and not isinstance(whole, Fault):
            return whole
        return self._seen(said.where, part, word, count)

    def _words(self, part: str) -> str:
        return f"One of: {', '.join(self.book.conditions[part])}"

    def _line(self, on: date, reading: int | None, note: str = "") -> dict[str, Any]:
        """What all entries of the sheet have; its number stays with each."""
        noted = f"{note}; {self.mark}" if note else self.mark
        return {
            "on": on, "by": self.by, "note": noted, "engine": self.engine, "reading": reading
        }  # fmt: skip

    def _once(self, where: str, entry: Entry, taken: Taken) -> None:
        """Take an entry that the log does not have, from this sheet or otherwise."""
        for item in self.kept:
            other = item.entry
            if other is None or not _same_thing(other, entry):
                continue
            if _of_sheet(other, self.mark):
                if _bare(other) == _bare(entry):
                    taken.there.append(item.number)
                else:
                    taken.faults.append(self._otherwise(where, item, entry))
                return
            if isinstance(entry, Job) and not self.again and _near(other, entry):
                who = f" by {item.by}" if item.by else ""
                what = f"{entry.task} is logged already{who} on {item.on} (entry {item.number})"
                mend = "If it was done twice: --again; else take the line out"
                taken.faults.append(Fault(where, what, mend))
                return
        taken.good.append((where, entry))

    def _otherwise(self, where: str, item: Kept, entry: Entry) -> Fault:
        from fleetcare.show.log_text import entry_words

        said = entry_words(item.entry) if item.entry is not None else ""
        return Fault(
            where, f"{self.mark} said otherwise before: {said} on {item.on} (entry {item.number})",
            f"If this is right: fleetcare undo {item.number}, then again",
        )  # fmt: skip


def _same_thing(one: Entry, other: Entry) -> bool:
    """Whether two entries speak of the same: a job of its task, a finding of its condition."""
    if isinstance(one, Job) and isinstance(other, Job):
        return one.task == other.task
    if isinstance(one, Finding) and isinstance(other, Finding):
        return (one.part, one.condition) == (other.part, other.condition)
    return isinstance(one, Reading) and isinstance(other, Reading)


def _of_sheet(entry: Entry, mark: str) -> bool:
    return re.search(rf"(^|; ){re.escape(mark)}$", entry.note) is not None


def _bare(entry: Entry) -> Entry:
    """What an entry says, whoever wrote it and in whatever words beside it."""
    return replace(entry, number=0, by="", note="")


def _near(one: Entry, other: Entry) -> bool:
    return abs(one.on - other.on) <= timedelta(days=1)
