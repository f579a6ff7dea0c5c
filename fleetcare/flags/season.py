"""What belongs to a lay-up or a launch: rows of the due list, grouped by job."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetcare.due.records import CLEAR, DUE, OVERDUE, Due
from fleetcare.due.triggers import ANSWERS_BEFORE
from fleetcare.fleet.settings import Settings
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.bench import access_steps, minutes_of_visit, parts_of_visit
from fleetcare.rules.rule import Rule, RuleSet
from fleetcare.rules.words import Use

LAY_UP, LAUNCH = "lay-up", "launch"
MONTH = 30  # days after a launch within which what falls due is done with it: our design choice
OF_SEASON, AFTER_RUNS, BY_CALENDAR = "season", "runs", "calendar"
_KINDS = (OF_SEASON, AFTER_RUNS, BY_CALENDAR)
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class SeasonJob:
    """One job of the list: the rows it concerns, one an engine, and why each belongs to it."""

    task: str
    rows: tuple[Due, ...]
    kinds: tuple[str, ...]

    @property
    def rule(self) -> Rule:
        """The rule of its first row."""
        return self.rows[0].rule

    @property
    def leads_to(self) -> str:
        """What skipping it leads to, when that is overheating or a seized swivel."""
        return self.rule.leads_to[0] if self.rule.is_precursor else ""

    @property
    def engines(self) -> tuple[str, ...]:
        """The engines it concerns."""
        return tuple(row.engine for row in self.rows)


@dataclass(frozen=True, slots=True)
class Work:
    """What a list takes: minutes, parts by item, and the cautions of its jobs and their access."""

    minutes: int
    parts: Counter[str]
    cautions: tuple[str, ...]


def with_marks(history: History, engines: Sequence[str], mark: str, on: date) -> History:
    """The history as it will be once these engines are laid up or launched on the day."""
    logs: dict[str, EngineLog] = dict(history.engines)
    for name in engines:
        log = history.of(name)
        seasons = sorted(
            [*log.seasons, (on.toordinal(), mark)], key=lambda item: (item[0], item[1] == LAUNCH)
        )
        logs[name] = replace(log, seasons=seasons)
    return replace(history, engines=logs)


def until(use: Use, settings: Settings, mark: str, on: date) -> date | None:
    """Up to when the list looks: the next launch for a lay-up, a month on for a launch."""
    if mark == LAUNCH:
        return on + timedelta(days=MONTH)
    season = use.season(settings)
    if season is None:
        return None
    month, day = season[0]
    this_year = date(on.year, month, day)
    return this_year if this_year > on else date(on.year + 1, month, day)


def season_jobs(
    now: Sequence[Due], ahead: Mapping[Key, Due], mark: str, on: date, ends: Mapping[str, int]
) -> list[SeasonJob]:
    """The jobs of a lay-up or launch, those that lead to overheating or a seized swivel first.

    `now` are the rows of the engines with the mark counted, `ahead` the same rows as they will
    stand on the last day looked at, `ends` that day by engine. A job belongs to the list when its
    rule has the mark, unless it was done for it; when runs have opened it; or when by the end it
    is due or overdue. A lay-up leaves to the launch what belongs to it.
    """
    by_task: dict[str, list[tuple[Due, str]]] = {}
    for row in now:
        end = ends.get(row.engine)
        kind = _kind(row, ahead.get((row.engine, row.task), row), mark, on, end)
        if kind is not None:
            by_task.setdefault(row.task, []).append((row, kind))
    jobs = [
        SeasonJob(
            task, tuple(row for row, _ in found),
            tuple(kind for kind in _KINDS if any(other == kind for _, other in found)),
        )
        for task, found in by_task.items()
    ]  # fmt: skip
    order = {task: at for at, task in enumerate(by_task)}
    return sorted(jobs, key=lambda job: (*_rank(job), order[job.task]))


def _rank(job: SeasonJob) -> tuple[bool, bool]:
    return not any(row.is_precursor for row in job.rows), not job.rule.is_precursor


def _kind(row: Due, later: Due, mark: str, on: date, end: int | None) -> str | None:
    """Why a row belongs to the list, or None."""
    if row.rule.season == mark:
        return None if _answered(row, on) else OF_SEASON
    if row.rule.each_run is not None and not row.rule.every_start and row.status in (OVERDUE, DUE):
        return AFTER_RUNS
    if row.rule.season and mark == LAY_UP:
        return None
    if row.status == OVERDUE or row.is_precursor:
        return BY_CALENDAR
    if end is None:
        return BY_CALENDAR if row.status == DUE else None
    by_then = later.status == OVERDUE or (later.due_on is not None and later.due_on <= end)
    return BY_CALENDAR if by_then else None


def _answered(row: Due, on: date) -> bool:
    """Whether a job of the season was done for it: it is clear, and its last job recent."""
    return (
        row.status == CLEAR
        and row.last_done_on is not None
        and row.last_done_on >= on.toordinal() - ANSWERS_BEFORE
    )


def work(jobs: Sequence[SeasonJob], set_of: Callable[[str], RuleSet]) -> Work:
    """What all of it takes: each engine's access steps counted once; cautions each once."""
    tasks: dict[str, list[str]] = {}
    for job in jobs:
        for engine in job.engines:
            tasks.setdefault(engine, []).append(job.task)
    minutes, parts = 0, Counter[str]()
    cautions: dict[str, None] = {}
    for engine, mine in tasks.items():
        ruleset = set_of(engine)
        minutes += minutes_of_visit(ruleset, mine)
        parts += parts_of_visit(ruleset, mine)
        for step in access_steps(ruleset, mine).values():
            cautions |= dict.fromkeys(step.cautions)
    cautions |= dict.fromkeys(text for job in jobs for text in job.rule.cautions)
    return Work(minutes, parts, tuple(cautions))
