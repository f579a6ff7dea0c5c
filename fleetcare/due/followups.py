"""What was found or happened and still waits: the jobs wanted, whether it holds the engine.

A finding belongs to the component that its engine carried on that day, and moves with it. The
jobs it asks for are answered by jobs of their own on that component, and where a proof is named
(pieces found, a strong stream seen, a pressure that holds) only once the proof is logged too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from fleetcare.fleet.days import spoken
from fleetcare.fleet.said import Said
from fleetcare.log.history import EngineLog, History, JobMark, Seen
from fleetcare.rules.rule import Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import Condition, Proof
from fleetcare.usage.components import Carriage, ComponentUse, Span

# A yearly renewal of an engine that hardly ran is no sign of anything: our design choice.
HOURS_WITHIN = 183
ACT_WITHIN = 14  # days until a follow-up of weight act is overdue: our design choice


@dataclass(frozen=True, slots=True)
class Standing:
    """A finding or incident that waits: what and when in words, the jobs wanted, if it holds.

    `proof` says what is to be seen beside the jobs, `lifts` the same at length. A finding names
    the kind of component that its part belongs to.
    """

    engine: str
    day: int
    what: str
    wanted: tuple[str, ...]
    holds: bool
    by: str = ""
    lifts: str = ""
    proof: str = ""
    incident: str = ""
    component: str = ""

    def words(self, beside: date) -> str:
        """What and when, as a person says it."""
        return f"{self.what}, {spoken(date.fromordinal(self.day), beside)}"

    @property
    def overdue_from(self) -> int:
        """The first day on which what it wants is overdue."""
        return self.day if self.holds else self.day + ACT_WITHIN + 1


@dataclass(slots=True)
class _Found:
    """One finding with the condition as it counts here, gathered over the components."""

    seen: Seen
    condition: Condition
    stop: bool
    tasks: tuple[str, ...]
    lifts: str
    wanted: dict[str, None] = field(default_factory=dict)
    unproved: bool = False
    stands: bool = False


class FollowUps:
    """What still waits on the components that one engine carries now."""

    def __init__(
        self, carriage: Carriage, engine: str, ruleset: RuleSet, book: RuleBook,
        fits: Collection[str],
    ) -> None:  # fmt: skip
        self.carriage, self.engine, self.fits = carriage, engine, fits
        self.rules: Mapping[str, Rule] = ruleset.rules
        self.book = book
        self.kinds = {rule.part: rule.component for rule in self.rules.values() if rule.part}

    def standing(self) -> list[Standing]:
        """Everything that stands, what holds first."""
        if not self._concerned():
            return []
        items = [*self._findings(), *self._incidents(), *self._soon_again()]
        return sorted(items, key=lambda item: (not item.holds, item.day, item.what))

    def _concerned(self) -> bool:
        """Whether anything was found, happened or was done twice on what it carries."""
        return any(
            log.seen or log.incidents or any(len(marks) > 1 for marks in log.jobs.values())
            for log in (self._log(name) for name in self._carriers())
        )

    def _carriers(self) -> set[str]:
        if self.carriage.is_alone(self.engine):
            return {self.engine}
        return {span.engine for kind in self._all_kinds() for span in self._under(kind).spans}

    def _all_kinds(self) -> list[str]:
        return list(dict.fromkeys(rule.component for rule in self.rules.values()))

    def _under(self, kind: str) -> ComponentUse:
        return self.carriage.under(self.engine, kind)

    def _log(self, engine: str) -> EngineLog:
        return self.carriage.history.of(engine)

    # -- findings -------------------------------------------------------------------------------

    def _findings(self) -> Iterator[Standing]:
        found: dict[tuple[str, int], _Found] = {}
        for kind in self._all_kinds():
            component = self._under(kind)
            for span in component.spans:
                for seen in self._log(span.engine).seen:
                    if _within(span, component, seen.day):
                        self._look(found, span.engine, seen, kind, component)
        for (_, _), item in found.items():
            if not (item.wanted or item.stands or item.unproved):
                continue
            pieces = f" ({item.seen.pieces})" if item.seen.pieces else ""
            yield Standing(
                self.engine, item.seen.day, f"{item.seen.part} {item.seen.condition}{pieces}",
                tuple(task for task in item.tasks if task in item.wanted), item.stop,
                item.seen.by, item.lifts, _proof_words(item),
                component=self.kinds.get(item.seen.part, ""),
            )  # fmt: skip

    def _look(
        self, found: dict[tuple[str, int], _Found], engine: str, seen: Seen, kind: str,
        component: ComponentUse,
    ) -> None:  # fmt: skip
        condition = self.book.conditions.get(seen.part, {}).get(seen.condition)
        if condition is None or condition.weight not in ("act", "stop"):
            return
        item = found.get((engine, seen.number))
        if item is None:
            item = found[engine, seen.number] = self._weighed(seen, condition)
        for task in item.tasks:
            if self.rules[task].component == kind and not self._answered(item, task, component):
                item.wanted[task] = None
        if self.kinds.get(seen.part, kind) == kind:
            item.stands = item.stands or not (item.tasks or self._fine_since(seen, component))
        for group in condition.proof:
            if self._kind_of(group) == kind and not self._proved(group, seen, component):
                item.unproved = True

    def _weighed(self, seen: Seen, condition: Condition) -> _Found:
        """The condition as it counts: one met twice within its days is worse than once."""
        stop, tasks, lifts = condition.weight == "stop", condition.follow_up, condition.lifts
        twice = condition.twice
        if twice is not None and self._met_before(seen, twice.days):
            stop, lifts = True, twice.lifts
            tasks = (*tasks, *(task for task in twice.follow_up if task not in tasks))
        fitting = tuple(task for task in tasks if task in self.fits)
        return _Found(seen, condition, stop, fitting, lifts)

    def _met_before(self, seen: Seen, days: int) -> bool:
        component = self._under(self.kinds.get(seen.part, self._all_kinds()[0]))
        words = self.book.conditions[seen.part]
        return any(
            other.part == seen.part
            and 0 < seen.day - other.day <= days
            and other.condition in words
            and words[other.condition].weight in ("act", "stop")
            for span in component.spans
            for other in self._log(span.engine).seen
            if _within(span, component, other.day)
        )

    def _answered(self, item: _Found, task: str, component: ComponentUse) -> bool:
        """Whether the task was done since, and its proof seen where its part is to prove it."""
        done = any(
            self._is_later(mark, item) and not self._undone(mark, span.engine)
            for span in component.spans
            for mark in self._log(span.engine).jobs.get(task, ())
            if _within(span, component, mark.day)
        )
        part = self.rules[task].part
        return done and all(
            self._proved(group, item.seen, component)
            for group in item.condition.proof
            if any(wanted == part for wanted, _ in group)
        )

    def _is_later(self, mark: JobMark, item: _Found) -> bool:
        """Jobs come last in a day; but some findings their own job does not answer."""
        if mark.day != item.seen.day:
            return mark.day > item.seen.day
        return not (item.condition.again and item.seen.task) or mark.number > item.seen.number

    def _undone(self, mark: JobMark, engine: str) -> bool:
        return mark.number in self.carriage.undone.get(engine, ())

    def _proved(self, group: Proof, seen: Seen, component: ComponentUse) -> bool:
        pieces = 0
        for span in component.spans:
            for other in self._log(span.engine).seen:
                if (other.part, other.condition) not in group or not _after(other, seen):
                    continue
                if not _within(span, component, other.day):
                    continue
                if not self.book.conditions[other.part][other.condition].count:
                    return True
                pieces += other.pieces or 0
        return bool(pieces) and pieces >= (seen.pieces or 1)

    def _kind_of(self, group: Proof) -> str:
        return next((self.kinds[part] for part, _ in group if part in self.kinds), "")

    def _fine_since(self, seen: Seen, component: ComponentUse) -> bool:
        words = self.book.conditions[seen.part]
        return any(
            other.part == seen.part
            and _after(other, seen)
            and other.condition in words
            and words[other.condition].weight == "fine"
            for span in component.spans
            for other in self._log(span.engine).seen
        )

    # -- incidents, and jobs done again too soon --------------------------------------------------

    def _incidents(self) -> Iterator[Standing]:
        waiting: dict[tuple[int, str], dict[str, None]] = {}
        for kind in self._all_kinds():
            component = self._under(kind)
            for span in component.spans:
                for day, name in self._log(span.engine).incidents:
                    incident = self.book.incidents.get(name)
                    if incident is None or not _within(span, component, day):
                        continue
                    for task in incident.holds_until:
                        if task not in self.fits or self.rules[task].component != kind:
                            continue
                        if not self._done_from(task, day, component):
                            waiting.setdefault((day, name), {})[task] = None
        for (day, name), tasks in waiting.items():
            order = self.book.incidents[name].holds_until
            wanted = tuple(task for task in order if task in tasks)
            yield Standing(self.engine, day, name, wanted, True, incident=name)

    def _done_from(self, task: str, day: int, component: ComponentUse) -> bool:
        return any(
            mark.day >= day and not self._undone(mark, span.engine)
            for span in component.spans
            for mark in self._log(span.engine).jobs.get(task, ())
            if _within(span, component, mark.day)
        )

    def _soon_again(self) -> Iterator[Standing]:
        """A part renewed again so soon: what wore the first may still be in there."""
        for rule in self.rules.values():
            again = rule.soon_again
            if again is None or rule.name not in self.fits:
                continue
            component = self._under(rule.component)
            marks = sorted(self._marks(rule.name, component), key=lambda made: made[0])
            for (first, there), (second, here) in pairwise(marks):
                if first.day == second.day or not (
                    second.day - first.day <= again.days
                    or self._hardly_ran(again.hours, component, (first, there), (second, here))
                ):
                    continue
                wanted = tuple(
                    task for task in again.holds_until
                    if task in self.fits and self._wants(task, second)
                )  # fmt: skip
                if wanted:
                    what = Said(
                        "{task} twice within {count} day", "{task} twice within {count} days",
                        task=rule.name, count=second.day - first.day,
                    )  # fmt: skip
                    yield Standing(self.engine, second.day, what, wanted, True, lifts=again.lifts)

    def _wants(self, task: str, mark: JobMark) -> bool:
        """Whether no job of the task followed, on the day itself as a job of its own."""
        component = self._under(self.rules[task].component)
        return not self._done_from(task, mark.day, component)

    def _marks(self, task: str, component: ComponentUse) -> Iterator[tuple[JobMark, str]]:
        for span in component.spans:
            for mark in self._log(span.engine).jobs.get(task, ()):
                if _within(span, component, mark.day):
                    yield mark, span.engine

    def _hardly_ran(
        self, hours: int, component: ComponentUse, first: tuple[JobMark, str],
        second: tuple[JobMark, str],
    ) -> bool:  # fmt: skip
        """Whether it ran no more than so much between two jobs, by their figures if they have."""
        (one, there), (other, here) = first, second
        if other.day - one.day > HOURS_WITHIN:
            return False
        if one.reading is not None and other.reading is not None and there == here:
            figure = self.carriage.uses[here].closes.figure
            return figure(other.day, other.reading) - figure(one.day, one.reading) <= hours
        ran = component.mix(one.day, other.day - 1, self.carriage.as_of)
        return ran[0] + ran[1] + ran[2] <= hours


def undone_jobs(log: EngineLog, book: RuleBook) -> frozenset[int]:
    """Numbers of the jobs that what was found with them says were not done."""
    if not log.seen:
        return frozenset()
    return frozenset(
        seen.number
        for seen in log.seen
        if seen.task
        and (condition := book.conditions.get(seen.part, {}).get(seen.condition)) is not None
        and condition.undone
    )


def undone_by_engine(history: History, book: RuleBook) -> dict[str, frozenset[int]]:
    """By engine, the jobs that do not count as done; engines without any are left out."""
    if not book.conditions:
        return {}
    found = {name: undone_jobs(log, book) for name, log in history.engines.items() if log.seen}
    return {name: numbers for name, numbers in found.items() if numbers}


def _within(span: Span, component: ComponentUse, day: int) -> bool:
    """Whether a day of an engine's log is one on which it carried the component."""
    if span is component.spans[0] and day < span.first:
        return span.engine == component.spans[0].engine and day < component.known_from
    return span.first <= day <= span.last


def _after(other: Seen, seen: Seen) -> bool:
    return (other.day, other.number) > (seen.day, seen.number)


def _proof_words(item: _Found) -> str:
    if not item.unproved:
        return ""
    told = []
    for group in item.condition.proof:
        parts: dict[str, list[str]] = {}
        for part, word in group:
            parts.setdefault(part, []).append(word)
        told.append(" or ".join(f"{part} {' or '.join(words)}" for part, words in parts.items()))
    return ", and ".join(told)
