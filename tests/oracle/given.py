"""What is given: the four tables and the rule sets, read from cells into plain values."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

WATERS = ("fresh", "brackish", "salt")  # from the mildest to the strictest
COMPONENTS = (
    "powerhead",
    "mid-section",
    "gearcase",
    "carburettor",
    "ignition",
    "fuel pump",
    "lower cowling",
)
COLUMNS = {
    "settings": ["name", "value"],
    "boats": ["boat", "use", "water", "since", "place", "also"],
    "engines": [
        *("engine", "boat", "family", "hp", "stroke", "year", "meter", "digits", "steering"),
        *("litres_hour", "rules", "without", "since", "reading", "new", "also"),
    ],
    "log": [
        *("on", "event", "engine", "boat", "task", "part", "reading", "hours", "fuel", "water"),
        *("condition", "count", "component", "other", "old_reading", "until", "item", "cost"),
        *("by", "note"),
    ],
}

Tables = dict[str, list[dict[str, str]]]
Limits = dict[str, dict[str, Any]]  # water -> {"hours", "months" or "days"}
Task = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Boat:
    name: str
    use: str
    water: str


@dataclass(frozen=True, slots=True)
class Engine:
    name: str
    boat: str
    hp: Fraction | None
    stroke: str
    steering: str
    meter: bool
    litres_hour: Fraction
    rules: str
    without: tuple[str, ...]
    since: date
    reading: Fraction
    new: bool


@dataclass(frozen=True, slots=True)
class Entry:
    on: date
    event: str
    engine: str
    boat: str
    task: str
    reading: Fraction | None
    hours: Fraction | None
    fuel: Fraction | None
    water: str
    condition: str
    component: str
    other: str
    old_reading: Fraction | None
    until: date | None
    note: str


@dataclass(frozen=True, slots=True)
class Fleet:
    settings: dict[str, str]
    boats: dict[str, Boat]
    engines: dict[str, Engine]
    log: tuple[Entry, ...]  # by date, and within a date as written


def number(cell: str) -> Fraction | None:
    return Fraction(cell) if cell else None


def day(cell: str) -> date | None:
    return date.fromisoformat(cell) if cell else None


def read_fleet(tables: Tables) -> Fleet:
    """The fleet and its log, from cells. A date that must be there and is not is a ValueError."""
    settings = {row["name"]: row["value"] for row in tables["settings"]}
    boats = {row["boat"]: Boat(row["boat"], row["use"], row["water"]) for row in tables["boats"]}
    engines = {row["engine"]: read_engine(row, settings) for row in tables["engines"]}
    log = sorted((read_entry(row) for row in tables["log"]), key=lambda entry: entry.on)
    return Fleet(settings, boats, engines, tuple(log))


def read_engine(row: dict[str, str], settings: dict[str, str]) -> Engine:
    hp = number(row["hp"])
    usual = Fraction("0.31") * (Fraction(10) if hp is None else hp) / 2
    return Engine(
        name=row["engine"],
        boat=row["boat"],
        hp=hp,
        stroke=row["stroke"],
        steering=row["steering"],
        meter=row["meter"] != "no",
        litres_hour=number(row["litres_hour"]) or usual,
        rules=row["rules"] or settings.get("rules") or "small-petrol",
        without=tuple(name.strip() for name in row["without"].split(";") if name.strip()),
        since=date.fromisoformat(row["since"]),
        reading=number(row["reading"]) or Fraction(0),
        new=row["new"] == "yes",
    )


def read_entry(row: dict[str, str]) -> Entry:
    return Entry(
        on=date.fromisoformat(row["on"]),
        event=row["event"],
        engine=row["engine"],
        boat=row["boat"],
        task=row["task"],
        reading=number(row["reading"]),
        hours=number(row["hours"]),
        fuel=number(row["fuel"]),
        water=row["water"],
        condition=row["condition"],
        component=row["component"],
        other=row["other"],
        old_reading=number(row["old_reading"]),
        until=day(row["until"]),
        note=row["note"],
    )


def read_tasks(rule_sets: dict[str, dict[str, Any]], name: str) -> dict[str, Task]:
    """The tasks of a set with its base overlaid, limits spelt out water by water."""
    text = rule_sets[name]
    base = text.get("set", {}).get("extends", "")
    tasks = read_tasks(rule_sets, base) if base else {}
    for given in text.get("task", []):
        task = dict(tasks.get(given["name"], {}))
        for key, value in given.items():
            task[key] = overlaid(task.get("limits", {}), value) if key == "limits" else value
        tasks[given["name"]] = task
    return tasks


def overlaid(below: Limits, given: dict[str, Any]) -> Limits:
    """One set for every water counts as fresh and salt, and leaves nothing of the base."""
    if not any(water in given for water in WATERS):
        return {"fresh": dict(given), "salt": dict(given)}
    return {**below, **given}


def limits_of(task: Task, first_service: bool) -> Limits:
    """Limits in each of the three waters, hours exact; an absent one is an empty pair."""
    given = task.get("limits", {})
    limits = {
        "fresh": dict(given.get("fresh", {})),
        "brackish": dict(given.get("brackish", given.get("salt", {}))),
        "salt": dict(given.get("salt", {})),
    }
    if first_service and "first" in task:
        for pair in limits.values():
            if "months" in task["first"] or "days" in task["first"]:
                pair.pop("months", None)
                pair.pop("days", None)
            pair.update(task["first"])
    for pair in limits.values():
        if "hours" in pair:
            pair["hours"] = Fraction(str(pair["hours"]))
    return limits


def add_months(start: date, months: int) -> date:
    """The same day of the month so many months on, or the last one that month has."""
    month = start.month - 1 + months
    year, month = start.year + month // 12, month % 12 + 1
    return date(year, month, min(start.day, calendar.monthrange(year, month)[1]))


def days_between(first: date, last: date) -> list[date]:
    """Every day from first to last, both included; none if last is before first."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def strictest(waters: list[str]) -> str:
    return max(waters, key=WATERS.index)
