"""A rule: one task of a rule set, and the sets themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from fleetcare.fleet.engines import Engine

PRECURSOR_HARMS: tuple[str, ...] = ("overheating", "seized swivel")


@dataclass(frozen=True, slots=True)
class Limit:
    """How long a part may go in one water: hundredths of an hour, and months or days."""

    hours: int | None = None
    months: int | None = None
    days: int | None = None

    @property
    def has_calendar(self) -> bool:
        """Whether time alone wears it out."""
        return self.months is not None or self.days is not None


# Limits in fresh, brackish and salt water; None where that water adds nothing.
Limits = tuple[Limit | None, Limit | None, Limit | None]


class Fits(NamedTuple):
    """Which engines a rule fits; what an engine does not say counts as fitting."""

    hp: tuple[Fraction, Fraction] | None = None
    stroke: int | None = None
    steering: str | None = None

    def engine(self, engine: Engine) -> bool:
        """Whether the rule fits this engine."""
        if self.hp is not None and engine.hp is not None:
            low, high = self.hp
            if not low <= engine.hp <= high:
                return False
        if self.stroke is not None and engine.stroke not in (None, self.stroke):
            return False
        return self.steering is None or engine.steering in ("", self.steering)


EVERY_ENGINE = Fits()


@dataclass(frozen=True, slots=True)
class Part:
    """What a job uses up; the price is an example in the fleet's money."""

    item: str
    count: int = 1
    price: Fraction | None = None


class Kit(NamedTuple):
    """Items that are sold together; the price is that of the whole, an example."""

    name: str
    holds: tuple[Part, ...]
    price: Fraction
    source: str = ""


class SoonAgain(NamedTuple):
    """A job done again within so many days or hundredths of an hour holds for other jobs."""

    days: int
    hours: int
    holds_until: tuple[str, ...]
    lifts: str = ""


class Access(NamedTuple):
    """An access step, shared by jobs that are done together."""

    name: str
    minutes: int
    includes: tuple[str, ...] = ()
    consumes: tuple[Part, ...] = ()
    cautions: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """One task: which engines it fits, whose clock it runs on, its triggers, what it leads to."""

    name: str
    title: str
    component: str
    source: str
    limits: Limits | None = None
    first: Limits | None = None
    one_for_all: bool = False
    strictest: bool = False
    each_run: frozenset[int] | None = None
    misses: int = 3
    after: tuple[str, ...] = ()
    idle_months: int | None = None
    season: str = ""
    fits: Fits = EVERY_ENGINE
    part: str = ""
    restarts: tuple[str, ...] = ()
    leads_to: tuple[str, ...] = ()
    chain: str = ""
    access: tuple[str, ...] = ()
    minutes: int = 0
    who: str = "anyone"
    parts: tuple[Part, ...] = ()
    cautions: tuple[str, ...] = ()
    soon_again: SoonAgain | None = None
    unseen: str = ""

    @property
    def is_precursor(self) -> bool:
        """Whether skipping it leads to overheating or a seized swivel."""
        return any(harm in PRECURSOR_HARMS for harm in self.leads_to)

    @property
    def every_start(self) -> bool:
        """Whether it is a look made at every start, in any water."""
        return self.each_run is not None and len(self.each_run) == 3

    @property
    def has_row(self) -> bool:
        """Whether it is ever listed: a look at every start alone is not."""
        others = self.limits or self.after or self.idle_months or self.season
        return bool(others) or (self.each_run is not None and not self.every_start)


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A set of rules by name of task, with its access steps, its kits and what it rests on."""

    name: str
    title: str
    basis: str
    rules: Mapping[str, Rule]
    access: Mapping[str, Access]
    extends: str = ""
    where: str = ""
    kits: Mapping[str, Kit] = field(default_factory=dict)

    def restarted_by(self, task: str) -> tuple[str, ...]:
        """The tasks whose jobs start this task's clock: its own first."""
        others = (name for name, rule in self.rules.items() if task in rule.restarts)
        return (task, *(name for name in others if name != task))
