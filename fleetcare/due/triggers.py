"""What else makes a job due: runs, incidents, long idleness, the season.

Each trigger answers with an `Opened`: the day it opened, the first day the list calls it overdue
if it is, and why in words. Only limits give a life.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from fleetcare.due.life import months_after
from fleetcare.fleet.said import Said
from fleetcare.fleet.waters import Water
from fleetcare.log.history import EngineLog
from fleetcare.rules.rule import Rule
from fleetcare.rules.words import Use
from fleetcare.usage.components import Carriage, ComponentUse

OPEN_BEFORE = 30  # days before the season's date: our design choice
ANSWERS_BEFORE = 60  # days before it from which a job answers it: our design choice
OWN_BEFORE = 120  # days before it in which an own lay-up or launch stands for it: our choice

_OF_THE_SEASON = {"lay-up": "lay-up of the season", "launch": "launch of the season"}
MESSAGES = ("lay-up", "launch", *_OF_THE_SEASON.values())


@dataclass(frozen=True, slots=True)
class Opened:
    """A trigger that is open, or to come when `is_due` is false: its day and why."""

    day: int
    why: str
    is_due: bool
    overdue_since: int | None = None


def opened(
    rule: Rule,
    carriage: Carriage,
    engine: str,
    component: ComponentUse,
    last_job: int | None,
    use: Use,
) -> list[Opened]:
    """Every trigger of the rule that is open or to come on the day of the carriage."""
    found: list[Opened | None] = []
    if rule.each_run is not None and not rule.every_start:
        found.append(_each_run(rule, component, last_job, carriage.as_of))
    if rule.after:
        found.append(_after(rule, carriage, component, last_job))
    if rule.idle_months is not None:
        found.append(_idle(rule.idle_months, carriage, engine, last_job))
    if rule.season:
        found.append(_season(rule.season, carriage, engine, component, last_job, use))
    return [item for item in found if item is not None]


def _each_run(
    rule: Rule, component: ComponentUse, last_job: int | None, as_of: int
) -> Opened | None:
    waters = rule.each_run or frozenset()
    first = max(component.known_from, last_job or 0) + 1
    days = component.run_days_in(waters, first, as_of)
    if not days:
        return None
    late = days[rule.misses] if len(days) > rule.misses else None
    return Opened(days[0], _runs(len(days), waters, last_job is not None), True, late)


def _runs(count: int, waters: frozenset[int], is_done: bool) -> Said:
    words = [Water(water).word for water in sorted(waters)]
    water: str = words[0]
    for word in words[1:]:
        water = Said("{first} or {last}", first=water, last=word)
    if is_done:
        return Said(
            "{count} run day in {water} water since done",
            "{count} run days in {water} water since done", count=count, water=water,
        )  # fmt: skip
    return Said(
        "{count} run day in {water} water since known",
        "{count} run days in {water} water since known", count=count, water=water,
    )  # fmt: skip


def _after(
    rule: Rule, carriage: Carriage, component: ComponentUse, last_job: int | None
) -> Opened | None:
    unanswered: list[tuple[int, str]] = []
    for span in component.spans:
        unanswered += [
            (day, kind)
            for day, kind in carriage.history.of(span.engine).incidents
            if kind in rule.after
            and span.first <= day <= span.last
            and (last_job is None or day > last_job)
        ]
    if not unanswered:
        return None
    day, kind = min(unanswered)
    late = day + 1 if carriage.as_of > day else None
    return Opened(day, Said("{what} on {day}", what=kind, day=date.fromordinal(day)), True, late)


def _idle(months: int, carriage: Carriage, engine: str, last_job: int | None) -> Opened | None:
    use = carriage.uses[engine]
    ran = use.days_known_to_have_run()
    for begin, end in zip([use.since, *ran], [*ran, None], strict=True):
        reached = months_after(begin, months)
        if reached > carriage.as_of or (end is not None and end <= reached):
            continue
        if last_job is not None and last_job >= reached:
            continue
        why = Said(
            "not run for {count} month by {day}", "not run for {count} months by {day}",
            count=months, day=date.fromordinal(reached),
        )  # fmt: skip
        return Opened(reached, why, True, end)
    return None


def _season(
    mark: str,
    carriage: Carriage,
    engine: str,
    component: ComponentUse,
    last_job: int | None,
    use: Use,
) -> Opened | None:
    season = use.season(carriage.fleet.settings)
    if season is None:
        return None
    month, day_of = season[0 if mark == "launch" else 1]
    log = carriage.history.of(engine)
    for year in _years(component.known_from):
        of_season = date(year, month, day_of).toordinal()
        own = _own_mark(log, mark, of_season)
        day = of_season if own is None else own
        if day < component.known_from or (
            last_job is not None and last_job >= day - ANSWERS_BEFORE
        ):
            continue
        begins = min(of_season - OPEN_BEFORE, day)
        if begins > carriage.as_of:
            return Opened(day, Said(_OF_THE_SEASON[mark]), is_due=False)
        late = day + 1 if carriage.as_of > day else None
        return Opened(
            day, Said("{what} on {day}", what=mark, day=date.fromordinal(day)), True, late
        )
    return None


def _years(known_from: int) -> Iterator[int]:
    """Years from the one the component became known in, as far as any list can look."""
    return iter(range(date.fromordinal(known_from).year, date.max.year))


def _own_mark(log: EngineLog, mark: str, of_season: int) -> int | None:
    """The engine's own first lay-up or launch in the days before the season's date."""
    for day, what in log.seasons:
        if what == mark and of_season - OWN_BEFORE <= day < of_season:
            return day
    return None
