"""What of a kept plan still stands: days to come, jobs that are still wanted, today's names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from fleetcare.due.records import Due
from fleetcare.fleet.fleet import Fleet
from fleetcare.plan.records import Plan, Visit


def standing_plan(plan: Plan, rows: Iterable[Due], fleet: Fleet, today: int) -> Plan:
    """The kept plan without days gone by and without jobs done, or put off, since it was made.

    Minutes stay those that were planned. Engines that left the fleet, and tasks they no longer
    have, leave the plan; renamed ones stand in it under their names of today.
    """
    wanted = {
        (row.engine, row.task)
        for row in rows
        if not _is_done(row, plan.first) and not _is_put_off(row, today)
    }
    days = []
    for day in plan.days:
        visits = tuple(
            visit for visit in (_standing(one, wanted, fleet) for one in day.visits) if visit.jobs
        )
        if day.on >= today and visits:
            days.append(replace(day, visits=visits))
    return replace(plan, days=tuple(days))


def _is_done(row: Due, since: int) -> bool:
    return row.last_done_on is not None and row.last_done_on >= since


def _is_put_off(row: Due, today: int) -> bool:
    return row.put_off_until is not None and row.put_off_until > today and not row.is_precursor


def _standing(visit: Visit, wanted: set[tuple[str, str]], fleet: Fleet) -> Visit:
    if not fleet.has_engine(visit.engine):
        return replace(visit, jobs=())
    name = fleet.engine(visit.engine).name
    jobs = tuple(job for job in visit.jobs if (name, job.task) in wanted)
    return replace(visit, engine=name, jobs=jobs)
