"""What a planned job costs, and what the failure costs that it is there to prevent."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fleetcare.fleet.settings import Settings
from fleetcare.rules.bench import access_steps, minutes_of_visit
from fleetcare.rules.rule import Part, Rule, RuleSet
from fleetcare.rules.sets import RuleBook

# Where the rules give no figure: our judgement, and said beside every cost.
HOURLY_RATE, BOAT_DAY, DAYS_LOST = 45, 120, 2

# The incident, or the part and condition, whose follow-ups a harm's repair is at the least.
_INCIDENT_OF = {"overheating": "overheated"}
_CONDITION_OF = {"seized swivel": ("swivel", "seized")}


@dataclass(frozen=True, slots=True)
class Rates:
    """A workshop hour and a boat's day lost, in the fleet's money.

    `planned` and `failure` overrule the sums; `sign` is what stands behind them.
    """

    hour: float = HOURLY_RATE
    boat_day: float = BOAT_DAY
    planned: float | None = None
    failure: float | None = None
    are_judgement: bool = True
    sign: str = ""


@dataclass(frozen=True, slots=True)
class Cost:
    """A sum with what it is made of; `given` when the user named it."""

    money: float
    minutes: int
    parts: float
    unpriced: tuple[str, ...]
    jobs: tuple[str, ...]
    days: int = 0
    given: bool = False
    sign: str = ""


def rates_of(
    settings: Settings, hour: float | None = None, boat_day: float | None = None,
    planned: float | None = None, failure: float | None = None,
) -> Rates:  # fmt: skip
    """The settings' rates, or those given; they are judgement while one is what we began with."""
    usual = Settings()
    ours = (hour is None and settings.hourly_rate == usual.hourly_rate) or (
        boat_day is None and settings.boat_day_cost == usual.boat_day_cost
    )
    return Rates(
        float(settings.hourly_rate) if hour is None else hour,
        float(settings.boat_day_cost) if boat_day is None else boat_day,
        planned, failure, ours, settings.money,
    )  # fmt: skip


def planned_cost(ruleset: RuleSet, rule: Rule, rates: Rates) -> Cost:
    """The planned job: its minutes with its access, and its parts."""
    return _cost(ruleset, (rule.name,), 0, rates, rates.planned)


def failure_cost(ruleset: RuleSet, rule: Rule, book: RuleBook, rates: Rates) -> Cost:
    """The failure: the job itself, what the worst condition and the harm ask for, days lost."""
    tasks = dict.fromkeys((rule.name, *_asked_for(ruleset, rule, book)))
    return _cost(ruleset, tuple(tasks), DAYS_LOST, rates, rates.failure)


def _asked_for(ruleset: RuleSet, rule: Rule, book: RuleBook) -> Iterable[str]:
    words = book.conditions.get(rule.part, {}).values()
    lists: list[Sequence[str]] = [word.follow_up for word in words]
    yield from _longest(ruleset, lists)
    for harm in rule.leads_to:
        incident = book.incidents.get(_INCIDENT_OF.get(harm, ""))
        if incident is not None:
            yield from (task for task in incident.holds_until if task in ruleset.rules)
        part, word = _CONDITION_OF.get(harm, ("", ""))
        condition = book.conditions.get(part, {}).get(word)
        if condition is not None:
            yield from (task for task in condition.follow_up if task in ruleset.rules)


def _longest(ruleset: RuleSet, lists: Iterable[Sequence[str]]) -> Sequence[str]:
    """Of several lists of jobs the one that takes longest."""
    known = [tuple(task for task in tasks if task in ruleset.rules) for tasks in lists]
    return max(known, key=lambda tasks: (minutes_of_visit(ruleset, tasks), tasks), default=())


def _cost(
    ruleset: RuleSet, tasks: tuple[str, ...], days: int, rates: Rates, given: float | None
) -> Cost:
    minutes = minutes_of_visit(ruleset, tasks)
    used: list[Part] = [part for task in tasks for part in ruleset.rules[task].parts]
    used += [part for step in access_steps(ruleset, tasks).values() for part in step.consumes]
    parts = float(sum((part.price * part.count for part in used if part.price), Fraction(0)))
    unpriced = tuple(dict.fromkeys(part.item for part in used if part.price is None))
    money = minutes * rates.hour / 60 + parts + days * rates.boat_day
    if given is not None:
        return Cost(given, minutes, parts, unpriced, tasks, days, True, rates.sign)
    return Cost(money, minutes, parts, unpriced, tasks, days, False, rates.sign)
