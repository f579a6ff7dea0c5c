"""Rule sets: one laid over another, and the book of all that a fleet can name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fleetcare.errors import Fault, FaultsError, RefusedError
from fleetcare.fleet.names import did_you_mean, folded
from fleetcare.rules.kits import check_kits, kits_over, read_kit
from fleetcare.rules.reading import (
    LIMIT_KEYS,
    Faults,
    check_shape,
    parse,
    read_access,
    read_rule,
)
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.words import Condition, IncidentKind, Use

MOST_EXTENDS = 8


@dataclass(frozen=True, slots=True)
class RuleBook:
    """Everything the rule files say: sets, uses, conditions of parts, kinds of incident."""

    sets: Mapping[str, RuleSet]
    uses: Mapping[str, Use]
    conditions: Mapping[str, Mapping[str, Condition]]
    incidents: Mapping[str, IncidentKind]

    def set_of(self, name: str) -> RuleSet:
        """The set of that name; refused with the nearest ones when there is none."""
        if name not in self.sets:
            raise _no_set(name, self.sets)
        return self.sets[name]

    def again_soon(self) -> tuple[str, ...]:
        """The tasks of which a list must know more than the last job."""
        return tuple(
            sorted(
                {
                    rule.name
                    for ruleset in self.sets.values()
                    for rule in ruleset.rules.values()
                    if rule.soon_again is not None
                }
            )
        )


def _no_set(name: str, known: Iterable[str]) -> RefusedError:
    near = did_you_mean(name, known) or "fleetcare rules list shows them."
    return RefusedError(f'no rule set "{name}". {near}')


def read_set(name: str, texts: Mapping[str, tuple[str, str]]) -> RuleSet:
    """The set of that name out of texts by name: (text, where it was read); faults are raised."""
    if name not in texts:
        raise _no_set(name, texts)
    merged, where = _merged(name, texts, ())
    faults = Faults(where)
    head = merged["set"]
    access = {key: read_access(key, row, faults) for key, row in merged["access"].items()}
    rules = {key: read_rule(key, row, faults) for key, row in merged["task"].items()}
    kits = {key: read_kit(key, row, faults) for key, row in merged["kit"].items()}
    ruleset = RuleSet(
        str(head["name"]), str(head.get("title", head["name"])), str(head.get("basis", "")),
        rules, access, str(head.get("extends", "")), where, kits,
    )  # fmt: skip
    _check_names(ruleset, faults)
    check_kits(ruleset, faults)
    if faults:
        if ruleset.extends:  # what is wrong beneath is told of the file it stands in
            read_set(ruleset.extends, texts)
        raise FaultsError(faults)
    return ruleset


def _check_names(ruleset: RuleSet, faults: Faults) -> None:
    """Note names that point nowhere."""
    for rule in ruleset.rules.values():
        for key, names, known in (
            ("restarts", rule.restarts, ruleset.rules),
            ("access", rule.access, ruleset.access),
        ):
            for name in names:
                if name not in known:
                    near = did_you_mean(name, known)
                    faults.at(f'task "{rule.name}": {key}', f'"{name}" is not in the set', near)
    for step in ruleset.access.values():
        for name in step.includes:
            if name not in ruleset.access:
                near = did_you_mean(name, ruleset.access)
                faults.at(f'access "{step.name}": includes', f'"{name}" is not a step', near)
        if _comes_back(step.name, ruleset):
            faults.at(f'access "{step.name}": includes', "leads back to the step itself")


def _comes_back(step: str, ruleset: RuleSet) -> bool:
    """Whether what a step includes, and what that includes in turn, includes the step."""
    seen: set[str] = set()
    ahead = list(ruleset.access[step].includes)
    while ahead:
        name = ahead.pop()
        if name not in seen and name in ruleset.access:
            seen.add(name)
            ahead += ruleset.access[name].includes
    return step in seen


def _merged(
    name: str, texts: Mapping[str, tuple[str, str]], above: tuple[str, ...]
) -> tuple[dict[str, Any], str]:
    """A set's tables with those of the sets it extends beneath them."""
    text, where = texts[name]
    data = parse(text, where)
    if isinstance(data, Faults):
        raise FaultsError(data)
    faults = Faults(where)
    check_shape(data, faults)
    if not faults and data["set"]["name"] != name:
        faults.at(
            "[set]: name", f'is "{data["set"]["name"]}"', f'Write the file\'s own: name = "{name}"'
        )
    base: dict[str, Any] = {"access": {}, "task": {}, "kit": {}}
    parent = data.get("set", {}).get("extends", "") if not faults else ""
    if parent:
        if parent not in texts:
            faults.at("[set]: extends", f'no rule set "{parent}"', did_you_mean(parent, texts))
        elif parent in (*above, name):
            faults.at("[set]: extends", f'goes round in a circle at "{parent}"')
        elif len(above) >= MOST_EXTENDS:
            faults.at("[set]: extends", f"stacks more than {MOST_EXTENDS} sets")
        else:
            base, _ = _merged(parent, texts, (*above, name))
    if faults:
        raise FaultsError(faults)
    tasks = _tasks_over(base["task"], data.get("task", []), faults)
    kits = kits_over(base["kit"], data.get("kit", []), faults)
    if faults:
        raise FaultsError(faults)
    access = {**base["access"], **data.get("access", {})}
    return {"set": data["set"], "access": access, "task": tasks, "kit": kits}, where


def _tasks_over(
    base: Mapping[str, Mapping[str, Any]], rows: Sequence[Mapping[str, Any]], faults: Faults
) -> dict[str, Mapping[str, Any]]:
    """The tasks of a file laid over those beneath it, by name."""
    tasks = dict(base)
    below = {folded(name): name for name in base}
    seen: set[str] = set()
    for at, row in enumerate(rows, start=1):
        name = row.get("name")
        if not isinstance(name, str) or not name.strip():
            mend = 'Write name = "…", the word typed for the job.'
            faults.at(f"[[task]] number {at}", "has no name", mend)
            continue
        if folded(name) in seen:
            faults.at(f'task "{name}"', "stands twice in the file", "Keep one of them.")
        elif below.get(folded(name), name) != name:
            known = below[folded(name)]
            faults.at(
                f'task "{name}": name',
                f'is written "{known}" in the set beneath',
                f'name = "{known}"',
            )
        seen.add(folded(name))
        tasks[name] = laid_over(tasks.get(name, {}), row)
    return tasks


def laid_over(base: Mapping[str, Any], row: Mapping[str, Any]) -> dict[str, Any]:
    """A task laid over the one of the same name beneath it: key by key, limits water by water.

    A figure changed without a source of its own does not keep the other figure's.
    """
    merged = {**base, **row}
    if base and {"limits", "first"} & row.keys() and "source" not in row:
        merged["source"] = "changed in a set that names no source"
    below, above = base.get("limits"), row.get("limits")
    if isinstance(below, dict) and isinstance(above, dict) and above and not _one_set(above):
        if _one_set(below):
            below = {"fresh": below, "salt": below}
        merged["limits"] = {**below, **above}
    return merged


def _one_set(limits: Mapping[str, Any]) -> bool:
    return any(key in LIMIT_KEYS for key in limits)


def _with_word(word: str, ruleset: RuleSet) -> str:
    """The tasks of which a typed word is a part, such as oil; it alone does not say which."""
    tasks = sorted(task for task in ruleset.rules if word and word in folded(task).split())
    return f"Tasks with that word: {', '.join(tasks)}." if tasks else ""


def task_of(ruleset: RuleSet, name: str) -> str | Fault:
    """The task that a typed name means, or what is wrong with it."""
    wanted = folded(name)
    for task in ruleset.rules:
        if folded(task) == wanted:
            return task
    near = did_you_mean(name, ruleset.rules)
    hint = (
        near
        or _with_word(wanted, ruleset)
        or (f"fleetcare rules show {ruleset.name} lists the tasks.")
    )
    return Fault(f'task "{name}"', f'is not in the rule set "{ruleset.name}"', hint)
