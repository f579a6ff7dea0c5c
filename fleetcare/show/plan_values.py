"""A plan as plain values: the stable contract of its JSON, and a row for each job."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleetcare.plan.records import Late, Moved, Plan, PlannedJob, ServiceDay, Visit
from fleetcare.show.values import iso, life

HEAD = (
    "on", "place", "boat", "engine", "task", "title", "minutes", "access", "visit_minutes",
    "life_expected", "late", "pulled_forward_days", "leads_to_harm", "reason",
)  # fmt: skip
Titles = Mapping[tuple[str, str], str]


def plan_values(
    plan: Plan, titles: Titles, held: Collection[str] = (),
    stuck: Mapping[str, Sequence[str]] | None = None, put_off: int = 0,
) -> dict[str, Any]:  # fmt: skip
    """Everything a plan says; costs in workshop minutes, days as dates.

    `held` are the engines held, `stuck` by engine the joints that may not come apart, `put_off`
    how many jobs were left out because they were put off.
    """
    beside = _Beside(titles, held, stuck or {})
    return {
        "first": iso(plan.first),
        "last": iso(plan.last),
        "days": [_day(day, beside) for day in plan.days],
        "unplaced": [
            {"engine": item.engine, "task": item.task, "reason": item.reason}
            for item in plan.unplaced
        ],
        "late": [_late(item) for item in plan.late],
        "moved": [_moved(item) for item in plan.moved],
        "cost": plan.cost / 100,
        "bound": None if plan.bound is None else plan.bound / 100,
        "gap": None if plan.gap is None else round(plan.gap, 6),
        "made_by": plan.made_by,
        "cut_short": plan.cut_short,
        "put_off": put_off,
    }


@dataclass(frozen=True, slots=True)
class _Beside:
    titles: Titles
    held: Collection[str]
    stuck: Mapping[str, Sequence[str]]


def _day(day: ServiceDay, beside: _Beside) -> dict[str, Any]:
    return {
        "on": iso(day.on),
        "place": day.place or None,
        "minutes": day.minutes,
        "capacity": day.capacity,
        "visits": [_visit(visit, beside) for visit in day.visits],
    }


def _visit(visit: Visit, beside: _Beside) -> dict[str, Any]:
    stuck = beside.stuck.get(visit.engine, ())
    return {
        "engine": visit.engine,
        "boat": visit.boat,
        "access": list(visit.access),
        "minutes": visit.minutes,
        "access_saved": visit.saved,
        "may_not_come_apart": [step for step in visit.access if step in stuck],
        "held": visit.engine in beside.held,
        "jobs": [_job(job, beside.titles.get((visit.engine, job.task))) for job in visit.jobs],
    }


def _job(job: PlannedJob, title: str | None) -> dict[str, Any]:
    return {
        "task": job.task,
        "title": title,
        "minutes": job.minutes,
        "life_expected": life(job.life_expected),
        "late": job.late,
        "pulled_forward_days": job.pulled_forward,
        "leads_to_harm": job.precursor,
    }


def _late(item: Late) -> dict[str, Any]:
    return {
        "engine": item.engine,
        "task": item.task,
        "days": item.days,
        "proved": item.proved,
        "reason": item.reason,
        "leads_to_harm": item.precursor,
    }


def _moved(item: Moved) -> dict[str, Any]:
    return {
        "engine": item.engine,
        "task": item.task,
        "before": iso(item.before),
        "now": iso(item.now),
        "why": item.why,
    }


def plan_rows(plan: Plan, titles: Titles) -> list[dict[str, Any]]:
    """A row for each job, by day; those without a day at the end, with why."""
    reasons = {(item.engine, item.task): item.reason for item in plan.late}
    found: list[dict[str, Any]] = []
    for day in plan.days:
        for visit in day.visits:
            for job in visit.jobs:
                values = _job(job, titles.get((visit.engine, job.task)))
                found.append(
                    {
                        "on": iso(day.on), "place": day.place or None, "boat": visit.boat,
                        "engine": visit.engine, **values, "access": list(visit.access),
                        "visit_minutes": visit.minutes,
                        "reason": reasons.get((visit.engine, job.task)),
                    }
                )  # fmt: skip
    for item in plan.unplaced:
        found.append(
            {
                "on": None, "place": None, "boat": None, "engine": item.engine,
                "task": item.task, "title": titles.get((item.engine, item.task)),
                "reason": item.reason,
            }
        )  # fmt: skip
    return found
