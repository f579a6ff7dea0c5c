"""The least number of late precursors, and the least days with that number, proved.

Only the precursors and what holds their engines are planned: whatever else there is may be left
out, so it makes none of them late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from fleetcare.plan.exact_columns import Limits
from fleetcare.plan.exact_model import PlanModel
from fleetcare.plan.search_case import NEVER, Case

NODES = 2_000


@dataclass(frozen=True, slots=True)
class LeastLate:
    """Proven lower bounds of late precursors and of their days with that many; the best days.

    `days` are by job, NEVER for what is not planned; None where no plan was found.
    """

    late: int
    after: int
    days: tuple[int, ...] | None


def least_late(case: Case, nodes: int = NODES) -> LeastLate:
    """How few precursors of a case can be late, and a plan of them alone that has so few."""
    firsts = {job for jobs in case.first for job in jobs}
    jobs = [
        job
        for job, day in enumerate(case.stays)
        if case.precursor[job] or job in firsts or day != NEVER
    ]
    if not any(case.precursor):
        return LeastLate(0, 0, case.stays)
    model = _model(case, jobs, None)
    model.aim(lambda worth: worth.late)
    count = model.program.run(whole=True, nodes=nodes, above=0.99)
    least = max(0, ceil(count.bound - 1e-6))
    if not count.values:
        return LeastLate(least, 0, None)
    days = _days(case, model, count.values)
    if round(count.value) != least:
        return LeastLate(least, 0, days)
    return _least_days(case, jobs, least, days, nodes)


def _least_days(
    case: Case, jobs: list[int], late: int, days: tuple[int, ...], nodes: int
) -> LeastLate:
    model = _model(case, jobs, late)
    model.aim(lambda worth: worth.days)
    found = model.program.run(whole=True, nodes=nodes, above=0.99)
    after = max(0, ceil(found.bound - 1e-6))
    return LeastLate(late, after, _days(case, model, found.values) if found.values else days)


def _model(case: Case, jobs: list[int], late: int | None) -> PlanModel:
    model = PlanModel(case)
    model.add_jobs(jobs)
    model.add_limits(replace(Limits.of(case), late=late))
    model.add_holds(jobs)
    return model


def _days(case: Case, model: PlanModel, values: Sequence[float]) -> tuple[int, ...]:
    days = list(case.stays)
    for job, day in model.days(values).items():
        days[job] = day
    return tuple(days)
