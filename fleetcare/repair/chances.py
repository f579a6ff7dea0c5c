"""The chance that a look at a part finds it worn out, from findings or else our judgement."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from fleetcare.due.records import Due
from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.repair.findings import Group, Lives, lives_of_parts, renews
from fleetcare.repair.wear import ENOUGH, seen_of
from fleetcare.repair.weibull import Posterior, posterior, prior_for
from fleetcare.rules.rule import RuleSet
from fleetcare.rules.sets import RuleBook

STEPS = 200  # of a limit: ages are told apart no finer, so that many parts share a reckoning


class Worn(NamedTuple):
    """A chance, and whether enough findings stand behind it; else it is mostly our judgement."""

    chance: float
    learned: bool


class Chances:
    """What looks at the parts of a fleet are likely to find, worked out when asked for."""

    def __init__(
        self, fleet: Fleet, history: History, book: RuleBook, rows: Iterable[Due], as_of: int
    ) -> None:
        self.fleet, self.book, self.as_of = fleet, book, as_of
        self._rows = {(row.engine, row.task): row for row in rows}
        self._lives: Mapping[Group, Lives] = {
            lives.group: lives for lives in lives_of_parts(fleet, history, book, as_of)
        }
        self._posteriors: dict[Group | None, Posterior] = {}
        self._chances: dict[tuple[Group | None, int], float] = {}
        self._renewing: dict[tuple[str, str], str | None] = {}

    def worn(self, engine: str, part: str, day: int) -> Worn | None:
        """The chance that a part is found worn out on a day; None where no limit tells its age.

        A part of unknown age is taken to be at its limit at least.
        """
        known = self.fleet.engines[engine]
        ruleset = self.book.set_of(known.rules or self.fleet.settings.rules)
        task = self._renewed_by(ruleset, part)
        row = self._rows.get((engine, task or ""))
        if row is None:
            return None
        use = self.fleet.boats[row.boat].use if row.boat else "owner"
        group = Group(ruleset.name, row.task, row.water, use)
        lives = self._lives.get(group)
        age = round(life_on(row, day, self.as_of) * STEPS)
        key = (None if lives is None else group, age)
        if key not in self._chances:
            self._chances[key] = self._posterior(group, lives).chance(age / STEPS)
        learned = lives is not None and (len(lives.lives) >= ENOUGH or lives.worn > 0)
        return Worn(self._chances[key], learned)

    def _renewed_by(self, ruleset: RuleSet, part: str) -> str | None:
        """The task whose limits a part's life is held against."""
        key = (ruleset.name, part)
        if key not in self._renewing:
            rules = ruleset.rules.values()
            self._renewing[key] = next(
                (rule.name for rule in rules if rule.part == part and renews(ruleset, rule)), None
            )
        return self._renewing[key]

    def _posterior(self, group: Group, lives: Lives | None) -> Posterior:
        key = None if lives is None else group  # without findings they are all the same
        if key not in self._posteriors:
            seen = [] if lives is None else seen_of(lives)
            self._posteriors[key] = posterior(seen, prior_for(1.0))
        return self._posteriors[key]


def life_on(row: Due, day: int, as_of: int) -> float:
    """The share of its limit that a part will have used on a day: as now, then 1 when it is due.

    Without a clock start it is at its limit at least.
    """
    if row.life_used is None:
        return max(1.0, float(row.life_floor or 0))
    now = float(row.life_used)
    if now >= 1.0 or row.due_on is None or row.due_on <= as_of:
        passed = max(1, as_of - row.clock_start)
        return now * (1.0 + max(0, day - as_of) / passed)
    return now + (1.0 - now) * max(0, day - as_of) / (row.due_on - as_of)
