"""Published life data and renewal ages, recomputed.

- Turbine parts: W. Nelson, Applied Life Data Analysis, Wiley 1982, p. 415: 167 parts inspected at
  eight times (months); turbine wheels, p. 409: wheels inspected once each, at eleven ages (hundreds
  of hours). Both tables as printed in the SAS/QC User's Guide, The RELIABILITY Procedure, Getting
  Started (Turbine Part Cracking Data, Turbine Wheel Cracking Data); its text says 435 wheels, its
  printed counts add up to 432. The guide's figure gives the parts' Weibull scale as 71.6904 and
  shape as 1.4854 (from memory); four independent programs gave the same, three the wheels' values.
- Weibull of ten exact ages: SurPyval documentation, Applications: scale 45.27418, shape 1.377623.
- Renewal at an age: Reliability documentation, Optimal replacement time (costs 1 and 5, scale
  1000, shape 2.5): 493.19 from a search on a grid; the root is 493.047, the rate 0.0034620.
- A. K. S. Jardine and A. H. C. Tsang, Maintenance, Replacement, and Reliability, solutions to
  chapter 2, problem 2 (lives uniform to 40 000 km, costs 100 and 200), read in a posted copy.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from fleetcare.repair.replacement import best_age, cost_rate, weibull_cost_rate
from fleetcare.repair.weibull import Prior, Seen, log_likelihood, posterior

# (inspected from, to, cracked); the rest had not cracked at 63.48 months
PARTS = [
    (0, 6.12, 5), (6.12, 19.92, 16), (19.92, 29.64, 12), (29.64, 35.40, 18), (35.40, 39.72, 18),
    (39.72, 45.24, 2), (45.24, 52.32, 6), (52.32, 63.48, 17),
]  # fmt: skip
PARTS_LEFT, PARTS_LAST = 73, 63.48
# (inspected at, cracked, not cracked)
WHEELS = [
    (4, 0, 39), (10, 4, 49), (14, 2, 31), (18, 7, 66), (22, 5, 25), (26, 9, 30), (30, 9, 33),
    (34, 6, 7), (38, 22, 12), (42, 21, 19), (46, 21, 15),
]  # fmt: skip
EXACT = [5.2, 10.7, 16.3, 22, 32.9, 38.6, 42.1, 58.7, 92.8, 93.8]

Likelihood = Callable[[float, float], float]


def parts() -> list[Seen]:
    seen = [Seen(begin, end) for begin, end, count in PARTS for _ in range(count)]
    return seen + [Seen(PARTS_LAST)] * PARTS_LEFT


def wheels() -> list[Seen]:
    cracked = [Seen(0, at) for at, count, _ in WHEELS for _ in range(count)]
    return cracked + [Seen(at) for at, _, count in WHEELS for _ in range(count)]


def parts_by_hand(scale: float, shape: float) -> float:
    """The likelihood written down anew, from the table and nothing else."""

    def worn(age: float) -> float:
        return 1 - math.exp(-((age / scale) ** shape))

    total = PARTS_LEFT * math.log(1 - worn(PARTS_LAST))
    return total + sum(count * math.log(worn(end) - worn(begin)) for begin, end, count in PARTS)


def wheels_by_hand(scale: float, shape: float) -> float:
    total = 0.0
    for at, cracked, whole in WHEELS:
        alive = math.exp(-((at / scale) ** shape))
        total += whole * math.log(alive) + (cracked * math.log(1 - alive) if cracked else 0.0)
    return total


def peak(of: Likelihood, scale: float, shape: float) -> tuple[float, float]:
    """The highest point, by steps to the better neighbour that shrink where there is none."""
    step = 0.1
    best = of(scale, shape)
    while step > 1e-8:
        for up, across in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)):
            there = scale * math.exp(up * step), shape * math.exp(across * step)
            value = of(*there)
            if value > best:
                (scale, shape), best = there, value
                break
        else:
            step /= 2
    return scale, shape


def test_the_counts_add_up_as_printed() -> None:
    assert sum(count for *_, count in PARTS) + PARTS_LEFT == 167
    assert sum(cracked + whole for _, cracked, whole in WHEELS) == 432


@pytest.mark.parametrize(
    ("seen", "by_hand", "scale", "shape", "height"),
    [
        (parts(), parts_by_hand, 71.6904, 1.4854, -309.66841),
        (wheels(), wheels_by_hand, 46.777, 2.1758, -189.28719),
    ],
    ids=["turbine parts", "turbine wheels"],
)
def test_the_likelihood_peaks_where_published(
    seen: list[Seen], by_hand: Likelihood, scale: float, shape: float, height: float
) -> None:
    found = peak(by_hand, 50.0, 1.5)
    assert found == (pytest.approx(scale, abs=0.001), pytest.approx(shape, abs=0.0001))
    assert log_likelihood(seen, *found) == pytest.approx(height, abs=1e-4)
    for near in ((30.0, 1.1), (71.0, 1.5), (46.0, 2.3), (110.0, 3.0)):
        assert log_likelihood(seen, *near) == pytest.approx(by_hand(*near), rel=1e-10)
    own = peak(lambda *at: log_likelihood(seen, *at), 50.0, 1.5)
    assert own == pytest.approx(found, rel=1e-6)


@pytest.mark.parametrize(
    ("seen", "scale", "shape"), [(parts(), 71.6904, 1.4854), (wheels(), 46.777, 2.1758)]
)
def test_with_a_flat_prior_what_is_learned_lies_round_the_published_values(
    seen: list[Seen], scale: float, shape: float
) -> None:
    out = posterior(seen, Prior(50.0, 5.0, 1.5, 5.0))
    assert out.scale()[0] == pytest.approx(scale, rel=0.03)
    assert out.shape()[0] == pytest.approx(shape, rel=0.03)
    low, high = out.scale((0.05, 0.95))
    assert low < scale < high


def test_exact_ages_are_intervals_of_no_length() -> None:
    seen = [Seen(age * (1 - 1e-5), age * (1 + 1e-5)) for age in EXACT]
    found = peak(lambda *at: log_likelihood(seen, *at), 40.0, 1.0)
    assert found == pytest.approx((45.27418, 1.377623), rel=2e-6)


def test_one_failure_among_survivors_has_a_closed_form() -> None:
    """One life ended at 87, nine went on to 100, shape 1.3776: ((87^b + 9·100^b)/1)^(1/b)."""
    shape = 1.3776
    seen = [Seen(87 * (1 - 1e-7), 87 * (1 + 1e-7))] + [Seen(100.0)] * 9
    closed = (87**shape + 9 * 100**shape) ** (1 / shape)
    assert closed == pytest.approx(525.228, abs=0.001)  # printed: 525.1398, stopped early
    here = log_likelihood(seen, closed, shape)
    for nudge in (0.999, 1.001):
        assert log_likelihood(seen, closed * nudge, shape) < here


def test_the_renewal_age_is_the_published_one() -> None:
    age = best_age(1000, 2.5, 1, 5)
    assert age == pytest.approx(493.047, abs=0.001)
    assert age == pytest.approx(493.19, abs=0.2)  # as printed, from a grid
    assert weibull_cost_rate(age or 0, 1000, 2.5, 1, 5) == pytest.approx(0.0034620, abs=5e-8)


@pytest.mark.parametrize(
    ("age", "rate"), [(10_000, 0.0143), (20_000, 0.01), (30_000, 0.0093), (40_000, 0.01)]
)
def test_uniform_lives_cost_what_the_solutions_say(age: float, rate: float) -> None:
    def alive(at: float) -> float:
        return 1 - at / 40_000

    assert cost_rate(alive, age, 100, 200) == pytest.approx(rate, abs=5e-5)


def test_uniform_lives_cost_least_where_the_closed_form_says() -> None:
    """The cost is least at 40 000 · (√3 - 1) = 29 282: the derivative set to nothing, by hand."""

    def rate(at: float) -> float:
        return cost_rate(lambda age: 1 - age / 40_000, at, 100, 200)

    best = 40_000 * (math.sqrt(3) - 1)
    assert rate(best) == pytest.approx(0.00933013, abs=1e-8)
    assert rate(best) < min(rate(best - 100), rate(best + 100))
