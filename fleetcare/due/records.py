"""The row of the due list."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from fleetcare.rules.rule import Rule
from fleetcare.usage.meter import Hours

OVERDUE, NO_RECORD, DUE, CLEAR = "overdue", "no record", "due", "clear"
STATUSES: tuple[str, ...] = (OVERDUE, NO_RECORD, DUE, CLEAR)


@dataclass(frozen=True, slots=True)
class Due:
    """One job of one engine, as of a day.

    Life is a share of the limit (1 is used up), exact. Hours are hundredths, exact; hours left
    are in the water of the day and negative when past. Days are ordinals. `life_used` is None
    without a clock start, and `life_floor` is then the life used since the component was first
    known. `because` is why it was put off; `opened` says in words which trigger opened it.

    `unseen` says what nobody looked at when the job was done. `opened_on` is the day on which
    something else than its limits opened it, or will; None without such a thing.

    `likely_since_read` are the likely hours that no reading or run tells of yet, since the close
    of day `known_through`, and `most_since_read` their 90 % point; `chance_used` is the chance
    that with them the limit is used up already.
    """

    engine: str
    first_name: str
    boat: str | None
    rule: Rule
    status: str
    governed_by: str | None
    life_used: Fraction | None
    life_floor: Fraction | None
    hours_since: Hours
    hours_left: Hours | None
    likely_hours: Hours
    days_since: int
    water: int
    due_early: int | None
    due_on: int | None
    due_late: int | None
    overdue_since: int | None
    last_done_on: int | None
    last_done_hours: int | None
    raised_by_likely_hours: bool
    put_off_until: int | None
    put_off_times: int
    because: str | None
    laid_up: bool
    opened: str
    clock_start: int
    strictest_since: int | None = None
    unknown_before: bool = False
    likely_since_read: int = 0
    most_since_read: int = 0
    chance_used: float = 0.0
    known_through: int | None = None
    unseen: str = ""
    opened_on: int | None = None

    @property
    def task(self) -> str:
        """The task's name."""
        return self.rule.name

    @property
    def is_precursor(self) -> bool:
        """Whether it is overdue or without record, and leads to overheating or a seized swivel."""
        return self.status in (OVERDUE, NO_RECORD) and self.rule.is_precursor

    @property
    def life(self) -> Fraction | None:
        """Life used, or its floor."""
        return self.life_floor if self.life_used is None else self.life_used
