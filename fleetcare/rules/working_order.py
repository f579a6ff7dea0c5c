"""In which order jobs done together on one engine are worked through, read from TOML."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleetcare.errors import Fault
from fleetcare.fleet.names import did_you_mean
from fleetcare.rules.bench import access_steps
from fleetcare.rules.rule import Access, RuleSet

_KEYS = ("steps", "before", "last", "source")


@dataclass(frozen=True, slots=True)
class Order:
    """Access steps from the first to the last, pairs of jobs, and the jobs that end a visit."""

    steps: tuple[str, ...] = ()
    before: tuple[tuple[str, str], ...] = ()
    last: tuple[str, ...] = ()
    source: str = ""


def read_order(data: Mapping[str, Any], where: str) -> Order | list[Fault]:
    """The order out of parsed TOML, or every fault in it."""
    faults = [
        Fault(f"{where}: {key}", "is not a key", did_you_mean(key, _KEYS))
        for key in data
        if key not in _KEYS
    ]
    lists = {}
    for key in ("steps", "last"):
        lists[key] = data.get(key, [])
        if not _are_names(lists[key]):
            faults.append(Fault(f"{where}: {key}", "takes a list of names, each once"))
    pairs = data.get("before", [])
    if not isinstance(pairs, list) or not all(_are_names(pair, 2) for pair in pairs):
        faults.append(Fault(f"{where}: before", 'takes pairs, such as ["thermostat", "passages"]'))
    elif _goes_round(pairs):
        faults.append(Fault(f"{where}: before", "goes round in a circle"))
    if not data.get("source"):
        faults.append(Fault(f"{where}: source", "is missing"))
    if faults:
        return faults
    return Order(
        tuple(lists["steps"]), tuple((first, then) for first, then in pairs),
        tuple(lists["last"]), data["source"],
    )  # fmt: skip


def _are_names(value: Any, count: int | None = None) -> bool:
    return (
        isinstance(value, list)
        and all(isinstance(name, str) and name for name in value)
        and len(set(value)) == len(value)
        and count in (None, len(value))
    )


def _goes_round(pairs: Sequence[Sequence[str]]) -> bool:
    left = {(first, then) for first, then in pairs}
    while left:
        free = {first for first, _ in left} - {then for _, then in left}
        if not free:
            return True
        left = {pair for pair in left if pair[0] not in free}
    return False


def steps_in_order(ruleset: RuleSet, tasks: Iterable[str], order: Order) -> list[Access]:
    """The distinct access steps of the tasks, each after those that it includes."""
    place = {name: at for at, name in enumerate([*order.steps, *ruleset.access])}
    for at, name in enumerate(order.steps):  # one that stands in both keeps its first place
        place[name] = at
    waiting = access_steps(ruleset, tasks)
    found: list[Access] = []
    while waiting:
        ready = [
            name for name, step in waiting.items()
            if not any(inner in waiting and inner != name for inner in step.includes)
        ]  # fmt: skip
        name = min(ready, key=lambda name: place[name])
        found.append(waiting.pop(name))
    return found


def jobs_in_order(ruleset: RuleSet, tasks: Iterable[str], order: Order) -> list[str]:
    """The tasks as one works through them: outside ones first, then those behind each opening.

    Pairs and last jobs of the order go before that.
    """
    wanted = list(dict.fromkeys(tasks))
    opened = {step.name: at for at, step in enumerate(steps_in_order(ruleset, wanted, order), 1)}
    listed = {name: at for at, name in enumerate(ruleset.rules)}
    last = {name: at for at, name in enumerate(order.last, 1)}

    def place(task: str) -> tuple[int, int, int]:
        deepest = max((opened[name] for name in ruleset.rules[task].access), default=0)
        return last.get(task, 0), deepest, listed[task]

    waiting = sorted(wanted, key=place)
    found: list[str] = []
    while waiting:
        task = next(
            (
                task for task in waiting
                if not any(then == task and first in waiting for first, then in order.before)
            ),
            waiting[0],
        )  # fmt: skip
        waiting.remove(task)
        found.append(task)
    return found
