"""What makes a job due beside its limits: runs, incidents, idleness, seasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from tests.oracle.clocks import Clock
from tests.oracle.given import WATERS, add_months
from tests.oracle.known import Known

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Trigger:
    on: date
    is_open: bool
    overdue_since: date | None


def triggers_of(
    known: Known, clock: Clock, engine: str, uses: dict[str, Any], as_of: date
) -> list[Trigger]:
    """Those of a rule's triggers that are open, or coming with a date."""
    found = [
        each_run(known, clock),
        after(known, clock, as_of),
        idle(known, clock, engine, as_of),
        season(known, clock, engine, uses, as_of),
    ]
    return [trigger for trigger in found if trigger is not None]


def looked_at_every_start(task: dict[str, Any]) -> bool:
    return set(task.get("each_run", [])) == set(WATERS)


def each_run(known: Known, clock: Clock) -> Trigger | None:
    """Open from the first run day in its waters since the last job."""
    waters = clock.task.get("each_run", [])
    if not waters or looked_at_every_start(clock.task):
        return None
    days = {
        day
        for engine in known.fleet.engines
        for day, water in openings(known, clock, engine)
        if water in waters
    }
    last = max(clock.since, clock.job.on) if clock.job else clock.since
    since_then = sorted(day for day in days if day > last)
    if not since_then:
        return None
    misses = clock.task.get("misses", 3)
    return Trigger(since_then[0], True, since_then[misses] if len(since_then) > misses else None)


def openings(known: Known, clock: Clock, engine: str) -> list[tuple[date, str]]:
    """The days an engine ran with the component on it, each with a water it ran in.

    Hours that only a reading shows count on the reading's day, in the waters they are spread over.
    """
    component = clock.component
    found = [
        (run.on, run.water or known.component_home(component, run.on))
        for run in known.entries(engine, "run")
        if known.carrier(component, run.on) == engine and known.run_hours(run) > 0
    ]
    for interval in known.meter(engine).intervals:
        seen = known.carrier(component, interval.to) == engine
        if seen and known.unexplained(engine, interval) > 0:
            days = known.spread_days(engine, interval)
            found += [(interval.to, home_on(known, clock, engine, day)) for day in days]
    return found


def home_on(known: Known, clock: Clock, engine: str, day: date) -> str:
    """The home water of an engine's day, as the component had it if it was there."""
    if known.carrier(clock.component, day) == engine:
        return known.component_home(clock.component, day)
    return known.home_water(engine, day)


def after(known: Known, clock: Clock, as_of: date) -> Trigger | None:
    """Open from the first incident of its kinds that no job answered, that day or later."""
    kinds = clock.task.get("after", [])
    days = [
        entry.on
        for engine in known.fleet.engines
        for entry in known.entries(engine, "incident")
        if entry.condition in kinds
        and known.carrier(clock.component, entry.on) == engine
        and (clock.job is None or entry.on > clock.job.on)
    ]
    if not days:
        return None
    first = min(days)
    return Trigger(first, True, first + ONE_DAY if as_of > first else None)


def idle(known: Known, clock: Clock, engine: str, as_of: date) -> Trigger | None:
    """Open from the day the engine had not run for so long; overdue once it runs after that."""
    if "idle" not in clock.task:
        return None
    runs: list[date | None] = [*known.run_days(engine), None]
    last = known.fleet.engines[engine].since
    for run in runs:
        idle_on = add_months(last, clock.task["idle"]["months"])
        answered = clock.job is not None and clock.job.on >= idle_on
        if idle_on <= as_of and (run is None or run > idle_on) and not answered:
            return Trigger(idle_on, True, run)
        last = run or last
    return None


def season_date(known: Known, use: str, uses: dict[str, Any], kind: str, year: int) -> date | None:
    """The day of a year's launch or lay-up for a use; the fleet's own season goes first."""
    settings = known.fleet.settings
    hemisphere = settings.get("hemisphere") or "northern"
    if settings.get("season"):
        first, last = settings["season"].split("/")
    elif hemisphere == "tropics":
        return None
    else:
        window = uses["use"][use]["season"][hemisphere]
        first, last = window["from"], window["to"]
    return date.fromisoformat(f"{year:04}-{first if kind == 'launch' else last}")


def season(
    known: Known, clock: Clock, engine: str, uses: dict[str, Any], as_of: date
) -> Trigger | None:
    """The earliest season's date that is open and no job answered; else the next one coming."""
    if "season" not in clock.task:
        return None
    kind = clock.task["season"]
    own_days = [entry.on for entry in known.entries(engine, kind)]
    use = known.use_of(engine, as_of)
    for year in range(clock.since.year - 1, as_of.year + 3):
        mark = season_date(known, use, uses, kind, year)
        if mark is None:
            return None
        own = [day for day in own_days if mark - timedelta(days=120) <= day < mark]
        on = min(own, default=mark)
        answered = clock.job is not None and clock.job.on >= on - timedelta(days=60)
        if on >= clock.since and not answered:
            is_open = as_of >= min(on, mark - timedelta(days=30))
            return Trigger(on, is_open, on + ONE_DAY if as_of > on else None)
    return None
