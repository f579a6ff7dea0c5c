"""Findings and incidents that still stand: the jobs they ask for have not been logged since."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from fleetcare.due.rows import rules_for
from fleetcare.fleet.days import spoken
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import EngineLog, History, Seen
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook


@dataclass(frozen=True, slots=True)
class Standing:
    """A finding or incident that waits: what and when in words, the jobs wanted, if it holds."""

    engine: str
    day: int
    what: str
    wanted: tuple[str, ...]
    holds: bool
    by: str = ""
    lifts: str = ""

    def words(self, beside: date) -> str:
        """What and when, as a person says it."""
        return f"{self.what}, {spoken(date.fromordinal(self.day), beside)}"


def standing(fleet: Fleet, history: History, book: RuleBook) -> dict[str, list[Standing]]:
    """By engine, every finding and incident that still stands, those that hold first."""
    found: dict[str, list[Standing]] = {}
    for name, engine in fleet.engines.items():
        log = history.engines.get(name)
        if log is None or log.retired is not None or not (log.seen or log.incidents):
            continue
        ruleset = book.set_of(engine.rules or fleet.settings.rules)
        fits = tasks_that_fit(ruleset, engine)
        items = [*_findings(name, log, book, fits), *_incidents(name, log, book, fits)]
        if items:
            found[name] = sorted(items, key=lambda item: (not item.holds, item.day, item.what))
    return found


def tasks_that_fit(ruleset: RuleSet, engine: Engine) -> set[str]:
    """The tasks an engine can have, looks at every start included."""
    listed = {rule.name for rule, _ in rules_for(ruleset, engine)}
    looks = {
        rule.name
        for rule in ruleset.rules.values()
        if rule.every_start and rule.name not in engine.without and rule.fits.engine(engine)
    }
    return listed | looks


def _still_wanted(
    log: EngineLog, tasks: Iterable[str], fits: Collection[str], day: int
) -> list[str]:
    """The tasks that fit and have no job from the day on."""
    return [
        task
        for task in tasks
        if task in fits and not any(mark.day >= day for mark in log.jobs.get(task, ()))
    ]


def _findings(
    name: str, log: EngineLog, book: RuleBook, fits: Collection[str]
) -> Iterable[Standing]:
    for at, seen in enumerate(log.seen):
        condition = book.conditions.get(seen.part, {}).get(seen.condition)
        if condition is None or condition.weight not in ("act", "stop"):
            continue
        asked = [task for task in condition.follow_up if task in fits]
        wanted = _still_wanted(log, asked, fits, seen.day)
        if not wanted and (asked or _seen_fine_since(log.seen[at + 1 :], seen, book)):
            continue
        pieces = f" ({seen.pieces})" if seen.pieces else ""
        yield Standing(
            name, seen.day, f"{seen.part} {seen.condition}{pieces}", tuple(wanted),
            condition.weight == "stop", seen.by, condition.lifts,
        )  # fmt: skip


def _seen_fine_since(later: list[Seen], seen: Seen, book: RuleBook) -> bool:
    words = book.conditions[seen.part]
    return any(
        item.part == seen.part
        and item.condition in words
        and words[item.condition].weight == "fine"
        for item in later
    )


def _incidents(
    name: str, log: EngineLog, book: RuleBook, fits: Collection[str]
) -> Iterable[Standing]:
    for day, kind in log.incidents:
        incident = book.incidents.get(kind)
        if incident is None:
            continue
        wanted = _still_wanted(log, incident.holds_until, fits, day)
        if wanted:
            yield Standing(name, day, kind, tuple(wanted), True)
