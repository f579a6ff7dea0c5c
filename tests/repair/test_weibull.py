"""The life learned from few findings: against the prior, by properties, and on a finer grid."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.repair.weibull import (
    EARLY,
    SCALE_SPREAD,
    SHAPE,
    SHAPE_SPREAD,
    Posterior,
    Prior,
    Seen,
    chance_worn,
    early_age_unseen,
    log_likelihood,
    posterior,
    prior_for,
)

LIMIT = 100.0
AGES = st.floats(0.02, 4.0)


def after(*seen: Seen, limit: float = LIMIT, points: int = 41) -> Posterior:
    return posterior(seen, prior_for(limit), points)


def early(*seen: Seen) -> float:
    """The 10 % age in limits, on a coarse grid: what advice is made of."""
    return posterior(seen, prior_for(1.0), 31).age_by_which(EARLY)


def good(age: float) -> Seen:
    return Seen(age)


def worn(by: float, since: float = 0.0) -> Seen:
    return Seen(since, by)


def test_the_limit_is_the_10_per_cent_life_of_the_prior() -> None:
    prior = prior_for(LIMIT)
    assert prior.scale == pytest.approx(245.996, abs=0.001)  # 100 / (-ln 0.9)^(1/2.5), by hand
    assert chance_worn(LIMIT, prior.scale, prior.shape) == pytest.approx(EARLY)


def test_with_nothing_found_the_prior_stands() -> None:
    out = after()
    # points of a lognormal: median · exp(spread · z), z of the normal from a table
    normal = {0.05: -1.6448536, 0.1: -1.2815516, 0.5: 0.0, 0.9: 1.2815516, 0.95: 1.6448536}
    for chance, z in normal.items():
        (scale,), (shape,) = out.scale((chance,)), out.shape((chance,))
        assert scale == pytest.approx(245.996 * math.exp(SCALE_SPREAD * z), rel=2e-4)
        assert shape == pytest.approx(SHAPE * math.exp(SHAPE_SPREAD * z), rel=2e-4)


def test_with_nothing_found_the_chance_is_the_priors_mean() -> None:
    """Against draws from the two lognormals, which know nothing of a grid."""
    dice = random.Random(11)
    prior, many, total = prior_for(LIMIT), 40_000, 0.0
    for _ in range(many):
        scale = prior.scale * math.exp(prior.scale_spread * dice.gauss(0, 1))
        shape = prior.shape * math.exp(prior.shape_spread * dice.gauss(0, 1))
        total += 1 - math.exp(-((LIMIT / scale) ** shape))
    assert after().chance(LIMIT) == pytest.approx(total / many, abs=0.005)


# Worked before on another grid of 61 by 61 in a trial of ours, to three figures; a limit of 100 h.
TRIAL = [
    ((), 0.217, 62),
    ((good(100),), 0.132, 87),
    ((good(100),) * 5, 0.064, 122),
    ((good(100),) * 20, 0.025, 171),
    ((worn(60),), 0.606, 28),
    ((worn(100),), 0.524, 34),
    ((good(100),) * 3 + (worn(100),) * 2, 0.321, 54),
    ((worn(100),) * 5, 0.887, 23),
    ((worn(100),) * 5 + (good(50),) * 5, 0.772, 37),
]


@pytest.mark.parametrize(("seen", "chance", "age"), TRIAL)
def test_few_findings_move_the_prior_as_the_trial_said(
    seen: tuple[Seen, ...], chance: float, age: float
) -> None:
    out = after(*seen)
    assert out.chance(LIMIT) == pytest.approx(chance, abs=0.0006)
    assert out.age_by_which(EARLY) == pytest.approx(age, abs=0.6)


@pytest.mark.parametrize("seen", [row[0] for row in TRIAL])
def test_a_finer_grid_gives_the_same(seen: tuple[Seen, ...]) -> None:
    coarse, fine = after(*seen), after(*seen, points=121)
    assert coarse.chance(LIMIT) == pytest.approx(fine.chance(LIMIT), abs=2e-5)
    assert coarse.age_by_which(EARLY) == pytest.approx(fine.age_by_which(EARLY), rel=2e-4)
    assert coarse.band(LIMIT) == pytest.approx(fine.band(LIMIT), abs=3e-3)
    assert coarse.scale((0.1, 0.9)) == pytest.approx(fine.scale((0.1, 0.9)), rel=3e-3)


@given(st.lists(st.tuples(AGES, st.floats(0, 0.95), st.booleans()), max_size=8), st.randoms())
@settings(max_examples=25, deadline=None)
def test_the_order_of_findings_changes_no_digit(
    rows: list[tuple[float, float, bool]], dice: random.Random
) -> None:
    seen = [Seen(age * share, age) if bad else Seen(age) for age, share, bad in rows]
    shuffled = list(seen)
    dice.shuffle(shuffled)
    assert posterior(seen, prior_for(1.0), 21) == posterior(shuffled, prior_for(1.0), 21)


def lives() -> st.SearchStrategy[list[Seen]]:
    one = st.tuples(AGES, st.floats(0, 0.95), st.booleans())
    return st.lists(one, max_size=7).map(
        lambda rows: [Seen(age * share, age) if bad else Seen(age) for age, share, bad in rows]
    )


@given(lives(), AGES)
@settings(max_examples=40, deadline=None)
def test_a_fine_finding_never_shortens_the_advice(seen: list[Seen], age: float) -> None:
    assert early(*seen, good(age)) >= early(*seen) * (1 - 1e-5)


@given(lives(), AGES, st.floats(0, 0.95))
@settings(max_examples=40, deadline=None)
def test_worn_out_instead_of_fine_at_the_same_age_never_lengthens_it(
    seen: list[Seen], age: float, share: float
) -> None:
    assert early(*seen, worn(age, age * share)) <= early(*seen, good(age)) * (1 + 1e-5)


@given(lives(), st.floats(0.05, 1.0), st.floats(0, 0.95))
@settings(max_examples=40, deadline=None)
def test_one_failure_more_before_the_advised_age_never_lengthens_it(
    seen: list[Seen], part: float, share: float
) -> None:
    now = early(*seen)
    age = now * part
    assert early(*seen, worn(age, age * share)) <= now * (1 + 1e-5)


@given(lives(), st.floats(0.1, 10_000))
@settings(max_examples=25, deadline=None)
def test_the_unit_of_age_does_not_matter(seen: list[Seen], unit: float) -> None:
    scaled = [Seen(one.fine * unit, one.worn and one.worn * unit) for one in seen]
    here, there = posterior(seen, prior_for(1.0), 21), posterior(scaled, prior_for(unit), 21)
    assert there.chance(unit) == pytest.approx(here.chance(1.0), abs=1e-9)


@given(lives())
@settings(max_examples=25, deadline=None)
def test_weights_sum_to_1_and_the_chance_rises_with_age(seen: list[Seen]) -> None:
    out = posterior(seen, prior_for(1.0), 21)
    assert math.fsum(weight for *_, weight in out.cells()) == pytest.approx(1.0)
    chances = [out.chance(age) for age in (0.0, 0.1, 0.5, 1.0, 2.0, 5.0)]
    assert chances == sorted(chances)
    for age in (0.5, 1.0, 2.0):
        low, high = out.band(age)
        assert 0.0 <= low <= high <= 1.0


def test_extreme_findings_break_nothing() -> None:
    for seen in (
        [good(1e-9)], [worn(1e-6)], [good(50.0)] * 400, [worn(0.02, 0.019)] * 200,
        [worn(1.0, 1.0 - 1e-12)], [good(1e6)], [worn(1e6, 1e5)],
    ):  # fmt: skip
        out = posterior(seen, prior_for(1.0), 21)
        assert 0.0 <= out.chance(1.0) <= 1.0
        assert out.age_by_which(EARLY) > 0.0


def test_much_data_outweighs_the_prior() -> None:
    """Ten thousand lives ended exactly where a Weibull of scale 40 and shape 4 says."""
    points = [(k + 0.5) / 200 for k in range(200)]
    ages = [40 * (-math.log(1 - point)) ** 0.25 for point in points]
    seen = [Seen(age * 0.999, age * 1.001) for age in ages] * 50
    out = posterior(seen, prior_for(LIMIT))
    assert out.scale()[0] == pytest.approx(40, rel=0.01)
    assert out.shape()[0] == pytest.approx(4, rel=0.03)


def test_the_likelihood_of_one_life_is_the_chance_of_what_was_seen() -> None:
    chance = math.exp(-((30 / 50) ** 2)) - math.exp(-((70 / 50) ** 2))
    assert log_likelihood([worn(70, 30)], 50, 2) == pytest.approx(math.log(chance))
    assert log_likelihood([good(70)], 50, 2) == pytest.approx(-((70 / 50) ** 2))


def test_a_flat_prior_leaves_the_peak_of_the_likelihood() -> None:
    flat = Prior(200.0, 5.0, 1.0, 5.0)
    seen = [worn(60, 40)] * 30 + [worn(90, 60)] * 50 + [worn(120, 90)] * 30 + [good(120)] * 5
    out = posterior(seen, flat)
    (scale,), (shape,) = out.scale(), out.shape()
    here = log_likelihood(seen, scale, shape)
    for nudge in (0.97, 1.03):
        assert log_likelihood(seen, scale * nudge, shape) < here + 0.05
        assert log_likelihood(seen, scale, shape * nudge) < here + 0.05


def test_the_age_without_findings_is_the_same_share_of_any_limit() -> None:
    assert early_age_unseen(250.0) == pytest.approx(250 * early_age_unseen(1.0), rel=1e-6)
