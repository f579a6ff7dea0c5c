"""What an engine's record says of the causes: life used, findings, incidents, water, age."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.due.life import months_after
from fleetcare.due.records import OVERDUE, Due
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.waters import Water
from fleetcare.log.history import History, Seen
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.symptoms import Cause, Look, Raise, Symptom, Tracing
from fleetcare.rules.words import Condition
from fleetcare.usage.components import Carriage, Span

Conditions = Mapping[str, Mapping[str, Condition]]
ONE = Fraction(1)
SAME_INCIDENT = 2  # days within which two of one kind are the same one: our design choice


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a cause is more or less likely: what on the record, since when, how often or how long.

    `kind` is life, no record, overdue, finding, incident, job, water, years or idle; `life` the
    life used and `by` the clock that governs it, where it is about a job's life.
    """

    kind: str
    what: str
    factor: Fraction
    life: Fraction | None = None
    by: str = ""
    day: int | None = None
    number: int = 0


@dataclass(frozen=True, slots=True)
class Record:
    """The record of one engine as of a day, each component's along the engines that carried it."""

    as_of: int
    rows: Mapping[str, Due]
    seen: Mapping[str, list[Seen]]
    jobs: Mapping[str, list[int]]
    incidents: tuple[tuple[int, str], ...]
    judged: Mapping[str, str]  # by task, the part it judges
    water: Water
    years: int | None
    last_run: int
    waiting: frozenset[str] = frozenset()  # incidents whose jobs are not all logged

    def has_incident(self, kind: str) -> bool:
        """Whether such an incident waits still, or was logged a day or two ago."""
        lately = any(
            self.as_of - day <= SAME_INCIDENT for day, name in self.incidents if name == kind
        )
        return lately or kind in self.waiting

    def has_finding(self, part: str, condition: str, pieces: int | None) -> bool:
        """Whether that was logged on the very day."""
        now = (self.as_of, condition, pieces)
        return any(
            (item.day, item.condition, item.pieces) == now for item in self.seen.get(part, ())
        )

    def job_since(self, tasks: Iterable[str], day: int) -> bool:
        """Whether one of the jobs was logged on the day or since."""
        return any(done >= day for task in tasks for done in self.jobs.get(task, ()))

    def idle_months(self) -> int:
        """Whole months since it last ran, as far as the record tells."""
        months = 0
        while months < 600 and months_after(self.last_run, months + 1) <= self.as_of:
            months += 1
        return months


def record_of(
    fleet: Fleet, history: History, ruleset: RuleSet, rows: Iterable[Due], engine: str, as_of: date,
    waiting: Iterable[str] = (),
) -> Record:  # fmt: skip
    """Gather the record of an engine known on the day."""
    today = as_of.toordinal()
    carriage = Carriage(fleet, history, today)
    spans = {kind: carriage.under(engine, kind).spans for kind in COMPONENTS}
    parts = {rule.part: rule.component for rule in ruleset.rules.values() if rule.part}
    seen: dict[str, list[Seen]] = {}
    jobs: dict[str, list[int]] = {}
    for kind, along in spans.items():
        for span in along:
            log = history.of(span.engine)
            for item in log.seen:
                if parts.get(item.part) == kind and _within(item.day, span):
                    seen.setdefault(item.part, []).append(item)
            for task, rule in ruleset.rules.items():
                if rule.component == kind:
                    days = [mark.day for mark in log.jobs.get(task, ()) if _within(mark.day, span)]
                    jobs.setdefault(task, []).extend(days)
    known = carriage.known[engine]
    use = carriage.uses[engine]
    ran = use.days_known_to_have_run()
    return Record(
        today,
        {row.task: row for row in rows},
        {part: sorted(items, key=_when) for part, items in seen.items()},
        jobs,
        tuple(sorted(item for item in history.of(engine).incidents if item[0] <= today)),
        {task: rule.part for task, rule in ruleset.rules.items()},
        Water(use.water_on(today)),
        None if known.year is None else as_of.year - known.year,
        max([use.since, *ran]),
        frozenset(waiting),
    )  # fmt: skip


def _when(item: Seen) -> tuple[int, int]:
    return item.day, item.number


def _within(day: int, span: Span) -> bool:
    return day <= span.last and (span.first <= day or span.first == span.use.since)


def recalled(
    symptom: Symptom, tracing: Tracing, record: Record, conditions: Conditions
) -> dict[str, Seen]:
    """By look, the finding on the record that answers it: the part's last one, still waiting."""
    found: dict[str, Seen] = {}
    taken: set[str] = set()
    for look in symptom.looks:
        parts = {outcome.found[0] for outcome in look.outcomes if outcome.found} - taken
        if not look.offered or not look.from_record or not parts:
            continue
        taken |= parts
        items = [record.seen[part][-1] for part in sorted(parts) if record.seen.get(part)]
        waiting = [item for item in items if _waits(item, look, tracing, record, conditions)]
        if waiting:
            found[look.name] = max(waiting, key=_when)
    return found


def _waits(
    item: Seen, look: Look, tracing: Tracing, record: Record, conditions: Conditions
) -> bool:
    """Whether a finding of something wrong is an outcome of the look and nobody has seen to it."""
    condition = conditions.get(item.part, {}).get(item.condition)
    if condition is None or condition.weight == "fine" or record.as_of - item.day > tracing.days:
        return False
    if word_for(look, item.part, item.condition) is None:
        return False
    own = [task for task in condition.follow_up if record.judged.get(task) == item.part]
    return not record.job_since(own or condition.follow_up, item.day)


def word_for(look: Look, part: str, condition: str) -> str | None:
    """The outcome of a look that a finding amounts to."""
    words = [outcome.word for outcome in look.outcomes if outcome.found == (part, condition)]
    return words[0] if words else None


def weigh(
    symptom: Symptom, tracing: Tracing, record: Record, told: Collection[tuple[str, str]] = ()
) -> dict[str, tuple[Fraction, list[Reason]]]:
    """By cause, its share times what the record makes of it, and why.

    `told` are the parts and conditions that count as looks already, and so not once more.
    """
    weights: dict[str, tuple[Fraction, list[Reason]]] = {}
    for cause in symptom.causes:
        reasons = [*_by_life(cause, tracing, record)]
        reasons += [reason for item in cause.raised for reason in _raised(item, record, told)]
        weight = cause.share
        for reason in reasons:
            weight *= reason.factor
        weights[cause.name] = weight, reasons
    return weights


def _by_life(cause: Cause, tracing: Tracing, record: Record) -> list[Reason]:
    """The job that weighs most: by its life used, no record of it, or runs without it."""
    found = [
        reason
        for task in cause.jobs
        if task in record.rows and (reason := _life(record.rows[task], tracing)) is not None
    ]
    if not found:
        return []
    most = max(found, key=lambda reason: reason.factor)
    return [most] if most.factor != ONE else []


def _life(row: Due, tracing: Tracing) -> Reason | None:
    if row.life is None:
        if not row.rule.each_run or row.rule.every_start or row.status != OVERDUE:
            return None
        return Reason("overdue", f"{row.task}: {row.opened}", tracing.overdue)
    factor = [times for life, times in tracing.life if row.life >= life][-1]
    if row.life_used is None:
        return Reason("no record", row.task, max(factor, tracing.no_record), row.life)
    return Reason("life", row.task, factor, row.life, row.governed_by or "", row.last_done_on)


def _raised(item: Raise, record: Record, told: Collection[tuple[str, str]]) -> list[Reason]:
    """The reason that a raise gives, if it is met."""
    if item.by == "water":
        met = record.water.word in item.waters
        return [Reason("water", record.water.word, item.factor)] if met else []
    if item.by == "years":
        met = record.years is not None and record.years >= item.number
        return [Reason("years", "", item.factor, number=record.years or 0)] if met else []
    if item.by == "idle_months":
        months = record.idle_months()
        met = months >= item.number
        return [Reason("idle", "", item.factor, number=months)] if met else []
    days = [
        (day, what)
        for day, what in _days_of(item, record, told)
        if (item.days is None or record.as_of - day <= item.days)
        and not record.job_since(item.until, day)
    ]
    if len(days) < item.times:
        return []
    day, what = max(days)
    return [Reason(item.by, what, item.factor, day=day, number=len(days))]


def _days_of(
    item: Raise, record: Record, told: Collection[tuple[str, str]]
) -> Iterable[tuple[int, str]]:
    if item.by == "job":
        return [(day, item.name) for day in sorted(set(record.jobs.get(item.name, ())))]
    if item.by == "incident":
        return [(day, kind) for day, kind in record.incidents if kind == item.name]
    return [
        (seen.day, f"{seen.part} {seen.condition}" + (f" ({seen.pieces})" if seen.pieces else ""))
        for seen in record.seen.get(item.name, ())
        if seen.condition in item.conditions
        and (item.times > 1 or (seen.part, seen.condition) not in told)
    ]
