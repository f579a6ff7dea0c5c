"""The due list the slow way: `due_rows`, and `counted` for the exact working of one row."""

from __future__ import annotations

import math
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from tests.oracle.clocks import (
    Clock,
    Counted,
    Past,
    clock_of,
    count,
    counted_hours,
    life_after,
    summed,
    waters_of,
    whole_days,
)
from tests.oracle.given import (
    WATERS,
    Engine,
    Fleet,
    Tables,
    Task,
    days_between,
    read_fleet,
    read_tasks,
    strictest,
)
from tests.oracle.known import NOTHING, Component, Known, Share
from tests.oracle.triggers import Trigger, looked_at_every_start, triggers_of

Row = dict[str, Any]


def due_rows(
    tables: Tables, rule_sets: dict[str, dict[str, Any]], uses: dict[str, Any], as_of: date
) -> list[Row]:
    """A row for every job of every engine known on `as_of` and not retired by then."""
    fleet = read_fleet(tables)
    past = Past(fleet)
    known = past.at(as_of)
    rows = []
    for engine in fleet.engines.values():
        retired = known.entries(engine.name, "retire")
        if engine.since <= as_of and not retired:
            tasks = read_tasks(rule_sets, engine.rules)
            for name, task in tasks.items():
                if has_row(engine, task):
                    component = known.carried(engine.name, task["component"], as_of)
                    clock = clock_of(known, component, tasks, name)
                    rows.append(row_of(past, engine, clock, uses, as_of))
    return sorted(rows, key=lambda row: (row["engine"], row["task"]))


def clock_and_count(
    fleet: Fleet, rule_sets: dict[str, dict[str, Any]], as_of: date, engine: str, name: str
) -> tuple[Clock, Counted]:
    """The clock of one row and what it counted, in exact fractions."""
    known = Past(fleet).at(as_of)
    tasks = read_tasks(rule_sets, fleet.engines[engine].rules)
    component: Component = known.carried(engine, tasks[name]["component"], as_of)
    clock = clock_of(known, component, tasks, name)
    return clock, count(known, clock, counted_hours(known, clock), as_of)


# --- which rules have a row -----------------------------------------------------------------


def has_row(engine: Engine, task: Task) -> bool:
    """Whether a rule fits an engine and is more than a look at every start."""
    only = task.get("only", {})
    if engine.hp is not None and "hp" in only:
        low, high = (Fraction(str(figure)) for figure in only["hp"])
        if not low <= engine.hp <= high:
            return False
    if engine.stroke and "stroke" in only and engine.stroke != str(only["stroke"]):
        return False
    if engine.steering and "steering" in only and engine.steering != only["steering"]:
        return False
    others = any(key in task for key in ("limits", "after", "idle", "season"))
    listed = others or ("each_run" in task and not looked_at_every_start(task))
    return listed and task["name"] not in engine.without


# --- dates ----------------------------------------------------------------------------------


def limits_date(
    known: Known, clock: Clock, shares: list[Share], now: Counted, pace: Fraction, as_of: date
) -> date | None:
    """The day life reached 1, or will at this pace; without a clock start only the first."""
    waters = waters_of(known, clock, as_of)
    if now.life >= 1:
        return day_of_one_life(clock, shares, waters)
    if clock.kind == "unknown":
        return None
    pair = now.limits[waters[-1]]
    ahead = []
    if "hours" in pair and pace > 0:
        left = (1 - now.by_hours) * pair["hours"]
        ahead.append(math.ceil(left / pace))
    whole = whole_days(clock.start, pair)
    if whole is not None:
        ahead.append(math.ceil((1 - now.by_calendar) * whole))
    ahead = [days for days in ahead if days <= (date.max - as_of).days]
    return as_of + timedelta(days=min(ahead)) if ahead else None


def day_of_one_life(clock: Clock, shares: list[Share], waters: list[str]) -> date:
    """The first day that life reached 1, by what is known today."""
    seen = strictest(waters)
    hours = dict.fromkeys(WATERS, NOTHING)
    for after in range(len(waters)):
        day = clock.start + timedelta(days=after)
        for share in shares:
            if share.day == day:
                hours[share.water or ""] += share.hours
        _, by_hours, by_calendar = life_after(clock, hours, waters[: after + 1], seen)
        if max(by_hours, by_calendar) >= 1:
            return day
    raise AssertionError("life is 1 today, so on some day it came to be")


def pace_of(
    known: Known, clock: Clock, now: Counted, uses: dict[str, Any], engine: str, as_of: date
) -> Fraction:
    """Hours a day since the clock's start, if it has run; else its use's yearly hours."""
    hours, days = sum(now.hours.values(), NOTHING), (as_of - clock.start).days
    if hours > 0 and days > 0:
        return hours / days
    return Fraction(str(uses["use"][known.use_of(engine, as_of)]["hours_a_year"])) / 365


def limits_overdue_since(past: Past, clock: Clock, as_of: date) -> date | None:
    """The first day on which life was above 1 by the entries dated up to that day alone."""
    known: Known | None = None
    for day in days_between(clock.start, as_of):
        # of the days before `since`, as much is known as on it, but for their hours
        then = past.at(max(day, clock.since))
        if then is not known or day == clock.since:
            known, waters = then, waters_of(then, clock, day)
            hours, _ = summed(counted_hours(then, clock) if day >= clock.since else [])
        else:  # nothing new is known, and a day more has gone
            waters.append(then.component_water(clock.component, day))
        _, by_hours, by_calendar = life_after(clock, hours, waters)
        if max(by_hours, by_calendar) > 1:
            return day
    return None


# --- status ---------------------------------------------------------------------------------


def status_of(
    clock: Clock, now: Counted | None, on: date | None, found: list[Trigger], as_of: date
) -> tuple[str, bool]:
    """The status, and whether likely hours alone raised it."""
    overdue = any(trigger.overdue_since is not None for trigger in found)
    if overdue or (now is not None and now.life > 1):
        return "overdue", False
    if now is not None and clock.kind == "unknown":
        return "no record", False
    due = any(trigger.is_open for trigger in found)
    if now is not None and now.life == 1:
        due = True
    if now is not None and on is not None:
        due = due or 4 * (on - as_of).days <= min(120, (on - clock.start).days)
    if due:
        return "due", False
    if now is not None and max(now.by_hours_with_likely, now.by_calendar) >= 1:
        return "due", True
    return "clear", False


def governed_by(clock: Clock, now: Counted) -> str:
    by_date = any("months" in pair or "days" in pair for pair in clock.limits.values())
    if now.by_hours == now.by_calendar:
        return "calendar" if by_date else "hours"
    return "hours" if now.by_hours > now.by_calendar else "calendar"


# --- a row ----------------------------------------------------------------------------------


def rounded(value: Fraction | None, places: int) -> float | None:
    """Half up."""
    if value is None:
        return None
    return float(Fraction(math.floor(value * 10**places + Fraction(1, 2)), 10**places))


def iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def put_off(known: Known, clock: Clock, engine: str, as_of: date) -> Row:
    """The put-offs since the last job; the latest tells until when, while that is ahead."""
    entries = [
        entry
        for entry in known.entries(engine, "put-off")
        if entry.task == clock.task["name"] and (clock.job is None or entry.on > clock.job.on)
    ]
    last = entries[-1] if entries else None
    ahead = last is not None and last.until is not None and last.until > as_of
    return {
        "put_off_until": iso(last.until) if last and ahead else None,
        "put_off_times": len(entries),
        "because": last.note if last and ahead else None,
    }


def row_of(past: Past, engine: Engine, clock: Clock, uses: dict[str, Any], as_of: date) -> Row:
    known, name, task = past.at(as_of), engine.name, clock.task
    shares = counted_hours(known, clock)
    found = triggers_of(known, clock, name, uses, as_of)
    hours = sum((share.hours for share in shares), NOTHING)
    likely = sum((share.likely for share in shares), NOTHING)
    now, on, life, left, governed = None, None, None, None, None
    water = known.component_water(clock.component, as_of)
    if "limits" in task:
        now = count(known, clock, shares, as_of)
        pace = pace_of(known, clock, now, uses, name, as_of)
        on = limits_date(known, clock, shares, now, pace, as_of)
        life = rounded(now.life, 6)
        if clock.kind != "unknown":
            governed = governed_by(clock, now)
            if "hours" in now.limits[water]:
                left = (1 - now.by_hours) * now.limits[water]["hours"]
    status, raised = status_of(clock, now, on, found, as_of)
    due_on = min([day for day in [on, *(trigger.on for trigger in found)] if day], default=None)
    overdue_since = None
    if status == "overdue":
        days = [trigger.overdue_since for trigger in found]
        if now is not None:
            days.append(limits_overdue_since(past, clock, as_of))
        overdue_since = min(day for day in days if day is not None)
    started = clock.job if clock.kind == "job" else None
    return {
        "engine": name,
        "boat": known.boat_under(name, as_of),
        "component": task["component"],
        "part": task.get("part"),
        "task": task["name"],
        "title": task.get("title"),
        "status": status,
        "governed_by": governed,
        "life_used": None if clock.kind == "unknown" else life,
        "life_floor": life if clock.kind == "unknown" else None,
        "hours_since": rounded(hours, 2),
        "hours_left": rounded(left, 2),
        "likely_hours": rounded(likely, 2),
        "days_since": (as_of - clock.start).days,
        "water": water,
        "due_early": iso(due_on),
        "due_on": iso(due_on),
        "due_late": iso(due_on),
        "overdue_since": iso(overdue_since),
        "leads_to": list(task.get("leads_to", [])),
        "last_done_on": iso(started.on) if started else None,
        "last_done_hours": rounded(started.reading, 2) if started else None,
        "raised_by_likely_hours": raised,
        **put_off(known, clock, name, as_of),
    }
