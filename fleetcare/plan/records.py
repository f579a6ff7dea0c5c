"""A plan as people read it: service days, their visits, what is left out, what is late and why.

Days are ordinals, minutes whole, costs hundredths of a workshop minute.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

NO_DAY = "no open, unbooked day before it is due"
NO_ROOM = "no minutes or boat place on a day before it is due"
NO_PART = "the part arrives after it is due"
HELD_FIRST = "what holds the engine comes first"
KEPT = "its day in the kept plan is near, and stays"
TOO_LONG = "takes more minutes than any day has"


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """One job of a visit: the life expected to be used on its day, and what the day does to it.

    `late` is the days after it is due (0 when in time), `pulled_forward` the days before.
    """

    task: str
    life_expected: Fraction | None
    late: int
    pulled_forward: int
    precursor: bool
    minutes: int


@dataclass(frozen=True, slots=True)
class Visit:
    """One engine on one day: its access steps in working order, once each, then its jobs.

    `minutes` are those of the access steps and the jobs; `saved` the access minutes that jobs
    apart would have taken beside these.
    """

    engine: str
    boat: str | None
    access: tuple[str, ...]
    minutes: int
    jobs: tuple[PlannedJob, ...]
    saved: int = 0

    @property
    def tasks(self) -> tuple[str, ...]:
        """The names of its jobs."""
        return tuple(job.task for job in self.jobs)


@dataclass(frozen=True, slots=True)
class ServiceDay:
    """A day of work at one place; `capacity` is the minutes the workshop has there that day."""

    on: int
    place: str
    minutes: int
    capacity: int
    visits: tuple[Visit, ...]


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A demand that found no day, and which limit is why."""

    engine: str
    task: str
    reason: str


@dataclass(frozen=True, slots=True)
class Late:
    """A job after its day: by how many days, whether that is proved unavoidable, and why."""

    engine: str
    task: str
    days: int
    precursor: bool
    proved: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Moved:
    """A job whose day differs from the kept plan's; None where it has no day. Why, in words."""

    engine: str
    task: str
    before: int | None
    now: int | None
    why: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Service days from `first` to `last`, both included, as planned on `first`.

    `bound` is a proven lower bound of the cost with as few late precursors, None without one.
    `made_by` names what solved it, with its limits; `cut_short` that a limit or a key ended it.
    """

    first: int
    last: int
    days: tuple[ServiceDay, ...]
    unplaced: tuple[Unplaced, ...]
    late: tuple[Late, ...]
    cost: int
    bound: int | None
    made_by: str
    cut_short: bool = False
    moved: tuple[Moved, ...] = ()

    @property
    def gap(self) -> float | None:
        """The share of the cost that is not proved to be needed; None without a bound."""
        if self.bound is None:
            return None
        return (self.cost - self.bound) / self.cost if self.cost else 0.0

    def day_of(self, engine: str, task: str) -> int | None:
        """The day a job is planned on, or None."""
        for day in self.days:
            for visit in day.visits:
                if visit.engine == engine and task in visit.tasks:
                    return day.on
        return None
