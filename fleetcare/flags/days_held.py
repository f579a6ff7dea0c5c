"""On which days of a span an engine was held, by what had been logged by the close of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from fleetcare.flags.flag import held_engines
from fleetcare.flags.standing import standing
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import EngineLog, History
from fleetcare.rules.sets import RuleBook


def days_held(
    fleet: Fleet, history: History, book: RuleBook, engine: str, first: int, last: int
) -> Iterable[int]:
    """The days from first to last at whose close the engine was held, by today's rules.

    A hold that was lifted on the day it came holds no day. What stands only changes on the days
    of a finding, an incident or a job, so those are all that is asked.
    """
    log = history.engines.get(engine)
    if log is None or not (log.seen or log.incidents):
        return
    alone = replace(fleet, engines={engine: fleet.engines[engine]})
    changes = sorted(day for day in _days_of(log) if day <= last)
    for at, day in enumerate(changes):
        end = changes[at + 1] - 1 if at + 1 < len(changes) else last
        if end < first:
            continue
        known = History(engines={engine: _by_the_close_of(log, day)})
        if held_engines(standing(alone, known, book)):
            yield from range(max(first, day), min(end, last) + 1)


def _days_of(log: EngineLog) -> set[int]:
    days = {seen.day for seen in log.seen} | {day for day, _ in log.incidents}
    days |= {mark.day for marks in log.jobs.values() for mark in marks}
    return days if log.retired is None else days | {log.retired}


def _by_the_close_of(log: EngineLog, day: int) -> EngineLog:
    """The log with what came later left out, where a hold could hang on it."""
    return replace(
        log,
        seen=[seen for seen in log.seen if seen.day <= day],
        incidents=[incident for incident in log.incidents if incident[0] <= day],
        jobs={
            task: kept
            for task, marks in log.jobs.items()
            if (kept := [mark for mark in marks if mark.day <= day])
        },
        retired=log.retired if log.retired is not None and log.retired <= day else None,
    )
