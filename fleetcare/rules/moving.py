"""What moving a component takes, read from TOML: access, minutes, tests, jobs done with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.components import COMPONENTS
from fleetcare.fleet.names import did_you_mean

_KEYS = ("access", "minutes", "tests", "renew", "cautions", "source")


@dataclass(frozen=True, slots=True)
class Test:
    """A test before the spanner: its minutes, what it tells, the task and part that log it."""

    name: str
    minutes: int
    tells: str
    task: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True)
class Moving:
    """What it takes to move one kind of component from one engine to another."""

    kind: str
    access: tuple[str, ...]
    minutes: int
    tests: tuple[Test, ...] = ()
    renew: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    source: str = ""


def read_moving(data: Mapping[str, Any], where: str) -> dict[str, Moving] | list[Fault]:
    """What moving each kind of component takes, or every fault in it."""
    found: dict[str, Moving] = {}
    faults: list[Fault] = []
    for kind, row in data.get("component", {}).items():
        place = f'{where}: component "{kind}"'
        if kind not in COMPONENTS:
            faults.append(Fault(place, "is no component", did_you_mean(kind, COMPONENTS)))
            continue
        for key in row:
            if key not in _KEYS:
                faults.append(Fault(f"{place}: {key}", "is not a key", did_you_mean(key, _KEYS)))
        if not isinstance(row.get("minutes"), int) or row["minutes"] < 0:
            faults.append(Fault(f"{place}: minutes", "takes a whole number"))
            continue
        if not row.get("source"):
            faults.append(Fault(f"{place}: source", "is missing"))
        tests = tuple(
            Test(
                str(test.get("name", "")), int(test.get("minutes", 0)), str(test.get("tells", "")),
                str(test.get("task", "")), str(test.get("part", "")),
            )
            for test in row.get("tests", ())
        )  # fmt: skip
        found[kind] = Moving(
            kind, tuple(row.get("access", ())), row["minutes"], tests,
            tuple(row.get("renew", ())), tuple(row.get("cautions", ())), row.get("source", ""),
        )  # fmt: skip
    faults += [
        Fault(f"{where}: component", f'"{kind}" is missing')
        for kind in COMPONENTS
        if kind not in data.get("component", {})
    ]
    return faults or found
