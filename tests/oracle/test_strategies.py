"""The drawn fleets are ones that the rules of the log accept, and they show every feature."""

from __future__ import annotations

import functools
import tomllib
from collections import Counter
from datetime import date, timedelta
from typing import Any

from tests.oracle.clocks import Clock, Past, clock_of, count, counted_hours
from tests.oracle.features import features_of
from tests.oracle.given import COLUMNS, Entry, Fleet, days_between, read_fleet, read_tasks
from tests.oracle.known import Known
from tests.oracle.oracle import Row, due_rows, limits_overdue_since
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

TIMES = 300


@functools.cache
def rows_of(index: int) -> list[Row]:
    tables, texts, as_of = sample(TIMES)[index]
    return due_rows(tables, read_sets(texts), USES, as_of)


def read_sets(texts: dict[str, str]) -> dict[str, dict[str, Any]]:
    return {name: tomllib.loads(text) for name, text in texts.items()}


# --- what the log refuses -------------------------------------------------------------------


def twice_a_day(log: tuple[Entry, ...]) -> list[str]:
    """Two moves of one boat, two mounts or meters of one engine, two swaps of one place."""
    touched: Counter[tuple[Any, ...]] = Counter()
    for entry in log:
        if entry.event == "move":
            touched[entry.on, "move", entry.boat] += 1
        elif entry.event in ("mount", "store", "meter", "lay-up", "launch"):
            touched[entry.on, entry.event, entry.engine] += 1
        elif entry.event == "swap":
            touched[entry.on, entry.component, entry.engine] += 1
            touched[entry.on, entry.component, entry.other] += 1
    return [f"twice: {key}" for key, times in touched.items() if times > 1]


def out_of_turn(fleet: Fleet, known: Known) -> list[str]:
    """Entries that an engine's place, its season, its first or its last day does not allow."""
    found = []
    for name, engine in fleet.engines.items():
        own = [e for e in fleet.log if name in (e.engine, e.other)]
        found += [f"early: {e}" for e in own if e.on < engine.since and e.event != "job"]
        ends = [e.on for e in own if e.event == "retire"]
        found += [f"retired: {e}" for e in own if ends and e.on >= ends[0] and e.event != "retire"]
        turns = [e.event for e in known.entries(name, "lay-up", "launch")]
        found += [f"season: {turns}"] if turns != (["lay-up", "launch"] * 99)[: len(turns)] else []
        for entry in known.entries(name, "store", "mount"):
            before = known.boat_under(name, entry.on - timedelta(days=1))
            stored_today = any(e.on == entry.on for e in known.entries(name, "store"))
            if entry.event == "store" and before is None:
                found.append(f"stored twice: {entry}")
            if entry.event == "mount" and before == entry.boat and not stored_today:
                found.append(f"mounted twice: {entry}")
    return found


def more_than_a_day_holds(fleet: Fleet, known: Known) -> list[str]:
    """Meters that fall, or rise by more than 24 h a day; runs of more than 24 h on one day."""
    found = []
    for name in fleet.engines:
        for interval in known.meter(name).intervals:
            if not 0 <= interval.hours <= 24 * (interval.to - interval.after).days:
                found.append(f"{name}: {interval}")
        runs: Counter[date] = Counter()
        for run in known.entries(name, "run"):
            runs[run.on] += known.run_hours(run)  # type: ignore[assignment]  # exact, not whole
        found += [f"{name}: {day} {hours} h" for day, hours in runs.items() if hours > 24]
    return found


def figures_out_of_step(known: Known) -> list[str]:
    """A day's figures lie between the closes of the days before and after it."""
    found = []
    for name in known.fleet.engines:
        line = known.meter(name)
        for (day, figure), hours in line.figures.items():
            before = [value for on, value in line.closes.items() if on < day]
            if any(value > hours for value in before) or hours > line.closes[day]:
                found.append(f"{name}: {figure} on {day}")
    return found


def first_jobs_above_the_meter(fleet: Fleet) -> list[str]:
    found = []
    for entry in fleet.log:
        if entry.event == "job" and entry.reading is not None:
            engine = fleet.engines[entry.engine]
            if entry.on < engine.since and not (engine.meter and entry.reading <= engine.reading):
                found.append(f"above: {entry}")
    return found


def faults_of(fleet: Fleet, known: Known) -> list[str]:
    return [
        *twice_a_day(fleet.log),
        *out_of_turn(fleet, known),
        *more_than_a_day_holds(fleet, known),
        *figures_out_of_step(known),
        *first_jobs_above_the_meter(fleet),
    ]


def test_every_drawn_log_is_one_that_its_rules_accept() -> None:
    for tables, _, _ in sample(TIMES):
        fleet = read_fleet(tables)
        assert faults_of(fleet, Known(fleet, date.max)) == []
        for table, rows in tables.items():
            assert all(list(cells) == COLUMNS[table] for cells in rows)


def test_a_drawn_rule_that_limits_any_water_limits_salt() -> None:
    for _, texts, _ in sample(TIMES):
        sets = read_sets(texts)
        for name in sets:
            for task in read_tasks(sets, name).values():
                assert "salt" in task.get("limits", {"salt": {}})


# --- what the rows hold ---------------------------------------------------------------------


def test_the_rows_of_every_drawn_fleet_agree_with_themselves() -> None:
    for index, (_, _, as_of) in enumerate(sample(TIMES)):
        rows = rows_of(index)
        names = [(row["engine"], row["task"]) for row in rows]
        assert names == sorted(set(names))
        for row in rows:
            assert (row["overdue_since"] is not None) == (row["status"] == "overdue")
            assert row["overdue_since"] is None or row["overdue_since"] <= as_of.isoformat()
            assert row["life_used"] is None or row["life_floor"] is None
            assert row["hours_since"] >= 0
            if row["status"] == "no record":
                assert row["life_used"] is None and row["last_done_on"] is None
            if row["status"] == "clear" and row["life_used"] is not None:
                assert row["life_used"] < 1


def test_the_order_of_a_days_entries_changes_no_row() -> None:
    for index in range(0, TIMES, 5):
        tables, texts, as_of = sample(TIMES)[index]
        backwards = {**tables, "log": tables["log"][::-1]}
        found = due_rows(backwards, read_sets(texts), USES, as_of)
        # of two put-offs on one day the later written counts
        written = {"put_off_until", "because"}
        for one, other in zip(rows_of(index), found, strict=True):
            assert {k: v for k, v in one.items() if k not in written} == {
                k: v for k, v in other.items() if k not in written
            }


def test_overdue_since_is_the_first_day_that_a_fresh_look_finds_life_above_one() -> None:
    for tables, texts, as_of in sample(TIMES)[::50]:
        fleet, sets = read_fleet(tables), read_sets(texts)
        looks: dict[date, Known] = {}
        for clock in clocks_of(fleet, sets, as_of):
            first = None
            for day in days_between(max(clock.start, clock.since), as_of):
                known = looks.setdefault(day, Known(fleet, day))
                if count(known, clock, counted_hours(known, clock), day).life > 1:
                    first = day
                    break
            found = limits_overdue_since(Past(fleet), clock, as_of)
            # before `since` nothing could be looked at: the row dates it by the calendar
            assert first == found or (found is not None and found < clock.since == first)


def clocks_of(fleet: Fleet, sets: dict[str, dict[str, Any]], as_of: date) -> list[Clock]:
    known, found = Known(fleet, as_of), []
    for engine in fleet.engines.values():
        tasks = read_tasks(sets, engine.rules)
        for name, task in tasks.items():
            if "limits" in task:
                component = known.carried(engine.name, task["component"], as_of)
                found.append(clock_of(known, component, tasks, name))
    return found


def test_the_drawn_fleets_show_every_feature() -> None:
    shown: Counter[str] = Counter()
    for index, (tables, texts, as_of) in enumerate(sample(TIMES)):
        found = features_of(tables, read_sets(texts), USES, as_of, rows_of(index))
        shown.update({name: int(there) for name, there in found.items()})
    assert [name for name, times in shown.items() if times == 0] == []
