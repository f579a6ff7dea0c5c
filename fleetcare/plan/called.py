"""What may be called for beside what is sure: by looks that are planned, and by what happens.

A look at a part may find it in a condition that asks for other jobs; what those use up beyond the
visit's own is called for with the chance of that condition. Findings and incidents that no look
was planned for come as often as in the year before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.days import spoken
from fleetcare.log.history import History
from fleetcare.plan.uses import SetOf, Wanted, items_of_visit, visits_of
from fleetcare.rules.bench import access_steps
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.words import Condition, IncidentKind

LOOKED_BACK = 365  # days of findings and incidents from which what comes unlooked for is reckoned
STOP_WEIGHT = 0.25  # of a worn part, how often it is found so bad that it stops, to merely worn


@dataclass(frozen=True, slots=True)
class Called:
    """Something that would call for items.

    A look has its engine and day, and its `chance`; of what happens by itself `a_day` is the mean
    number a day, over the fleet. `stops` the boat until the items come; `minutes` are those of
    opening it again for them. `learned` when findings or the log stand behind the chance.
    """

    what: str
    items: tuple[tuple[str, int], ...]
    stops: bool
    minutes: int
    engine: str = ""
    day: int = 0
    part: str = ""
    chance: float = 0.0
    a_day: float = 0.0
    learned: bool = True


Worn = Callable[[str, str, int], tuple[float, bool] | None]


@dataclass(frozen=True, slots=True)
class Sight:
    """What is known when looking ahead: rules, words, which tasks fit an engine, past findings."""

    set_of: SetOf
    fits: Callable[[str], frozenset[str]]
    conditions: Mapping[str, Mapping[str, Condition]]
    incidents: Mapping[str, IncidentKind]
    history: History
    as_of: int


def called_by_looks(jobs: Iterable[Wanted], sight: Sight, worn: Worn) -> list[Called]:
    """What each planned look may call for; `worn` tells the chance that a part is found worn."""
    found: list[Called] = []
    shares: dict[str, dict[str, float]] = {}
    for (day, engine), visit in visits_of(jobs).items():
        ruleset, fits = sight.set_of(engine), sight.fits(engine)
        tasks = [job.task for job in visit if job.task in ruleset.rules]
        for part, task in _parts_looked_at(ruleset, tasks).items():
            words = sight.conditions.get(part, {})
            chance = worn(engine, part, day) if _bad(words) else None
            if chance is None or chance[0] <= 0.0:
                continue
            if part not in shares:
                shares[part] = shares_of(words, sight)
            for condition in _bad(words):
                more = _beyond(
                    ruleset, tasks, [name for name in condition.follow_up if name in fits]
                )
                if more is None:
                    continue
                what = f"{part} {condition.word} at the {task} of {engine}, {_spoken(day, sight)}"
                share = shares[part][condition.word]
                found.append(
                    Called(what, more[0], condition.weight == "stop", more[1], engine, day, part,
                           chance[0] * share, learned=chance[1])
                )  # fmt: skip
    return found


def _spoken(day: int, sight: Sight) -> str:
    return spoken(date.fromordinal(day), date.fromordinal(sight.as_of))


def _parts_looked_at(ruleset: RuleSet, tasks: Sequence[str]) -> dict[str, str]:
    """The parts that jobs look at, each with the first job that does."""
    parts: dict[str, str] = {}
    for task in tasks:
        if ruleset.rules[task].part:
            parts.setdefault(ruleset.rules[task].part, task)
    return parts


def _bad(words: Mapping[str, Condition]) -> list[Condition]:
    return [word for word in words.values() if word.weight in ("act", "stop") and word.follow_up]


def shares_of(words: Mapping[str, Condition], sight: Sight) -> dict[str, float]:
    """Of a part found worn, the share of each word: as found so far, and our judgement before it.

    The judgement counts as one finding of each word that asks for a job, less of one that stops.
    """
    bad = [word for word in words.values() if word.weight in ("act", "stop")]
    part = bad[0].part if bad else ""
    counts = Counter(
        seen.condition
        for log in sight.history.engines.values()
        for seen in log.seen
        if seen.part == part
    )
    weights = {
        word.word: counts[word.word] + (STOP_WEIGHT if word.weight == "stop" else 1.0)
        for word in bad
    }
    total = sum(weights.values())
    return {word: weight / total for word, weight in weights.items()}


def _beyond(
    ruleset: RuleSet, tasks: Sequence[str], more: Sequence[str]
) -> tuple[tuple[tuple[str, int], ...], int] | None:
    """The items that more jobs take beyond a visit's own, and the minutes of opening for them."""
    extra = [name for name in more if name in ruleset.rules and name not in tasks]
    if not extra:
        return None
    own = items_of_visit(ruleset, tasks)
    with_them = items_of_visit(ruleset, [*tasks, *extra])
    items = tuple(
        (item, count - own.get(item, (0,))[0])
        for item, (count, _) in with_them.items()
        if count > own.get(item, (0,))[0]
    )
    if not items:
        return None
    return items, sum(step.minutes for step in access_steps(ruleset, extra).values())


def called_by_chance(engines: Mapping[str, int], sight: Sight) -> list[Called]:
    """What happens by itself: incidents, and findings made outside any job.

    `engines` are those that run now, with the days that each was afloat in the year looked back
    on; the days of all of them are what the year's events are counted over.
    """
    days = sum(engines.values())
    if not days:
        return []
    found: list[Called] = []
    for (what, kind, stops, asked), count in sorted(_events(sight).items()):
        by_items: dict[tuple[tuple[tuple[str, int], ...], int], int] = {}
        for engine in engines:
            ruleset, fits = sight.set_of(engine), sight.fits(engine)
            tasks = [*asked, *(rule.name for rule in ruleset.rules.values() if kind in rule.after)]
            more = _beyond(ruleset, (), [name for name in dict.fromkeys(tasks) if name in fits])
            if more is not None:
                by_items[more] = by_items.get(more, 0) + 1
        told = f"{what}, {count} in the year before"
        for (items, minutes), alike in by_items.items():
            found.append(Called(told, items, stops, minutes, a_day=count / days * alike))
    return found


def _events(sight: Sight) -> Counter[tuple[str, str, bool, tuple[str, ...]]]:
    """What happened in the year before: in words, the kind of incident, whether it stopped a boat.

    And the jobs it asked for.
    """
    first = sight.as_of - LOOKED_BACK + 1
    events: Counter[tuple[str, str, bool, tuple[str, ...]]] = Counter()
    for log in sight.history.engines.values():
        for day, kind in log.incidents:
            known = sight.incidents.get(kind)
            if first <= day <= sight.as_of:
                holds = known.holds_until if known is not None else ()
                events[kind, kind, bool(holds), holds] += 1
        for seen in log.seen:
            word = sight.conditions.get(seen.part, {}).get(seen.condition)
            if seen.task or word is None or not first <= seen.day <= sight.as_of:
                continue
            if word.weight in ("act", "stop"):
                what = f"{seen.part} {seen.condition}"
                events[what, "", word.weight == "stop", word.follow_up] += 1
    return events
