"""Simulated fleets: the truth lies in the 90 % band about as often as it should.

Truths drawn from the stated prior, with 5, 50 and 500 findings; with 500 three fixed truths too.
Lives are looked at where jobs would look, so that each ends fine at its last look, or worn out
between two. The dice are seeded; by chance alone the share in 200 bands strays by 2 % (one
standard error), and all of them together are asked to lie within 85 to 95 %.
"""

from __future__ import annotations

import math
import random

import pytest

from fleetcare.repair.weibull import Seen, chance_worn, posterior, prior_for

LOOKS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0)  # ages in limits at which parts are looked at


def fleet(dice: random.Random, number: int, scale: float, shape: float) -> list[Seen]:
    """So many lives of parts with this truth, each looked at until some age or till worn out."""
    found = []
    for _ in range(number):
        life = dice.weibullvariate(scale, shape)
        fine, bad = 0.0, None
        for age in LOOKS[: dice.randint(1, len(LOOKS))]:
            if life <= age:
                bad = age
                break
            fine = age
        found.append(Seen(fine, bad))
    return found


def covered(dice: random.Random, number: int, scale: float, shape: float) -> list[bool]:
    """Whether chance at the limit, scale and shape each lie in their band."""
    out = posterior(fleet(dice, number, scale, shape), prior_for(1.0), 25)
    points = (0.05, 0.95)
    pairs = (
        (chance_worn(1.0, scale, shape), out.band(1.0)),
        (scale, out.scale(points)),
        (shape, out.shape(points)),
    )
    return [low <= truth <= high for truth, (low, high) in pairs]


def shares(rows: list[list[bool]]) -> list[float]:
    return [sum(row[at] for row in rows) / len(rows) for at in range(3)]


@pytest.mark.parametrize(("number", "times"), [(5, 400), (50, 300), (500, 200)])
def test_the_band_holds_truths_drawn_from_the_prior(number: int, times: int) -> None:
    dice, prior, rows = random.Random(number), prior_for(1.0), []
    for _ in range(times):
        scale = prior.scale * math.exp(prior.scale_spread * dice.gauss(0, 1))
        shape = prior.shape * math.exp(prior.shape_spread * dice.gauss(0, 1))
        rows.append(covered(dice, number, scale, shape))
    for share in shares(rows):
        assert 0.85 <= share <= 0.95


@pytest.mark.parametrize(("scale", "shape"), [(1.5, 1.6), (2.0, 3.0), (1.0, 2.2)])
def test_with_500_findings_it_holds_a_fixed_truth(scale: float, shape: float) -> None:
    dice = random.Random(round(scale * 100 + shape))
    rows = [covered(dice, 500, scale, shape) for _ in range(150)]
    for share in shares(rows):
        assert 0.85 <= share <= 0.95


def test_the_band_draws_closer_with_more_findings() -> None:
    dice = random.Random(3)
    widths = []
    for number in (5, 50, 500):
        low, high = posterior(fleet(dice, number, 1.8, 2.5), prior_for(1.0), 25).band(1.0)
        widths.append(high - low)
    assert widths[0] > widths[1] > widths[2]
