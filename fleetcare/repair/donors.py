"""What the record says of the components that sound engines could be made of."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.followups import FollowUps, Standing
from fleetcare.due.joints import months_before
from fleetcare.due.records import Due
from fleetcare.due.rows import fitting_tasks
from fleetcare.fleet.components import COMPONENTS
from fleetcare.log.history import Seen
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import NOT_LOOKED_AT
from fleetcare.usage.components import Carriage, ComponentUse

GOOD, FAIR, UNKNOWN, BAD, MISSING, NEW = "good", "fair", "not known", "bad", "missing", "new"
CONDITIONS = (GOOD, FAIR, UNKNOWN, BAD, MISSING)
LOOKED_WITHIN = 24  # months: our design choice


@dataclass(frozen=True, slots=True)
class State:
    """A component's condition in one word, what says so, and the parts seen fine of late."""

    word: str
    because: str
    fine: frozenset[str] = frozenset()


def states_of(
    carriage: Carriage, book: RuleBook, ruleset: RuleSet, rows: Iterable[Due],
    engines: Sequence[str],
) -> dict[tuple[str, str], State]:  # fmt: skip
    """The condition of every component of some engines, as the record has it."""
    by_place: dict[tuple[str, str], list[Due]] = {}
    for row in rows:
        by_place.setdefault((row.engine, row.rule.component), []).append(row)
    waiting: dict[tuple[str, str], list[Standing]] = {}
    for engine in engines:
        fits = fitting_tasks(ruleset, carriage.known[engine])
        for item in FollowUps(carriage, engine, ruleset, book, fits).standing():
            waiting.setdefault((engine, item.component), []).append(item)
    return {
        (engine, kind): _state(
            carriage, book, ruleset, carriage.under(engine, kind),
            by_place.get((engine, kind), []), waiting.get((engine, kind), []),
        )
        for engine in engines
        for kind in COMPONENTS
    }  # fmt: skip


def _state(
    carriage: Carriage, book: RuleBook, ruleset: RuleSet, component: ComponentUse,
    rows: list[Due], standing: list[Standing],
) -> State:  # fmt: skip
    """One component: what was found of it and still waits, else what was seen fine of late."""
    today = date.fromordinal(carriage.as_of)
    looks = _looks(carriage, ruleset, component)
    stop = [_waits(item) for item in standing if item.holds]
    act = [_waits(item) for item in standing if not item.holds]
    fine: dict[str, Seen] = {}
    for seen in looks:
        condition = book.conditions.get(seen.part, {}).get(seen.condition)
        if condition is None:
            continue
        fine.pop(seen.part, None)
        if condition.weight == "fine":
            fine[seen.part] = seen
    act += _incidents(carriage, book, ruleset, component)
    late = [f"{row.task} {row.status}" for row in rows if row.is_precursor]
    recent = [one for one in fine.values() if one.day >= months_before(today, LOOKED_WITHIN)]
    parts = frozenset(one.part for one in recent)
    if stop:
        return State(BAD, "; ".join(stop), parts)
    if act:
        return State(FAIR, "; ".join(act), parts)
    if recent:
        last = max(recent, key=lambda one: (one.day, one.number))
        return State(FAIR if late else GOOD, "; ".join([_told(last), *late[:2]]), parts)
    return State(UNKNOWN, "; ".join(["not looked at", *late[:2]]))


def _waits(item: Standing) -> str:
    return f"{item.what}, {date.fromordinal(item.day).isoformat()}"


def _told(seen: Seen) -> str:
    return f"{seen.part} {seen.condition}, {date.fromordinal(seen.day).isoformat()}"


def _looks(carriage: Carriage, ruleset: RuleSet, component: ComponentUse) -> list[Seen]:
    """Every look at a component's parts, on whichever engine it was then, in order."""
    kind = component.component.kind
    parts = {rule.part for rule in ruleset.rules.values() if rule.component == kind and rule.part}
    found = [
        seen
        for span in component.spans
        for seen in carriage.history.of(span.engine).seen
        if seen.part in parts
        and span.first <= seen.day <= span.last
        and seen.condition != NOT_LOOKED_AT
    ]
    return sorted(found, key=lambda seen: (seen.day, seen.number))


def _incidents(
    carriage: Carriage, book: RuleBook, ruleset: RuleSet, component: ComponentUse
) -> list[str]:
    """What happened to a component and asks for a job on it that was not done since."""
    kind, found = component.component.kind, []
    for span in component.spans:
        for day, name in carriage.history.of(span.engine).incidents:
            incident = book.incidents.get(name)
            if incident is None or not span.first <= day <= span.last:
                continue
            undone = [
                task
                for task in incident.holds_until
                if task in ruleset.rules
                and ruleset.rules[task].component == kind
                and not _answered(carriage, component, [task], day)
            ]
            if undone:
                told = f"{name}, {date.fromordinal(day).isoformat()}"
                found.append(f"{told}, without {', '.join(undone)} since")
    return found


def _answered(
    carriage: Carriage, component: ComponentUse, tasks: Collection[str], day: int
) -> bool:
    """Whether every one of these jobs was done on a component since a day."""
    return bool(tasks) and all(
        any(
            mark.day >= day and span.first <= mark.day <= span.last
            for span in component.spans
            for mark in carriage.history.of(span.engine).jobs.get(task, ())
        )
        for task in tasks
    )
