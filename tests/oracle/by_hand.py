"""What the cases worked by hand share: small rule sets, and one row or clock out of a case."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from tests.oracle.cases import tables
from tests.oracle.clocks import Clock, Counted
from tests.oracle.given import read_fleet
from tests.oracle.known import Known
from tests.oracle.oracle import Row, clock_and_count, due_rows
from tests.oracle.strategies import USES

GRADED: dict[str, Any] = {
    "fresh": {"hours": 100, "months": 12},
    "brackish": {"hours": 75, "months": 9},
    "salt": {"hours": 50, "months": 6},
}
Sets = dict[str, dict[str, Any]]


def rules(**keys: Any) -> Sets:
    """A set with one task, the impeller's, on the gearcase."""
    return a_set({"name": "impeller", "component": "gearcase", **keys})


def a_set(*tasks: dict[str, Any]) -> Sets:
    return {"small-petrol": {"set": {"name": "small-petrol"}, "task": list(tasks)}}


def row(text: str, sets: Sets, as_of: str, engine: str = "Plover", task: str = "impeller") -> Row:
    rows = due_rows(tables(text), sets, USES, date.fromisoformat(as_of))
    return next(row for row in rows if (row["engine"], row["task"]) == (engine, task))


def clock(
    text: str, sets: Sets, as_of: str, engine: str = "Plover", task: str = "impeller"
) -> tuple[Clock, Counted]:
    fleet = read_fleet(tables(text))
    return clock_and_count(fleet, sets, date.fromisoformat(as_of), engine, task)


def closes(text: str, engine: str = "Plover") -> dict[str, Fraction]:
    """The engine hours at the close of each day that has a figure."""
    line = Known(read_fleet(tables(text)), date.max).meter(engine)
    return {day.isoformat(): hours for day, hours in line.closes.items()}


def waters(fresh: str = "0", brackish: str = "0", salt: str = "0") -> dict[str, Fraction]:
    return {"fresh": Fraction(fresh), "brackish": Fraction(brackish), "salt": Fraction(salt)}
