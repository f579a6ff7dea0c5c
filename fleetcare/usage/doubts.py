"""What is taken into the log but worth a careful eye: `check` names it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetcare.errors import Fault
from fleetcare.fleet.figures import shown
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.rules.sets import RuleBook
from fleetcare.usage.components import Carriage
from fleetcare.usage.hours import EngineUse


def doubts(fleet: Fleet, history: History, book: RuleBook) -> list[Fault]:
    """Runs above the readings, runs of stored engines, jobs that do not fit, idle moves."""
    last = max((engine.since.toordinal() for engine in fleet.engines.values()), default=1)
    carriage = Carriage(fleet, history, max(last, date.max.toordinal() - 1))
    found: list[Fault] = []
    for name, use in carriage.uses.items():
        found += _scaled(name, use)
        found += _while_idle(name, use, history)
        found += _misfits(fleet, history, book, name)
    for boat, moves in history.moves.items():
        water = int(fleet.boats[boat].water)
        for day, to in moves:
            if to == water:
                where = f'boat "{boat}"'
                found.append(Fault(where, f"moved on {_day(day)} to the water it had already"))
            water = to
    return found


def _day(day: int) -> str:
    return date.fromordinal(day).isoformat()


def _scaled(name: str, use: EngineUse) -> Iterator[Fault]:
    for i, factor in use.scaled.items():
        first, last = use.closes.days[i], use.closes.days[i + 1]
        read = use.closes.hours[i + 1] - use.closes.hours[i]
        yield Fault(
            f'engine "{name}"',
            f"ran more by its runs than by its readings from {_day(first)} to {_day(last)} "
            f"({shown(round(read))} h read, runs counted at {float(factor):.2f})",
        )


def _while_idle(name: str, use: EngineUse, history: History) -> Iterator[Fault]:
    log = history.of(name)
    for first, last in use.idle:
        days = [day for day in (*log.run_days, *(run[0] for run in log.fuel_runs))
                if first <= day <= last]  # fmt: skip
        if days:
            yield Fault(f'engine "{name}"', f"ran on {_day(min(days))}, laid up or in store")


def _misfits(fleet: Fleet, history: History, book: RuleBook, name: str) -> Iterator[Fault]:
    engine = fleet.engines[name]
    rules = book.set_of(engine.rules or fleet.settings.rules).rules
    for task, marks in history.of(name).jobs.items():
        rule = rules.get(task)
        if rule is None or task in engine.without or not rule.fits.engine(engine):
            yield Fault(
                f'engine "{name}"',
                f'had "{task}" done on {_day(marks[-1].day)}, which does not fit it',
            )
