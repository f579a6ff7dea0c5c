"""What jobs done together on one engine take: bench minutes, shared access once, parts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from fleetcare.rules.rule import Access, RuleSet


def access_steps(ruleset: RuleSet, tasks: Iterable[str]) -> dict[str, Access]:
    """The distinct access steps of the tasks, each after those that it includes."""
    steps: dict[str, Access] = {}
    for task in tasks:
        for name in ruleset.rules[task].access:
            _take(ruleset, name, steps, ())
    return steps


def _take(
    ruleset: RuleSet, name: str, steps: dict[str, Access], above: tuple[str, ...]
) -> None:  # fmt: skip
    if name in steps or name in above:  # a step that includes itself is one step
        return
    step = ruleset.access[name]
    for inner in step.includes:
        _take(ruleset, inner, steps, (*above, name))
    steps[name] = step


def minutes_of_visit(ruleset: RuleSet, tasks: Iterable[str]) -> int:
    """Minutes of jobs on one engine on one day: each job's, and each access step's once."""
    done = list(tasks)
    opened = sum(step.minutes for step in access_steps(ruleset, done).values())
    return opened + sum(ruleset.rules[task].minutes for task in done)


def parts_of_visit(ruleset: RuleSet, tasks: Iterable[str]) -> Counter[str]:
    """Items that such jobs use up, and those of opening what must be opened."""
    done = list(tasks)
    used: Counter[str] = Counter()
    for task in done:
        for part in ruleset.rules[task].parts:
            used[part.item] += part.count
    for step in access_steps(ruleset, done).values():
        for part in step.consumes:
            used[part.item] += part.count
    return used
