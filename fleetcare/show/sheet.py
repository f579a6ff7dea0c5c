"""The work sheet as records: what is to be done on which engine, in working order, and why.

In: the engines and jobs asked for, the rows of the due list, the rule sets. Out: a `Sheet`, which
`sheet_view` puts into words, and `sheet_page`, `sheet_pdf`, `sheet_text` and `sheet_form` lay out.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.joints import STUCK_MINUTES, stuck_joints
from fleetcare.due.records import CLEAR, Due
from fleetcare.due.rows import fitting_tasks
from fleetcare.errors import RefusedError
from fleetcare.flags.standing import Standing
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.bench import minutes_of_visit, parts_of_visit
from fleetcare.rules.rule import Access, Rule, RuleSet
from fleetcare.rules.sets import RuleBook
from fleetcare.rules.words import Condition, IncidentKind
from fleetcare.rules.working_order import Order, jobs_in_order, steps_in_order
from fleetcare.usage.components import Carriage

_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that is read as another
DONE, GONE, UNKNOWN, UNRULED = "done since", "retired", "not in the fleet", "not in the rules"


@dataclass(frozen=True, slots=True)
class Asked:
    """One engine and the jobs wanted of it; `planned` is the day a plan was made, if one was."""

    engine: str
    tasks: tuple[str, ...]
    planned: int | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """An access step; at risk is one not known to have been opened for a long time."""

    access: Access
    at_risk: bool = False


@dataclass(frozen=True, slots=True)
class SheetJob:
    """A job, its row of the due list where it has one, the conditions its part may be found in."""

    rule: Rule
    row: Due | None
    conditions: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """The last figure of a meter (hundredths) and its day, None where none is known."""

    value: int | None = None
    day: int | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One engine on one day: steps in working order, then jobs; `figure` is None without a meter.

    `number` names this sheet for good: the same engine, day and jobs have the same.
    """

    number: str
    engine: Engine
    boat: str | None
    place: str
    laid_up: bool
    steps: tuple[Step, ...]
    jobs: tuple[SheetJob, ...]
    looks: tuple[Rule, ...]
    standing: tuple[Standing, ...]
    incidents: Mapping[str, IncidentKind]
    figure: Figure | None
    minutes: int
    parts: tuple[tuple[str, int], ...]

    @property
    def risked(self) -> int:
        """Minutes that a plan allows beside, for steps that may not come apart."""
        return sum(STUCK_MINUTES for step in self.steps if step.at_risk)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A job that was planned and is not on the sheet, and why; the day it was done, if it was."""

    engine: str
    task: str
    why: str
    day: int | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The sheet of a day, of one engine or more; figures are of `as_of`."""

    on: date
    as_of: date
    visits: tuple[Visit, ...]
    left_out: tuple[LeftOut, ...] = ()

    @property
    def minutes(self) -> int:
        """Minutes of all visits."""
        return sum(visit.minutes for visit in self.visits)

    @property
    def risked(self) -> int:
        """Minutes that plans allow beside, for steps that may not come apart."""
        return sum(visit.risked for visit in self.visits)

    @property
    def parts(self) -> list[tuple[str, int]]:
        """Items of all visits with their counts, by name."""
        total: Counter[str] = Counter()
        for visit in self.visits:
            total.update(dict(visit.parts))
        return sorted(total.items())


@dataclass(frozen=True, slots=True)
class Ground:
    """What a sheet is made out of: the fleet, its history and rows as of a day, the rules."""

    fleet: Fleet
    history: History
    book: RuleBook
    rows: Sequence[Due]
    standing: Mapping[str, Sequence[Standing]]
    order: Order
    as_of: date


def sheet_of(ground: Ground, asked: Iterable[Asked], on: date) -> Sheet:
    """The sheet of a day for the engines and jobs asked for, in that order.

    What a plan asked for and is done, or no longer there, is left out and told.
    """
    rows = {(row.engine, row.task): row for row in ground.rows}
    carriage = Carriage(ground.fleet, ground.history, ground.as_of.toordinal())
    visits, left_out = [], []
    for item in asked:
        engine = _engine(ground, item.engine)
        if isinstance(engine, str):
            left_out += [LeftOut(item.engine, task, engine) for task in item.tasks]
            continue
        ruleset = ground.book.set_of(engine.rules or ground.fleet.settings.rules)
        wanted = []
        for task in item.tasks:
            gone = _left_out(ruleset, engine, task, rows.get((engine.name, task)), item.planned)
            if gone is None:
                wanted.append(task)
            else:
                left_out.append(gone)
        if wanted:
            number = sheet_number(ground.fleet.id, on, engine.first_name, item.tasks)
            visits.append(_visit(ground, carriage, engine, ruleset, wanted, rows, number))
    return Sheet(on, ground.as_of, tuple(visits), tuple(left_out))


def sheet_number(fleet_id: str, on: date, first_name: str, tasks: Iterable[str]) -> str:
    """The number of one engine's sheet: eight letters, as 3F7K-M2TX, out of what it is about."""
    about = json.dumps([fleet_id, on.isoformat(), first_name, sorted(tasks)])
    value = int.from_bytes(hashlib.sha256(about.encode()).digest()[:5], "big")
    letters = "".join(_LETTERS[value >> shift & 31] for shift in range(35, -1, -5))
    return f"{letters[:4]}-{letters[4:]}"


def _engine(ground: Ground, name: str) -> Engine | str:
    """The engine of that name, or why there is none to work on."""
    try:
        engine = ground.fleet.engine(name)
    except RefusedError:
        return UNKNOWN
    if ground.history.of(engine.name).retired is not None:
        return GONE
    return UNKNOWN if engine.since > ground.as_of else engine


def _left_out(
    ruleset: RuleSet, engine: Engine, task: str, row: Due | None, planned: int | None
) -> LeftOut | None:
    if task not in ruleset.rules:
        return LeftOut(engine.name, task, UNRULED)
    if planned is None or row is None or row.status != CLEAR or row.last_done_on is None:
        return None
    if row.last_done_on < planned:
        return None
    return LeftOut(engine.name, task, DONE, row.last_done_on)


def _visit(
    ground: Ground, carriage: Carriage, engine: Engine, ruleset: RuleSet, tasks: list[str],
    rows: Mapping[tuple[str, str], Due], number: str,
) -> Visit:  # fmt: skip
    boat = carriage.boat_of(engine.name)
    stuck = stuck_joints(carriage, ruleset, [engine.name])
    fits = fitting_tasks(ruleset, engine)
    mine = [row for row in ground.rows if row.engine == engine.name]
    return Visit(
        number, engine, boat, ground.fleet.boats[boat].place if boat else "",
        bool(mine) and mine[0].laid_up,
        tuple(
            Step(step, stuck.get((engine.name, step.name), False))
            for step in steps_in_order(ruleset, tasks, ground.order)
        ),
        tuple(
            _job(ground.book, ruleset.rules[task], rows.get((engine.name, task)))
            for task in jobs_in_order(ruleset, tasks, ground.order)
        ),
        tuple(rule for rule in ruleset.rules.values() if rule.every_start and rule.name in fits),
        tuple(ground.standing.get(engine.name, ())),
        ground.book.incidents,
        last_figure(engine, ground.history.of(engine.name)),
        minutes_of_visit(ruleset, tasks),
        tuple(sorted(parts_of_visit(ruleset, tasks).items())),
    )  # fmt: skip


def _job(book: RuleBook, rule: Rule, row: Due | None) -> SheetJob:
    return SheetJob(rule, row, tuple(book.conditions.get(rule.part, {}).values()))


def last_figure(engine: Engine, log: EngineLog) -> Figure | None:
    """What the meter last read, and when; None when the engine has no meter (any more)."""
    metered, figure = engine.meter, Figure(engine.reading, engine.since.toordinal())
    if engine.reading is None:
        figure = Figure()
    for change in log.meters:
        metered = change.new is not None
        figure = Figure(change.new, change.day) if metered else Figure()
    if not metered:
        return None
    after = figure.day or 0
    read = [
        (day, value) for day, value in zip(log.figure_days, log.figures, strict=True) if day > after
    ]
    if not read:
        return figure
    last = max(day for day, _ in read)
    return Figure(max(value for day, value in read if day == last), last)
