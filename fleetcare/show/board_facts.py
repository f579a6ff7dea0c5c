"""What a board is made of: the fleet as of a day, judged, with its plan and its findings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fleetcare.due.records import Due
from fleetcare.flags.flag import Flag
from fleetcare.flags.morning import Verdict
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import History
from fleetcare.plan.records import Plan
from fleetcare.repair.wear import Point, Wear
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage

LARGE = 200  # engines from which on less is told of each, or the page becomes too heavy


@dataclass(frozen=True, slots=True)
class Facts:
    """The fleet as of a day: its rows in the order of lists, flags, verdicts, the kept plan.

    `wears` are the groups of parts of which enough was found, each with its survival curve. A
    board of one `place` has the rows, flags, verdicts and plan of the engines `there` alone.
    """

    fleet: Fleet
    history: History
    book: RuleBook
    carriage: Carriage
    as_of: date
    rows: tuple[Due, ...]
    flags: Mapping[str, Flag]
    held: frozenset[str]
    verdicts: tuple[Verdict, ...]
    plan: Plan | None = None
    wears: tuple[tuple[Wear, tuple[Point, ...]], ...] = ()
    place: str = ""
    there: frozenset[str] | None = None
    by_engine: Mapping[str, tuple[Due, ...]] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        """Put the rows by engine: every engine not retired, the worst first."""
        found: dict[str, list[Due]] = {}
        for row in self.rows:
            found.setdefault(row.engine, []).append(row)
        for engine in sorted(self.carriage.known, key=natural):
            if self.shows(engine) and self.history.of(engine).retired is None:
                found.setdefault(engine, [])
        by_engine = {engine: tuple(rows) for engine, rows in found.items()}
        object.__setattr__(self, "by_engine", by_engine)

    def shows(self, engine: str) -> bool:
        """Whether the board is of this engine too."""
        return self.there is None or engine in self.there

    @property
    def today(self) -> int:
        """The day looked at, as an ordinal."""
        return self.as_of.toordinal()
