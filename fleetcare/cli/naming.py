"""Names that were typed, turned into the names that the fleet and the rules write."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from datetime import tzinfo

    from fleetcare.fleet.fleet import Fleet
    from fleetcare.rules.rule import RuleSet
    from fleetcare.rules.sets import RuleBook
    from fleetcare.show.words import Words


def rules_of(fleet: Fleet, book: RuleBook, engine: str) -> RuleSet:
    """The rule set of an engine."""
    return book.set_of(fleet.engines[engine].rules or fleet.settings.rules)


def words_of(fleet: Fleet, language: str | None) -> Words:
    """The words of the language asked for, else of the fleet's setting."""
    from fleetcare.show import words

    return words.language(language or fleet.settings.language)


def known_set(name: str, sets: Iterable[str]) -> str:
    """The name of a rule set; refused with the nearest when there is none."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean

    names = sorted(sets)
    if name not in names:
        hint = did_you_mean(name, names) or f"There are {', '.join(names)}."
        raise RefusedError(f'no rule set "{name}". {hint}')
    return name


def zone_named(name: str) -> tzinfo:
    """The time zone of that name, this machine's own for an empty one; refused when unknown."""
    if not name:
        from dateutil.tz import tzlocal

        here: tzinfo = tzlocal()
        return here
    from zoneinfo import ZoneInfo, available_timezones

    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean

    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        hint = did_you_mean(name, available_timezones()) or "An example is Europe/Oslo."
        raise RefusedError(f'no time zone "{name}" is known. {hint}') from error


def typed_task(fleet: Fleet, book: RuleBook, engine: str, task: str) -> str:
    """The task as the rule set writes it; refused with the nearest when there is none."""
    from fleetcare.errors import Fault, RefusedError
    from fleetcare.rules.sets import task_of

    found = task_of(rules_of(fleet, book, engine), task)
    if isinstance(found, Fault):
        raise RefusedError(str(found))
    return found


def fitting_task(fleet: Fleet, book: RuleBook, engine: str, task: str) -> tuple[RuleSet, str]:
    """The rule set and the task, refused when the engine can have no row of it."""
    from fleetcare.due.rows import rules_for
    from fleetcare.errors import RefusedError

    ruleset, name = rules_of(fleet, book, engine), typed_task(fleet, book, engine, task)
    listed = {rule.name for rule, _ in rules_for(ruleset, fleet.engines[engine])}
    if name not in listed:
        rule = ruleset.rules[name]
        reason = (
            "is a look made at every start and has no clock"
            if rule.every_start
            else "does not fit this engine"
        )
        raise RefusedError(f'"{name}" {reason}, so "{engine}" has no row of it')
    return ruleset, name


def note_misfits(
    desk: Desk, fleet: Fleet, book: RuleBook, engine: str, tasks: Iterable[str]
) -> None:
    """Say which tasks do not fit the engine; they are taken, and restart clocks, all the same."""
    from fleetcare.due.rows import fitting_tasks

    fits = fitting_tasks(rules_of(fleet, book, engine), fleet.engines[engine])
    for task in tasks:
        if task not in fits:
            desk.note(f"{task} does not fit {engine}; kept all the same. Was it another engine?")


def boats_at(fleet: Fleet, place: str) -> frozenset[str]:
    """The boats that lie at a place; refused with the nearest when none does."""
    from fleetcare.errors import RefusedError
    from fleetcare.fleet.names import did_you_mean, folded

    places = {folded(boat.place): boat.place for boat in fleet.boats.values() if boat.place}
    if folded(place) not in places:
        hint = did_you_mean(place, places.values()) or "fleetcare boat list shows them."
        raise RefusedError(f'no boat lies at "{place}". {hint}')
    return fleet.boats_at(place)
