"""Which features of the reckoning a fleet shows, by name, so that a test can count them."""

from __future__ import annotations

import dataclasses
from collections import Counter
from datetime import date
from typing import Any

from tests.oracle.clocks import Clock, Past, clock_of
from tests.oracle.given import COMPONENTS, WATERS, Fleet, Tables, Task, read_fleet, read_tasks
from tests.oracle.known import Component, Known
from tests.oracle.oracle import Row, has_row
from tests.oracle.triggers import looked_at_every_start, triggers_of

Sets = dict[str, dict[str, Any]]


def features_of(
    tables: Tables, sets: Sets, uses: dict[str, Any], as_of: date, rows: list[Row]
) -> dict[str, bool]:
    """Every feature's name, and whether this fleet shows it."""
    fleet = read_fleet(tables)
    known = Past(fleet).at(as_of)
    tasks = [task for name in sets for task in read_tasks(sets, name).values()]
    return {
        **of_what_there_is(fleet, as_of),
        **of_the_log(fleet),
        **of_meters(known),
        **of_swaps(known, as_of),
        **of_rules(tasks, sets),
        **of_rows(rows),
        **of_clocks(known, sets, uses, as_of),
    }


def of_what_there_is(fleet: Fleet, as_of: date) -> dict[str, bool]:
    engines, settings = fleet.engines.values(), fleet.settings
    dates = [entry.on for entry in fleet.log] + [engine.since for engine in engines]
    return {
        "several boats": len(fleet.boats) > 1,
        "several engines": len(fleet.engines) > 1,
        "an engine without a meter": any(not engine.meter for engine in engines),
        "a new engine": any(engine.new for engine in engines),
        "an engine that was not new": any(not engine.new for engine in engines),
        "an engine in store from its first day": any(not engine.boat for engine in engines),
        "tasks an engine is without": any(engine.without for engine in engines),
        "a season of the fleet's own": "season" in settings,
        **{
            f"hemisphere: {place}": settings.get("hemisphere") == place
            for place in ("northern", "southern", "tropics")
        },
        **{
            f"use: {use}": any(boat.use == use for boat in fleet.boats.values())
            for use in ("hire", "club", "owner")
        },
        "a leap day": any((day.month, day.day) == (2, 29) for day in dates),
        "a 31st": any(day.day == 31 for day in dates),
        "entries after the day looked from": any(entry.on > as_of for entry in fleet.log),
        "a long log": len(fleet.log) > 20,
    }


def of_the_log(fleet: Fleet) -> dict[str, bool]:
    log = fleet.log
    since = {name: engine.since for name, engine in fleet.engines.items()}
    runs = [entry for entry in log if entry.event == "run"]
    jobs = [entry for entry in log if entry.event == "job"]
    early = [job for job in jobs if job.on < since[job.engine]]
    on_time = [job for job in jobs if job not in early]
    same_day = Counter((job.engine, job.task, job.on) for job in on_time)
    figures = Counter((entry.engine, entry.on) for entry in log if entry.reading is not None)
    places = Counter((e.engine, e.on) for e in log if e.event in ("store", "mount"))
    events = ("move", "mount", "store", "swap", "lay-up", "launch", "put-off", "retire")
    return {
        **{event: any(entry.event == event for entry in log) for event in events},
        **{
            f"a move to {water}": any(e.event == "move" and e.water == water for e in log)
            for water in WATERS
        },
        **{
            f"a reading with a {event}": any(e.event == event and e.reading for e in log)
            for event in ("job", "finding", "incident", "run")
        },
        "a run with its water": any(run.water for run in runs),
        "a run without its water": any(not run.water for run in runs),
        "fuel": any(run.fuel is not None for run in runs),
        "hire time": any(run.condition == "hire time" for run in runs),
        "a run on an engine's first day": any(run.on == since[run.engine] for run in runs),
        "several figures a day": any(times > 1 for times in figures.values()),
        "a job without a reading": any(job.reading is None for job in on_time),
        "two jobs of a task a day": any(times > 1 for times in same_day.values()),
        "an earlier job with its reading": any(job.reading is not None for job in early),
        "an earlier job without its reading": any(job.reading is None for job in early),
        "into store and onto a boat in a day": any(times > 1 for times in places.values()),
        "a figure on an engine's first day": any(
            entry.reading is not None and entry.on == since.get(entry.engine) for entry in log
        ),
    }


def of_meters(known: Known) -> dict[str, bool]:
    engines = list(known.fleet.engines)
    changes = [entry for entry in known.log if entry.event == "meter"]
    both = [e for e in changes if e.reading is not None and e.old_reading is not None]
    rolled = [e for e in both if e.old_reading in (1000, 10000)]
    intervals = [(engine, i) for engine in engines for i in known.meter(engine).intervals]
    left = [known.unexplained(engine, interval) for engine, interval in intervals]
    idle_days = [
        i.to > i.after and any(known.laid_up(e, d) for d in known.spread_days(e, i))
        for e, i in intervals
    ]
    runs = [e for e in known.log if e.event == "run"]
    return {
        "a meter replaced": len(both) > len(rolled),
        "a meter rolled over": bool(rolled),
        "a meter stopped": any(e.reading is None for e in changes),
        "a meter fitted": any(e.old_reading is None for e in changes),
        "readings above the runs": any(hours > 0 for hours in left),
        "runs above the readings": any(hours < 0 for hours in left),
        "runs that explain the readings": any(
            hours == 0 and i.hours > 0 for hours, (_, i) in zip(left, intervals, strict=True)
        ),
        "hours spread around a lay-up or store": any(
            len(known.spread_days(e, i)) < (i.to - i.after).days for e, i in intervals
        ),
        "hours of an engine laid up all the time": any(idle_days),
        "a run of an engine in store": any(known.in_store(e.engine, e.on) for e in runs),
        "a run of an engine laid up": any(known.laid_up(e.engine, e.on) for e in runs),
        "a figure of an old meter on the day of the new": any(
            e.old_reading is not None
            and any(day == e.on for day, _ in known.meter(e.engine).figures)
            for e in both
        ),
    }


def of_swaps(known: Known, as_of: date) -> dict[str, bool]:
    parts = [Component(name, kind) for name in known.fleet.engines for kind in COMPONENTS]
    swaps = [(part, known.swaps(part)) for part in parts]
    return {
        "a component that came back": any(
            any(new == part.of for _, _, new in moves) for part, moves in swaps
        ),
        "a component that keeps a stored engine's salt": any(
            (known.kept_water(part, as_of) or water) != water
            for part in parts
            for water in [known.home_water(known.carrier(part, as_of), as_of)]
        ),
        "a component put into an engine in store": any(
            known.in_store(new, on) for _, moves in swaps for on, _, new in moves
        ),
        "a kept component that went on": any(
            len(moves) > 1 and known.kept_water(part, moves[-1][0]) for part, moves in swaps
        ),
    }


def of_rules(tasks: list[Task], sets: Sets) -> dict[str, bool]:
    limits = [task["limits"] for task in tasks if "limits" in task]
    pairs = [pair for given in limits for pair in given.values()]
    return {
        "one set on another": len(sets) > 1,
        "limits in salt alone": any(set(given) == {"salt"} for given in limits),
        "limits in all three waters": any(len(given) == 3 for given in limits),
        "a limit of hours alone": any(set(pair) == {"hours"} for pair in pairs),
        "a limit of months alone": any(set(pair) == {"months"} for pair in pairs),
        "a limit of days": any("days" in pair for pair in pairs),
        "restarts": any("restarts" in task for task in tasks),
        "only": any("only" in task for task in tasks),
        "first": any("first" in task for task in tasks),
        "misses": any("misses" in task for task in tasks),
        "no limits": any("limits" not in task for task in tasks),
        "a look at every start": any(looked_at_every_start(task) for task in tasks),
    }


def of_rows(rows: list[Row]) -> dict[str, bool]:
    def any_row(key: str, value: Any) -> bool:
        return any(row[key] == value for row in rows)

    return {
        **{f"status: {s}": any_row("status", s) for s in ("overdue", "no record", "due", "clear")},
        **{f"governed by {by}": any_row("governed_by", by) for by in ("hours", "calendar", None)},
        "raised by likely hours": any_row("raised_by_likely_hours", True),
        "a floor above 1": any((row["life_floor"] or 0) > 1 for row in rows),
        "put off until a day ahead": any(row["put_off_until"] for row in rows),
        "put off more than once": any(row["put_off_times"] > 1 for row in rows),
        "put off until a day past": any(
            row["put_off_times"] and not row["put_off_until"] for row in rows
        ),
    }


def of_clocks(known: Known, sets: Sets, uses: dict[str, Any], as_of: date) -> dict[str, bool]:
    """What the clocks of the rows show: what started them, and which triggers stand open."""
    found: set[str] = set()
    for engine in known.fleet.engines.values():
        if engine.since > as_of or known.entries(engine.name, "retire"):
            continue
        tasks = read_tasks(sets, engine.rules)
        for name, task in tasks.items():
            component = known.carried(engine.name, task["component"], as_of)
            clock = clock_of(known, component, tasks, name)
            if not has_row(engine, task):
                if clock.job is not None and engine.name == clock.job.engine:
                    found.add("a job of a task without a row")
                continue
            found |= of_clock(known, clock, engine.name)
            for trigger in ("each_run", "after", "idle", "season"):
                alone = {k: v for k, v in task.items() if k in (trigger, "misses")}
                only = dataclasses.replace(clock, task=alone)
                for opened in triggers_of(known, only, engine.name, uses, as_of):
                    state = "overdue" if opened.overdue_since else "due"
                    found.add(f"{trigger} {state if opened.is_open else 'ahead'}")
    names = "a job of a task without a row,a clock started by another task's job"
    names += ",a clock started by an earlier job,a clock of a swapped component"
    names += ",a job on another engine,first service,strictest in two waters"
    names += ",each_run due,each_run overdue,after due,after overdue,idle due,idle overdue"
    names += ",season ahead,season due,season overdue"
    return {name: name in found for name in names.split(",")}


def of_clock(known: Known, clock: Clock, engine: str) -> set[str]:
    found = set()
    if clock.job is not None and clock.kind == "job":
        if clock.job.task != clock.task["name"]:
            found.add("a clock started by another task's job")
        if clock.job.on < clock.since:
            found.add("a clock started by an earlier job")
        if clock.job.engine != engine:
            found.add("a job on another engine")
    if clock.component.of != engine:
        found.add("a clock of a swapped component")
    if clock.kind == "new" and "first" in clock.task:
        found.add("first service")
    if clock.task.get("mixing") == "strictest" and "limits" in clock.task:
        waters = {share.water for share in known.component_hours(clock.component)}
        if len(waters) > 1:
            found.add("strictest in two waters")
    return found
