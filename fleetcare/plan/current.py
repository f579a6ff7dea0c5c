"""What of a kept plan still stands: days to come, jobs that are still wanted, today's names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from fleetcare.due.records import Due
from fleetcare.fleet.fleet import Fleet
from fleetcare.plan.jobs import is_put_off
from fleetcare.plan.records import Plan, Visit


def is_fulfilled(row: Due, since: int, planned_on: int) -> bool:
    """Whether a job planned on the day `since` was done after that, so that its row is the next.

    One done on that very day may have been done before it was planned: it is the same job still
    when it comes due by the day it was planned for.
    """
    done = row.last_done_on
    if done is None or done < since:
        return False
    if done > since or planned_on <= since:
        return True
    return row.due_early is None or row.due_early > planned_on


def standing_plan(plan: Plan, rows: Iterable[Due], fleet: Fleet, today: int) -> Plan:
    """The kept plan without days gone by and without jobs done, or put off, since it was made.

    Minutes stay those that were planned. Engines that left the fleet, and tasks they no longer
    have, leave the plan; renamed ones stand in it under their names of today.
    """
    known = {(row.engine, row.task): row for row in rows}
    days = []
    for day in plan.days:
        if day.on < today:
            continue
        visits = (_standing(visit, day.on, plan.first, known, fleet, today) for visit in day.visits)
        left = tuple(visit for visit in visits if visit.jobs)
        if left:
            days.append(replace(day, visits=left))
    return replace(plan, days=tuple(days))


def _standing(
    visit: Visit, on: int, since: int, known: Mapping[tuple[str, str], Due], fleet: Fleet,
    today: int,
) -> Visit:  # fmt: skip
    if not fleet.has_engine(visit.engine):
        return replace(visit, jobs=())
    name = fleet.engine(visit.engine).name
    jobs = []
    for job in visit.jobs:
        row = known.get((name, job.task))
        if row is not None and not is_put_off(row, today) and not is_fulfilled(row, since, on):
            jobs.append(job)
    return replace(visit, engine=name, jobs=tuple(jobs))
