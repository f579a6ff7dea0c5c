"""A rule set of one's own out of what was found: the shorter limits, with the reason."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from datetime import date

from fleetcare.fleet.figures import shown
from fleetcare.fleet.waters import WORDS
from fleetcare.repair.findings import HOURS, MONTHS
from fleetcare.repair.wear import Wear
from fleetcare.rules.rule import Limit, Rule, RuleSet

DAYS_A_MONTH = 365.25 / 12


def shorter_rules(name: str, ruleset: RuleSet, items: Sequence[Wear], as_of: date) -> str | None:
    """The TOML of a set called `name` that extends another with shorter limits.

    None when no limit of that set is to be shorter. A rule knows waters and not uses, so of
    several uses in one water the shortest holds. A stricter water is never left the longer limit.
    """
    by_task: dict[str, list[Wear]] = {}
    for item in items:
        if item.lives.group.ruleset == ruleset.name and item.shorter is not None:
            by_task.setdefault(item.lives.group.task, []).append(item)
    if not by_task:
        return None
    lines = [
        "# Written by fleetcare wear out of what was found. An engine's own handbook, local codes",
        "# and licensed practice come first. Look at every line before an engine uses it.",
        "",
        "[set]",
        f"name = {_quoted(name)}",
        f"title = {_quoted(f'{ruleset.title}, shorter where the findings say so')}",
        f"extends = {_quoted(ruleset.name)}",
        f"basis = {_quoted(f'What this fleet found up to {as_of}.')}",
    ]
    for task in ruleset.rules:
        if task in by_task:
            lines += ["", "[[task]]", *_task(ruleset.rules[task], by_task[task], as_of)]
    return "\n".join([*lines, ""])


def _task(rule: Rule, items: Sequence[Wear], as_of: date) -> list[str]:
    limits = _limits(rule, items)
    lines = [f"name = {_quoted(rule.name)}"]
    lines += [f"limits.{WORDS[water]} = {_limit(limit)}" for water, limit in limits.items()]
    return [*lines, f"source = {_quoted(_source(rule, items, as_of))}"]


def _limits(rule: Rule, items: Sequence[Wear]) -> Mapping[int, Limit]:
    """Every water's limit, each the shorter of its own, what was found, and the milder water's."""
    limits: dict[int, Limit] = {}
    hours: int | None = None
    days: float | None = None
    milder: Limit | None = None
    for water, limit in enumerate(rule.limits or ()):
        if limit is None:
            continue
        found = [item for item in items if item.lives.group.water == water]
        for item in found:
            limit = _shortened(limit, item)
        if milder is not None and limit.hours and hours is not None and hours < limit.hours:
            limit = Limit(hours, limit.months, limit.days)
        if milder is not None and days is not None and days < _days(limit):
            limit = Limit(limit.hours, milder.months, milder.days)
        limits[water] = limit
        was_shortened = bool(found) or milder is not None
        if was_shortened:
            milder, hours = limit, limit.hours
            days = _days(limit) if limit.has_calendar else None
    return limits


def _days(limit: Limit) -> float:
    if limit.months is not None:
        return limit.months * DAYS_A_MONTH
    return limit.days or math.inf


def _shortened(limit: Limit, item: Wear) -> Limit:
    """A limit no longer than the findings say: whole hours, or whole days, rounded down."""
    value = item.shorter or 0.0
    if item.lives.unit == HOURS:
        hours = max(100, int(value) * 100)
        return Limit(min(hours, limit.hours or hours), limit.months, limit.days)
    days = max(1, int(value * DAYS_A_MONTH if item.lives.unit == MONTHS else value))
    return Limit(limit.hours, None, days) if days < _days(limit) else limit


def _limit(limit: Limit) -> str:
    parts = [f"hours = {shown(limit.hours)}"] if limit.hours else []
    if limit.months:
        parts.append(f"months = {limit.months}")
    if limit.days:
        parts.append(f"days = {limit.days}")
    return f"{{ {', '.join(parts)} }}"


def _source(rule: Rule, items: Sequence[Wear], as_of: date) -> str:
    reasons = []
    for item in items:
        group, unit = item.lives.group, item.lives.unit
        reasons.append(
            f"{WORDS[group.water]}, {group.use}: {len(item.lives.lives)} findings, "
            f"{item.lives.worn} worn out, one in ten at {item.ratio:.2f} of the age that "
            f"{item.lives.limit:g} {unit} alone would give"
        )
    return f"our own findings up to {as_of}: {'; '.join(reasons)}; the rest: {rule.source}"


def _quoted(text: str) -> str:
    """A TOML string: as JSON writes it, and the one control character that JSON lets through."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
