"""What coming jobs use up: by item and day, each visit's access once.

A job stands on its day in the kept plan, else on the day it is due; what is overdue or has no
record is wanted today. Repeats within the horizon are counted where limits bring them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.life import months_after
from fleetcare.due.records import NO_RECORD, OVERDUE, Due
from fleetcare.due.triggers import ANSWERS_BEFORE
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.plan.records import Plan
from fleetcare.rules.bench import access_steps
from fleetcare.rules.rule import PRECURSOR_HARMS, RuleSet
from fleetcare.rules.words import Use as BoatUse
from fleetcare.usage.components import Carriage
from fleetcare.usage.outlooks import LAUNCH_AFTER, Forecast

MIDDLE = 0.5

SetOf = Callable[[str], RuleSet]
Again = Callable[[Due, int], int | None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A job on the day it is wanted.

    `leads_to` is overheating or a seized swivel, empty where skipping it leads to neither.
    `planned` when a kept plan says the day; `again` when it is a repeat within the horizon.
    """

    engine: str
    task: str
    day: int
    leads_to: str
    planned: bool
    again: bool = False


@dataclass(frozen=True, slots=True)
class Use:
    """Pieces of one item that one engine uses up on one day, and the jobs that call for them.

    `leads_to` is overheating or a seized swivel, where skipping one of these jobs leads there.
    """

    item: str
    day: int
    count: int
    engine: str
    jobs: tuple[str, ...]
    leads_to: str = ""

    @property
    def is_precursor(self) -> bool:
        """Whether one of the jobs leads to overheating or a seized swivel when skipped."""
        return bool(self.leads_to)


@dataclass(frozen=True, slots=True)
class Ahead:
    """How far to look from which day, and what decides the days.

    `winters` are, of laid-up engines, the days of lay-up and of the launch to come. Engines in
    store count only with `in_store`, or where the plan has a visit for them. `again` says when a
    job comes round.
    """

    as_of: int
    last: int
    plan: Plan | None = None
    winters: Mapping[str, tuple[int, int]] | None = None
    in_store: bool = False
    again: Again | None = None


def wanted_jobs(rows: Iterable[Due], ahead: Ahead) -> list[Wanted]:
    """Every job wanted from today to the last day, by day, engine and the order of the rows."""
    planned = _planned(ahead.plan)
    found: list[Wanted] = []
    for row in rows:
        day = _planned_day(row, planned, ahead)
        is_planned = day is not None
        if day is None:
            if row.boat is None and not ahead.in_store:
                continue
            day = _due_day(row, ahead)
        if day is None or day > ahead.last:
            continue
        harm = next((harm for harm in row.rule.leads_to if harm in PRECURSOR_HARMS), "")
        found.append(Wanted(row.engine, row.task, day, harm, is_planned))
        for later in _repeats(row, day, ahead):
            found.append(Wanted(row.engine, row.task, later, harm, False, again=True))
    return sorted(found, key=lambda job: (job.day, job.engine))


def left_in_store(rows: Iterable[Due], ahead: Ahead) -> list[str]:
    """The engines in store whose jobs within the horizon are not counted."""
    planned = _planned(ahead.plan)
    if ahead.in_store:
        return []
    return list(
        dict.fromkeys(
            row.engine
            for row in rows
            if row.boat is None
            and _planned_day(row, planned, ahead) is None
            and (_due_day(row, ahead) or ahead.last + 1) <= ahead.last
        )
    )


def _planned(plan: Plan | None) -> dict[tuple[str, str], int]:
    """The day of each job of a plan."""
    if plan is None:
        return {}
    return {
        (visit.engine, task): day.on
        for day in plan.days
        for visit in day.visits
        for task in visit.tasks
    }


def _planned_day(row: Due, planned: Mapping[tuple[str, str], int], ahead: Ahead) -> int | None:
    """The plan's day; None when it passed unused, the job was done since, or is not planned."""
    day = planned.get((row.engine, row.task))
    if day is None or ahead.plan is None or day < ahead.as_of:
        return None
    if row.last_done_on is not None and row.last_done_on >= ahead.plan.first:
        return None
    return day


def _due_day(row: Due, ahead: Ahead) -> int | None:
    if row.status in (OVERDUE, NO_RECORD):
        day = ahead.as_of
    elif row.due_on is None:
        return None
    else:
        day = max(row.due_on, ahead.as_of)
    if row.put_off_until is not None and not row.is_precursor:
        day = max(day, row.put_off_until)
    winter = (ahead.winters or {}).get(row.engine)
    if winter is not None and not _left_from_lay_up(row, winter[0]):
        day = max(day, winter[1])
    return day


def _left_from_lay_up(row: Due, laid_up: int) -> bool:
    """Whether a job of the lay-up was not done for it: it cannot wait for the launch."""
    done = row.last_done_on
    answered = done is not None and done >= laid_up - ANSWERS_BEFORE
    return row.rule.season == "lay-up" and not answered


def _repeats(row: Due, day: int, ahead: Ahead) -> Iterable[int]:
    while ahead.again is not None:
        later = ahead.again(row, day)
        if later is None or later > ahead.last:
            return
        day = max(later, day + 1)
        yield day


def coming_round(carriage: Carriage, forecast: Forecast) -> Again:
    """When a job done on a day falls due again by its limits in today's water, and the forecast."""

    def again(row: Due, day: int) -> int | None:
        limit = (row.rule.limits or (None, None, None))[row.water]
        if limit is None:
            return None
        days: list[int] = []
        if limit.months is not None:
            days.append(months_after(day, limit.months))
        elif limit.days is not None:
            days.append(day + limit.days)
        if limit.hours is not None:
            outlook = forecast.of(carriage, row.engine)
            by_then = outlook.hours_by(day, MIDDLE)
            when = outlook.day_when(by_then + limit.hours / 100, MIDDLE)
            if when is not None:
                days.append(max(when, day + 1))
        return min(days, default=None)

    return again


def winters(
    rows: Iterable[Due], fleet: Fleet, history: History, uses: Mapping[str, BoatUse]
) -> dict[str, tuple[int, int]]:
    """By laid-up engine, the day of its lay-up and the first day of the next season."""
    found: dict[str, tuple[int, int]] = {}
    for row in rows:
        if not row.laid_up or row.engine in found:
            continue
        laid_up = date.fromordinal(history.of(row.engine).seasons[-1][0])
        use = uses[fleet.boats[row.boat].use if row.boat else "owner"]
        season = use.season(fleet.settings)
        if season is None:
            day = laid_up.toordinal()
            found[row.engine] = (day, day + LAUNCH_AFTER)
            continue
        launch = date(laid_up.year, *season[0])
        if launch <= laid_up:
            launch = date(laid_up.year + 1, *season[0])
        found[row.engine] = (laid_up.toordinal(), launch.toordinal())
    return found


def visits_of(jobs: Iterable[Wanted]) -> dict[tuple[int, str], tuple[Wanted, ...]]:
    """Jobs by visit: one engine on one day."""
    visits: dict[tuple[int, str], list[Wanted]] = {}
    for job in jobs:
        visits.setdefault((job.day, job.engine), []).append(job)
    return {key: tuple(found) for key, found in sorted(visits.items())}


def uses_of(jobs: Iterable[Wanted], set_of: SetOf, name: Callable[[str], str] = str) -> list[Use]:
    """What jobs use up, by day; `name` gives the one name of an item."""
    found = []
    for (day, engine), visit in visits_of(jobs).items():
        ruleset = set_of(engine)
        mine = [job for job in visit if job.task in ruleset.rules]
        harms = {job.task: job.leads_to for job in mine if job.leads_to}
        for item, (count, tasks) in items_of_visit(ruleset, [job.task for job in mine]).items():
            harm = min((harms[task] for task in tasks if task in harms), default="")
            found.append(Use(name(item), day, count, engine, tasks, harm))
    return found


def items_of_visit(
    ruleset: RuleSet, tasks: Sequence[str]
) -> dict[str, tuple[int, tuple[str, ...]]]:
    """By item the pieces that jobs done together use up, and the jobs that call for it.

    What opening takes is counted once for all the jobs that need it open.
    """
    counts: dict[str, int] = {}
    wanted_by: dict[str, dict[str, None]] = {}
    for task in tasks:
        for part in ruleset.rules[task].parts:
            counts[part.item] = counts.get(part.item, 0) + part.count
            wanted_by.setdefault(part.item, {})[task] = None
    openings = {task: access_steps(ruleset, [task]) for task in dict.fromkeys(tasks)}
    for name, step in access_steps(ruleset, tasks).items():
        for part in step.consumes:
            counts[part.item] = counts.get(part.item, 0) + part.count
            by = wanted_by.setdefault(part.item, {})
            by.update(dict.fromkeys(task for task, steps in openings.items() if name in steps))
    return {item: (count, tuple(wanted_by[item])) for item, count in counts.items()}
