"""What the findings of a group of parts say: how long they last, and when to renew them.

Advice, and no more: it may say that a limit should be shorter, never that it may be longer.
Everything is worked out in shares of the limit, so that one prior serves every rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.fleet import Fleet
from fleetcare.log.history import History
from fleetcare.repair.costs import Cost, Rates, failure_cost, planned_cost
from fleetcare.repair.findings import Lives, lives_of_parts
from fleetcare.repair.replacement import Least, least_expected
from fleetcare.repair.weibull import (
    EARLY,
    Posterior,
    Prior,
    Seen,
    coarser,
    early_age_unseen,
    posterior,
    prior_for,
)
from fleetcare.rules.sets import RuleBook

ENOUGH = 5  # findings; fewer move no limit unless one of them is a failure: our judgement
LEAST_SHARE, MOST_SHARE = 0.5, 1.25  # how far the advice goes at most, in limits
TOO_FEW, HOLDS, SHORTER = "too few findings", "the limit holds", "shorter"

_COST_POINTS = 13  # fewer points of the same ground do for a cost, which is flat at its least
CURVE_POINTS, CURVE_LEAST, CURVE_MOST = 60, 2.0, 6.0  # the last two in limits


@dataclass(frozen=True, slots=True)
class Point:
    """Of the survival curve: at an age, in limits, the chance to be still good, and its band."""

    age: float
    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Wear:
    """One group of parts: what was found, and what follows. Ages are shares of the limit.

    `ratio` is the age by which one part in ten is worn out over the same with nothing found;
    `share` the same within its bounds, None while there are too few findings to say so.
    `scale` and `shape` hold the 5, 50 and 95 % points.
    """

    lives: Lives
    chance: float
    band: tuple[float, float]
    ratio: float
    share: float | None
    verdict: str
    scale: tuple[float, float, float]
    shape: tuple[float, float, float]
    planned: Cost
    failure: Cost
    least: Least | None
    why_no_least: str

    @property
    def shorter(self) -> float | None:
        """The shorter limit that the findings speak for, in the limit's unit, or None."""
        if self.verdict != SHORTER or self.share is None:
            return None
        return self.lives.limit * self.share


def wear(
    fleet: Fleet, history: History, book: RuleBook, as_of: date, rates: Rates | None = None,
    task: str | None = None,
) -> list[Wear]:  # fmt: skip
    """What was found of every group of parts up to a day, of one task or all, in rules' order."""
    found = lives_of_parts(fleet, history, book, as_of.toordinal(), task)
    return [judged(lives, book, rates or Rates()) for lives in found if lives.lives]


def seen_of(lives: Lives) -> list[Seen]:
    """The lives as evidence, in shares of the limit."""
    return [Seen(life.fine, life.worn) for life in lives.lives]


def judged(lives: Lives, book: RuleBook, rates: Rates) -> Wear:
    """One group judged."""
    seen, prior = seen_of(lives), prior_for(1.0)
    after = posterior(seen, prior)
    ratio = after.age_by_which(EARLY) / early_age_unseen()
    share, verdict = advised(ratio, len(seen), lives.worn)
    low, high = after.band(1.0)
    ruleset = book.set_of(lives.group.ruleset)
    planned = planned_cost(ruleset, lives.rule, rates)
    failure = failure_cost(ruleset, lives.rule, book, rates)
    least, why_not = _least(seen, prior, after, planned.money, failure.money)
    points = (0.05, 0.5, 0.95)
    scale, shape = after.scale(points), after.shape(points)
    return Wear(
        lives, after.chance(1.0), (low, high), ratio, share, verdict,
        (scale[0], scale[1], scale[2]), (shape[0], shape[1], shape[2]),
        planned, failure, least, why_not,
    )  # fmt: skip


def advised(ratio: float, findings: int, worn: int) -> tuple[float | None, str]:
    """The share of the limit that is advised, within its bounds, and the verdict.

    None while fewer than five findings, and no failure, stand behind it. Above 1 the limit holds:
    findings never lengthen it.
    """
    if findings < ENOUGH and not worn:
        return None, TOO_FEW
    share = min(MOST_SHARE, max(LEAST_SHARE, ratio))
    return share, SHORTER if share < 1.0 else HOLDS


def _least(
    seen: Iterable[Seen], prior: Prior, after: Posterior, planned: float, failure: float
) -> tuple[Least | None, str]:  # fmt: skip
    if failure <= planned:
        return None, "a failure costs no more than the planned job: run to failure, or look"
    if planned <= 0:
        return None, "the planned job costs nothing"
    if after.shape()[0] <= 1.0:
        return None, "it wears out no faster with age: run to failure, or look"
    cells = list(coarser(seen, prior, after.box, _COST_POINTS).cells())
    least = least_expected(cells, 1.0, planned, failure)
    if least is None:
        return None, "no age saves enough to be worth it: run to failure, or look"
    return least, ""


def curve(item: Wear, points: int = CURVE_POINTS) -> list[Point]:
    """The survival curve of a group with its 90 % band, from new to beyond its oldest finding."""
    after = posterior(seen_of(item.lives), prior_for(1.0))
    oldest = max((life.worn or life.fine for life in item.lives.lives), default=0.0)
    to = float(max(CURVE_LEAST, math.ceil(min(oldest, CURVE_MOST))))
    found = [Point(0.0, 1.0, 1.0, 1.0)]
    for at in range(1, points + 1):
        age = to * at / points
        low, high = after.band(age)
        found.append(Point(age, 1.0 - high, 1.0 - after.chance(age), 1.0 - low))
    return found
