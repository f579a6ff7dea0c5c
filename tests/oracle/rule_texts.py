"""Random rule sets as TOML texts: every kind of limit and trigger, and one set on another."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import strategies as st

from tests.oracle.given import COMPONENTS, WATERS, Task

NAMES = ("impeller", "gear oil", "plugs", "swivel grease", "flush", "fuel filter", "pump look")
HARMS: tuple[list[str], ...] = ([], ["overheating"], ["seized swivel"], ["a worn gear"])
KINDS = ("overheated", "ran dry", "swamped")


def toml_value(value: Any) -> str:
    """A value as TOML, tables inline."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml_value(v)}" for key, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    return json.dumps(value)


def toml(name: str, extends: str, tasks: list[Task]) -> str:
    """A rule set's text."""
    lines = ["[set]", f"name = {toml_value(name)}", 'title = "Invented for a test"']
    if extends:
        lines.append(f"extends = {toml_value(extends)}")
    for task in tasks:
        lines += ["", "[[task]]", *(f"{key} = {toml_value(v)}" for key, v in task.items())]
    return "\n".join(lines) + "\n"


@st.composite
def pairs(draw: st.DrawFn) -> dict[str, Any]:
    """One limit: hours, a date, or both."""
    pair: dict[str, Any] = {}
    shape = draw(st.sampled_from(["both", "both", "hours", "months", "days", "hours and days"]))
    if shape in ("both", "hours", "hours and days"):
        pair["hours"] = draw(st.sampled_from([4, 10, 12.5, 20, 25, 50, 100]))
    if shape in ("both", "months"):
        pair["months"] = draw(st.sampled_from([1, 1, 2, 3, 6, 12]))
    if shape in ("days", "hours and days"):
        pair["days"] = draw(st.sampled_from([7, 30, 60, 180]))
    return pair


@st.composite
def limits(draw: st.DrawFn) -> dict[str, Any]:
    """Limits for every water at once, or water by water; salt is never left out."""
    shape = draw(st.sampled_from(["all", "salt", "fresh and salt", "fresh and salt", "three"]))
    if shape == "all":
        return draw(pairs())
    found = {"salt": draw(pairs())}
    if shape != "salt":
        found["fresh"] = draw(pairs())
    if shape == "three":
        found["brackish"] = draw(pairs())
    return found


def chance(draw: st.DrawFn, percent: int) -> bool:
    return draw(st.integers(0, 99)) >= 100 - percent


@st.composite
def tasks(draw: st.DrawFn, name: str, others: list[str]) -> Task:
    """One task, with limits, triggers, or both."""
    task: Task = {"name": name, "title": f"See to the {name}"}
    task["component"] = draw(st.sampled_from(["gearcase", "gearcase", "gearcase", *COMPONENTS]))
    if chance(draw, 80):
        task["limits"] = draw(limits())
        if chance(draw, 30):
            task["first"] = draw(pairs())
        if chance(draw, 30):
            task["mixing"] = draw(st.sampled_from(["strictest", "strictest", "proportional"]))
    task |= draw(triggers(at_least_one="limits" not in task))
    if chance(draw, 25):
        task["restarts"] = [draw(st.sampled_from(others))]
    if chance(draw, 20):
        task["only"] = draw(
            st.sampled_from(
                [{"hp": [2, 5]}, {"hp": [5, 40]}, {"stroke": 4}, {"steering": "remote"}]
            )
        )
    harm = draw(st.sampled_from(HARMS))
    if harm:
        task["leads_to"] = list(harm)
        task["chain"] = "invented: it fails, and then the next thing does"
    return {**task, "source": "invented for a test"}


@st.composite
def triggers(draw: st.DrawFn, at_least_one: bool) -> Task:
    found: Task = {}
    kinds = ["each_run", "after", "idle", "season"]
    must = draw(st.sampled_from(kinds)) if at_least_one else ""
    for kind in kinds:
        if kind != must and not chance(draw, 20 if kind in ("after", "season") else 12):
            continue
        if kind == "each_run":
            found[kind] = draw(
                st.sampled_from([["salt"], ["salt", "brackish"], ["fresh"], list(WATERS)])
            )
            if chance(draw, 50):
                found["misses"] = draw(st.integers(0, 4))
        elif kind == "after":
            found[kind] = draw(st.sampled_from([["overheated"], list(KINDS)]))
        elif kind == "idle":
            found[kind] = {"months": draw(st.sampled_from([1, 1, 2, 3]))}
        else:
            found[kind] = draw(st.sampled_from(["lay-up", "launch"]))
    return found


@st.composite
def overlays(draw: st.DrawFn, below: Task) -> Task:
    """A task that changes one of the base's, key by key."""
    task: Task = {"name": below["name"], "limits": draw(limits())}
    if chance(draw, 30):
        task["mixing"] = "strictest"
    if "each_run" in below and chance(draw, 50):
        task["misses"] = 1
    return task


@st.composite
def rule_books(draw: st.DrawFn) -> dict[str, str]:
    """One set, or two of which the second extends the first."""
    names = list(NAMES[: draw(st.integers(3, 5))])
    base = [draw(tasks(name, [n for n in names if n != name])) for name in names]
    texts = {"small-petrol": toml("small-petrol", "", base)}
    if chance(draw, 40):
        changed = draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))
        above = [draw(overlays(task)) for task in base if task["name"] in changed]
        above.append(draw(tasks("pump look", names)))
        texts["hard-use"] = toml("hard-use", "small-petrol", above)
    return texts
