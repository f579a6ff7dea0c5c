"""Drafts as entries: names as the fleet and the rules write them, each draft in one reading."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, NamedTuple

from fleetcare.errors import Fault, RefusedError
from fleetcare.exchange.asked import Asked
from fleetcare.exchange.cell import plain
from fleetcare.exchange.drafts import Draft
from fleetcare.exchange.synonyms import WATERS
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import folded
from fleetcare.fleet.waters import WORDS, Water, water_of
from fleetcare.log.entries import Entry, Finding, Job, Reading, Run
from fleetcare.log.history import History
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook, task_of
from fleetcare.rules.words import find_condition
from fleetcare.usage.places import Berth, berths

A_DAY, MOST_FUEL = 2400, 10_000_000
_PARTING = re.compile(r"[;,+&/]|\b(?:und|and|et|y|e|en|og|och)\b")  # no spaces: their runs cost


class Resolved(NamedTuple):
    """A row as the entries it comes to, or everything that is wrong with it."""

    place: str
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...] = ()


class _Bad(Exception):
    def __init__(self, fault: Fault) -> None:
        super().__init__(str(fault))
        self.fault = fault


class Resolver:
    """Turns drafts into entries of one fleet, as of today."""

    def __init__(
        self, fleet: Fleet, book: RuleBook, history: History, asked: Asked, today: date
    ) -> None:
        self.fleet, self.book, self.history = fleet, book, history
        self.today = today
        self.said = {folded(theirs): ours for theirs, ours in asked.names}
        self._berths: dict[str, list[tuple[Berth, str]]] | None = None

    def resolve(self, draft: Draft) -> Resolved:
        """The entries of a draft that is not skipped."""
        if draft.faults:
            return Resolved(draft.place, (), tuple(draft.faults))
        try:
            return Resolved(draft.place, tuple(self._entries(draft)))
        except _Bad as bad:
            return Resolved(draft.place, (), (bad.fault,))

    def _entries(self, draft: Draft) -> list[Entry]:
        on = draft.on
        if on is None:
            raise TypeError("a draft without faults has its day")
        if on > self.today:
            what = f"{on.isoformat()} lies in the future"
            raise _Bad(Fault(draft.columns["on"], what, "Is the clock right?"))
        engine = self._engine(draft, on)
        entries = self._made(draft, on, engine)
        if on < engine.since and not all(isinstance(entry, Job) for entry in entries):
            what = f'"{engine.name}" is known since {engine.since} only, and this lies before'
            mend = "Only jobs are taken from before that day."
            raise _Bad(Fault(draft.columns["on"], what, mend))
        return entries

    def _made(self, draft: Draft, on: date, engine: Engine) -> list[Entry]:
        base: dict[str, Any] = {"on": on, "by": draft.by, "note": draft.note, "engine": engine.name}
        reading = self._reading(draft, engine)
        entries: list[Entry] = []
        if draft.task:
            entries += self._jobs(draft, engine, base, reading)
            base, reading = {**base, "note": ""}, None
        if draft.hours is not None or draft.fuel is not None:
            entries.append(self._run(draft, base, reading))
        elif not draft.task and draft.condition:
            entries.append(self._finding(draft, base, reading))
        elif not draft.task and reading is not None:
            entries.append(Reading(**base, reading=reading))
        if not entries:
            raise _Bad(Fault("", "holds neither a figure nor a job"))
        return entries

    # -- names ----------------------------------------------------------------------------------

    def _as_said(self, text: str) -> str:
        return self.said.get(folded(text), text)

    def _engine(self, draft: Draft, on: date) -> Engine:
        column = "engine" if draft.engine else "boat"
        text = self._as_said(getattr(draft, column))
        where = draft.columns.get(column, "")
        if column == "engine" and self.fleet.has_engine(text):
            return self.fleet.engine(text)
        if self.fleet.has_boat(text):
            return self._carried(self.fleet.boat(text).name, on, where)
        pieces = _parted(text)
        known = [piece for piece in pieces if self.fleet.has_engine(piece)]
        if len(pieces) > 1 and len(known) == len(pieces):
            raise _Bad(Fault(where, f'"{text:.60}" names {len(known)} engines', "One row each."))
        find = self.fleet.engine if column == "engine" else self.fleet.boat
        try:
            find(text)
        except RefusedError as error:
            what, _, hint = str(error).partition(". ")
            raise _Bad(Fault(where, what, f"{hint} {_as_hint(text, hint)}".strip())) from error
        raise TypeError("an unknown name is refused")

    def _carried(self, boat: str, on: date, where: str) -> Engine:
        """The one engine that a boat carried on a day."""
        day = on.toordinal()
        found = [
            name for stay, name in self._by_boat().get(boat, []) if stay.first <= day <= stay.last
        ]
        if len(found) == 1:
            return self.fleet.engines[found[0]]
        if found:
            names = " and ".join(f'"{name}"' for name in found)
            raise _Bad(Fault(where, f'boat "{boat}" carried {names}', "Name the engine."))
        what = f'the fleet knows of no engine on boat "{boat}" on {on.isoformat()}'
        raise _Bad(Fault(where, what, "Name the engine, or --as BOAT=ENGINE."))

    def carried_by(self, boat: str) -> set[str]:
        """The engines that a boat ever carried."""
        text = self._as_said(boat)
        if not self.fleet.has_boat(text):
            return set()
        return {name for _, name in self._by_boat().get(self.fleet.boat(text).name, [])}

    def is_elsewhere(self, draft: Draft, engine: str) -> bool:
        """Whether a row names a boat of the fleet that did not carry its engine that day."""
        text = self._as_said(draft.boat)
        if draft.on is None or not draft.engine or not self.fleet.has_boat(text):
            return False
        day, stays = draft.on.toordinal(), self._by_boat().get(self.fleet.boat(text).name, [])
        if draft.on < self.fleet.engines[engine].since:
            return False  # where it was then the fleet does not know
        return not any(name == engine and stay.first <= day <= stay.last for stay, name in stays)

    def _by_boat(self) -> dict[str, list[tuple[Berth, str]]]:
        if self._berths is None:
            self._berths = {}
            for engine in self.fleet.engines.values():
                for stay in berths(engine, self.history):
                    if stay.boat is not None:
                        self._berths.setdefault(stay.boat, []).append((stay, engine.name))
        return self._berths

    def _rules(self, engine: Engine) -> RuleSet:
        return self.book.set_of(engine.rules or self.fleet.settings.rules)

    def _tasks(self, draft: Draft, engine: Engine) -> list[str]:
        """The tasks that a cell names: one, or several parted by commas and the like."""
        ruleset = self._rules(engine)
        text = self._as_said(draft.task)
        whole = task_of(ruleset, text)
        if isinstance(whole, str):
            return [whole]
        found = []
        pieces = _parted(text)
        for piece in pieces:
            task = task_of(ruleset, self._as_said(piece))
            if isinstance(task, Fault):
                bad = task if len(pieces) > 1 else whole
                mend = " ".join((bad.mend, _as_hint(piece, bad.mend)))
                raise _Bad(Fault(draft.columns["task"], f"{bad.where} {bad.what}", mend))
            found.append(task)
        return list(dict.fromkeys(found))

    # -- what it says ---------------------------------------------------------------------------

    def _reading(self, draft: Draft, engine: Engine) -> int | None:
        never = not engine.meter and not self.history.of(engine.name).meters
        if draft.reading is not None and never:
            what = f'"{engine.name}" has no meter that could read anything'
            mend = 'Are these hours run? --map hours="HEADING" says so.'
            raise _Bad(Fault(draft.columns["reading"], what, mend))
        return draft.reading

    def _run(self, draft: Draft, base: dict[str, Any], reading: int | None) -> Run:
        where = next((draft.columns[item] for item in ("hours", "minutes", "out", "fuel")
                      if item in draft.columns), "")  # fmt: skip
        if (draft.hours or 0) > A_DAY:
            what = f"{shown(draft.hours or 0)} h on one day, which has 24"
            mend = 'Is it the meter\'s figure? --map reading="HEADING" says so.'
            raise _Bad(Fault(where, what, mend))
        if (draft.fuel or 0) > MOST_FUEL:
            raise _Bad(Fault(draft.columns["fuel"], "is more fuel than a day can burn"))
        return Run(
            **base, hours=draft.hours, fuel=draft.fuel if draft.hours is None else None,
            water=self._water(draft), reading=reading, hire_time=draft.hire_time,
        )  # fmt: skip

    def _water(self, draft: Draft) -> Water | None:
        if not draft.water:
            return None
        text = self._as_said(draft.water)
        water = water_of(WATERS.get(plain(text), text))
        if water is None:
            known = f"One of {', '.join(WORDS)}."
            raise _Bad(Fault(draft.columns["water"], f'"{text:.40}" is no water', known))
        return water

    def _jobs(
        self, draft: Draft, engine: Engine, base: dict[str, Any], reading: int | None
    ) -> list[Entry]:
        ruleset = self._rules(engine)
        tasks = self._tasks(draft, engine)
        jobs = [Job(**base, task=task, reading=reading) for task in tasks]
        if not draft.condition:
            return [*jobs]
        seen: list[Entry] = []
        faults: list[Fault] = []
        for job in jobs:
            part = draft.part or ruleset.rules[job.task].part
            found = self._condition(draft, part) if part else Fault("", "")
            if isinstance(found, Fault):
                faults.append(found)
                seen.append(job)
            else:
                seen.append(replace(job, part=found[0], condition=found[1], count=found[2]))
        if len(faults) == len(jobs):
            fault = next((item for item in faults if item.what), None)
            what = f'"{jobs[0].task}" has no part to judge'
            raise _Bad(fault or Fault(draft.columns["condition"], what, _as_note(draft)))
        return seen

    def _condition(self, draft: Draft, part: str) -> tuple[str, str, int | None] | Fault:
        word = self._as_said(draft.condition)
        found = find_condition(self.book.conditions, self._as_said(part), word)
        where = draft.columns["condition"]
        if isinstance(found, Fault):
            return Fault(where, f"{found.where} {found.what}", f"{found.mend}. {_as_note(draft)}")
        if found.count and draft.count is None:
            return Fault(where, f'"{found.word}" needs how many', "A column count says so.")
        name = next(item for item in self.book.conditions if folded(item) == folded(part))
        return name, found.word, draft.count

    def _finding(self, draft: Draft, base: dict[str, Any], reading: int | None) -> Finding:
        if not draft.part:
            where = draft.columns["condition"]
            raise _Bad(Fault(where, "is a finding without a part or a job", _as_note(draft)))
        found = self._condition(draft, draft.part)
        if isinstance(found, Fault):
            raise _Bad(found)
        part, word, count = found
        return Finding(**base, part=part, condition=word, count=count, reading=reading)


def _parted(text: str) -> list[str]:
    """The names in a cell that may hold several."""
    return [piece.strip() for piece in _PARTING.split(text) if piece.strip()]


def _as_hint(text: str, near: str) -> str:
    """How to say which name is meant; only the person may."""
    match = re.search(r'Did you mean "([^"]*)"', near)
    return f'--as "{text:.60}={match[1]}" says so.' if match else f'Or --as "{text:.60}=NAME".'


def _as_note(draft: Draft) -> str:
    return f'To keep it as a note: --map note="{draft.columns["condition"]}"'


def facts(entry: Entry) -> tuple[object, ...]:
    """What an entry says, but not who wrote it and what else they said."""
    return (
        type(entry).__name__,
        *(
            getattr(entry, name)
            for name in entry.__dataclass_fields__
            if name not in ("number", "by", "note")
        ),
    )


def whole(entries: Sequence[Entry]) -> tuple[object, ...]:
    """Everything a row's entries say."""
    return tuple((*facts(entry), entry.by, entry.note) for entry in entries)
