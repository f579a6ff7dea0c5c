"""What feeds are made of: the rows and events of a fleet on a day, and how old its figures are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from fleetcare.due.records import Due
from fleetcare.fleet.boats import USES
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import natural
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.sets import RuleBook
from fleetcare.share.audiences import SERVICE_DAYS, Audience
from fleetcare.share.own import Own, own_events, own_rows
from fleetcare.show.event_words import OLD_DAYS, old_figures
from fleetcare.show.events import About, Event, calendar_note, events_of
from fleetcare.show.season_marks import season_marks
from fleetcare.usage.places import berths

NO_BOAT_USE = "owner"  # of an engine that never lay on a boat


@dataclass(frozen=True, slots=True)
class Sight:
    """A fleet as of a day, as all its feeds see it."""

    fleet: Fleet
    as_of: date
    rows: Sequence[Due]
    abouts: Sequence[About]
    events: Sequence[Event]
    known_to: Mapping[str, int]
    tasks: frozenset[str]
    never_read: frozenset[str]
    own_rows: Own = field(init=False, compare=False)
    own_events: Own = field(init=False, compare=False)

    def __post_init__(self) -> None:
        """Make what `of` and `rows_of` look things up in."""
        object.__setattr__(self, "own_rows", own_rows(self.abouts))
        object.__setattr__(self, "own_events", own_events(self.events))

    def of(self, audience: Audience) -> tuple[Event, ...]:
        """The events that an audience is shown."""
        uses = {
            self.abouts[at].use
            for at in self.own_rows.places(audience)
            if audience.takes(self.abouts[at])
        }
        events = (self.events[at] for at in self.own_events.places(audience))
        return tuple(event for event in events if audience.takes_event(event, uses))

    def rows_of(self, audience: Audience) -> list[Due]:
        """The rows that concern an audience."""
        places = self.own_rows.places(audience)
        return [self.rows[at] for at in places if audience.takes(self.abouts[at])]

    def note(self, audience: Audience) -> str:
        """What an audience's calendar says of itself: how old its figures are, what it leaves."""
        if audience.kind == SERVICE_DAYS:
            return "Days planned for work." if self.of(audience) else "No day is planned for work."
        rows = self.rows_of(audience)
        days = [self.known_to[row.engine] for row in rows]
        return calendar_note(rows, self.as_of, max(days)) if days else "No engine is in it now."

    def warning(self, audience: Audience) -> str:
        """A warning when figures of engines in use are too old; an empty text otherwise."""
        old = {
            (row.engine, None if row.engine in self.never_read else self.known_to[row.engine])
            for row in self.rows_of(audience)
            if row.boat is not None
            and not row.laid_up
            and self.as_of.toordinal() - self.known_to[row.engine] > OLD_DAYS
        }
        return old_figures(sorted(old, key=lambda item: natural(item[0]))) if old else ""


def sight(
    fleet: Fleet,
    history: History,
    book: RuleBook,
    rows: Sequence[Due],
    as_of: date,
    service_days: Iterable[Event] = (),
    holds: Mapping[str, str] | None = None,
) -> Sight:
    """Everything feeds are made of, out of the rows of the due list and planned service days.

    `holds` says by engine what holds it.
    """
    names = list(dict.fromkeys(row.engine for row in rows))
    rules = {name: book.set_of(fleet.engines[name].rules or fleet.settings.rules) for name in names}
    known_to = {name: last_known(fleet.engines[name], history.of(name)) for name in names}
    uses = {name: use_of(fleet, history, fleet.engines[name]) for name in names}
    abouts = [
        About(row.first_name, row.boat, uses[row.engine], row.task, row.rule.is_precursor)
        for row in rows
    ]
    jobs = events_of(rows, fleet.id, as_of, rules=rules, known_to=known_to, uses=uses, holds=holds)
    seasons = {
        use: season
        for use in USES
        if use in uses.values() and (season := book.uses[use].season(fleet.settings))
    }
    marks = season_marks(seasons, _season_jobs(rows, uses), fleet.id, as_of)
    tasks = frozenset(task for ruleset in book.sets.values() for task in ruleset.rules)
    events = (*jobs, *marks, *service_days)
    silent = frozenset(name for name in names if _is_silent(fleet.engines[name], history.of(name)))
    return Sight(fleet, as_of, rows, abouts, events, known_to, tasks, silent)


def _is_silent(engine: Engine, log: EngineLog) -> bool:
    """Whether nobody ever wrote down a figure or a run of it."""
    return engine.reading is None and not (log.figure_days or log.run_days or log.fuel_runs)


def last_known(engine: Engine, log: EngineLog) -> int:
    """The day of an engine's last reading or run; the day it was first known counts as one."""
    days = [*log.figure_days[-1:], *log.run_days[-1:], *(day for day, _, _ in log.fuel_runs[-1:])]
    return max([engine.since.toordinal(), *days])


def use_of(fleet: Fleet, history: History, engine: Engine) -> str:
    """The use of the boat an engine lies on, or last lay on; what counts for one without."""
    for stay in reversed(berths(engine, history)):
        if stay.boat is not None:
            return fleet.boats[stay.boat].use
    return NO_BOAT_USE


def _season_jobs(rows: Iterable[Due], uses: Mapping[str, str]) -> dict[tuple[str, str], list[str]]:
    """The tasks that fall due at the season's marks, by use and mark."""
    found: dict[tuple[str, str], dict[str, None]] = {}
    for row in rows:
        if row.rule.season:
            found.setdefault((uses[row.engine], row.rule.season), {})[row.task] = None
    return {key: sorted(tasks) for key, tasks in found.items()}
