"""Why a visit stands on its day: what it would cost, and what would hinder it, on every other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcare.plan.evaluate import Score, evaluate, staying
from fleetcare.plan.load import Load
from fleetcare.plan.making import Made
from fleetcare.plan.problem import Answer, Problem

FROZEN = "kept within the frozen days"


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A visit, or one job of it, moved to another day (an ordinal) with all else as it is.

    How many more precursors would be late and by how many more days together, how many more jobs
    without a day, and what more it would cost in hundredths of a workshop minute, by its parts;
    or what hinders it.
    """

    on: int
    hindered: str = ""
    late: int = 0
    late_days: int = 0
    cost: int = 0
    boat_days: int = 0
    access: int = 0
    jobs: int = 0
    moving: int = 0

    @property
    def key(self) -> tuple[int, int, int]:
        """What it is compared by; the plan's own day is (0, 0, 0)."""
        return self.late, self.late_days, self.cost


@dataclass(frozen=True, slots=True)
class VisitWhy:
    """One visit of the plan and the days it could have had instead, rising; jobs by their place."""

    engine: int
    on: int
    jobs: tuple[int, ...]
    days: tuple[Elsewhere, ...]
    apart: tuple[tuple[int, Elsewhere | None], ...]

    @property
    def best(self) -> Elsewhere | None:
        """The day that would cost least instead, None where every other is hindered."""
        return best_of(self.days)


def best_of(days: Sequence[Elsewhere]) -> Elsewhere | None:
    """The day that costs least of those that nothing hinders."""
    free = [day for day in days if not day.hindered]
    return min(free, key=lambda day: (day.key, day.on), default=None)


def visits_asked(
    made: Made, answer: Answer, day: int | None = None, engines: Sequence[str] = ()
) -> list[tuple[int, int]]:
    """Engine and day, from 0, of the visits on a day, or of some engines."""
    found = {
        (at, made.problem.jobs[job].engine)
        for job, at in enumerate(answer)
        if at is not None
        and (day is None or at == day)
        and (not engines or made.benches[made.problem.jobs[job].engine].engine in engines)
    }
    return [(engine, at) for at, engine in sorted(found)]


def why_visit(made: Made, answer: Answer, engine: int, day: int) -> VisitWhy:
    """One visit moved to every other open day, and each job of it alone to its best one."""
    problem = made.problem
    mine = tuple(
        job for job, on in enumerate(answer) if on == day and problem.jobs[job].engine == engine
    )
    mover = _Mover(made, answer)
    place = problem.places[problem.benches[engine].place]
    days = [on for on in range(problem.days) if on != day and place.minutes[on]]
    whole = tuple(mover.moved(mine, on) for on in days)
    apart = tuple((job, best_of([mover.moved((job,), on) for on in days])) for job in mine)
    return VisitWhy(engine, made.calendar.first + day, mine, whole, apart)


class _Mover:
    """Tries jobs on other days, all else staying as it is."""

    def __init__(self, made: Made, answer: Answer) -> None:
        self.problem: Problem = made.problem
        self.first = made.calendar.first
        self.answer = list(answer)
        self.score = evaluate(self.problem, answer)
        self.stay = frozenset(staying(self.problem))

    def moved(self, jobs: Sequence[int], day: int) -> Elsewhere:
        on = self.first + day
        hindered = self._hindered(jobs, day)
        if hindered:
            return Elsewhere(on, hindered)
        other = list(self.answer)
        for job in jobs:
            other[job] = day
        return _difference(on, self.score, evaluate(self.problem, other))

    def _hindered(self, jobs: Sequence[int], day: int) -> str:
        if any(job in self.stay for job in jobs):
            return FROZEN
        trial = [None if job in jobs else on for job, on in enumerate(self.answer)]
        for job in sorted(jobs, key=lambda job: not self.problem.jobs[job].first):
            why = Load(self.problem, trial).hinders(job, day)
            if why:
                return why
            trial[job] = day
        return ""


def _difference(on: int, plan: Score, other: Score) -> Elsewhere:
    return Elsewhere(
        on, "", other.late - plan.late, other.late_days - plan.late_days, other.cost - plan.cost,
        other.boat_days - plan.boat_days, other.access - plan.access, other.jobs - plan.jobs,
        other.moving - plan.moving,
    )  # fmt: skip
