"""What is advised: never longer, nothing on few findings, and the costs behind the least one."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.repair.costs import Rates, failure_cost, planned_cost
from fleetcare.repair.findings import Group, Lives, PartLife
from fleetcare.repair.wear import (
    HOLDS,
    LEAST_SHARE,
    SHORTER,
    TOO_FEW,
    Wear,
    advised,
    curve,
    judged,
    wear,
)
from tests.repair.fleets import BOOK, TODAY, built, done

RULES = BOOK.sets["small-petrol"]
IMPELLER = RULES.rules["impeller"]


def group(*ages: tuple[float, float | None]) -> Lives:
    """Impellers in fresh water: fine until, worn out by, in limits of 300 h."""
    lives = [PartLife("Plover", 800_000 + at, at, "seen", *age) for at, age in enumerate(ages, 1)]
    return Lives(Group("small-petrol", "impeller", 0, "hire"), IMPELLER, 300.0, "h", lives)


def said(*ages: tuple[float, float | None], rates: Rates | None = None) -> Wear:
    return judged(group(*ages), BOOK, rates or Rates())


def test_four_fine_findings_say_nothing_and_five_that_the_limit_holds() -> None:
    fine = (1.0, None)
    assert (said(*[fine] * 4).verdict, said(*[fine] * 4).share) == (TOO_FEW, None)
    assert said(*[fine] * 5).verdict == HOLDS
    assert said(*[fine] * 5).shorter is None


def test_one_failure_is_enough_to_advise_a_shorter_limit() -> None:
    out = said((0.0, 0.6))
    assert (out.verdict, out.shorter) == (SHORTER, 150.0)  # half of the limit, and never less
    assert out.ratio < LEAST_SHARE


def test_advice_keeps_within_its_bounds() -> None:
    assert advised(3.0, 50, 1) == (1.25, HOLDS)
    assert advised(0.1, 50, 40) == (0.5, SHORTER)
    assert advised(0.8, 50, 9) == (0.8, SHORTER)
    assert advised(0.8, 4, 0) == (None, TOO_FEW)


@given(st.lists(st.tuples(st.floats(0.05, 3), st.floats(0, 0.9), st.booleans()), min_size=1,
                max_size=8))  # fmt: skip
@settings(max_examples=20, deadline=None)
def test_it_never_lengthens_a_limit(rows: list[tuple[float, float, bool]]) -> None:
    out = said(*[(age * part, age) if bad else (age, None) for age, part, bad in rows])
    assert out.shorter is None or 150.0 <= out.shorter < 300.0
    assert out.band[0] <= out.chance <= out.band[1] or out.band[1] < out.chance  # a long tail
    assert 0.0 < out.chance < 1.0


def test_the_planned_job_costs_its_minutes_and_parts() -> None:
    cost = planned_cost(RULES, IMPELLER, Rates(hour=60, boat_day=0))
    # leg off 25, pump open 10, the job 25; the kit 35, the housing gasket without a price
    assert (cost.minutes, cost.parts, cost.money) == (60, 35.0, 95.0)
    assert cost.unpriced == ("pump housing gasket",)


def test_the_failure_costs_what_an_overheating_asks_for_and_the_days_lost() -> None:
    cost = failure_cost(RULES, IMPELLER, BOOK, Rates(hour=60, boat_day=100))
    asked = BOOK.incidents["overheated"].holds_until
    assert set(asked) <= set(cost.jobs)
    assert "water tube" in cost.jobs  # what a vane missing asks for
    assert cost.money == pytest.approx(cost.minutes + cost.parts + 200)
    assert cost.money > planned_cost(RULES, IMPELLER, Rates(hour=60)).money


def test_a_seized_swivel_is_stripped() -> None:
    cost = failure_cost(RULES, RULES.rules["swivel grease"], BOOK, Rates())
    assert "swivel strip" in cost.jobs


def test_costs_that_were_given_stand() -> None:
    out = said(*[(1.0, None)] * 6, rates=Rates(planned=10.0, failure=90.0))
    assert (out.planned.money, out.failure.money) == (10.0, 90.0)
    assert out.planned.given and out.failure.given
    assert out.least is not None


def test_where_no_age_costs_least_it_says_why() -> None:
    cheap = said(*[(1.0, None)] * 6, rates=Rates(planned=10.0, failure=10.0))
    assert cheap.least is None
    assert "no more than the planned job" in cheap.why_no_least
    # half go at once, and of what is left nothing has gone long after: they do not age
    early = [(0.0, 0.03)] * 60 + [(3.0, None)] * 60
    out = said(*early)
    assert out.shape[1] < 1.0
    assert out.least is None
    assert "no faster with age" in out.why_no_least


def test_a_dearer_failure_never_lengthens_the_least_cost_age() -> None:
    ages = [
        said((0.4, 0.9), (1.0, None), (0.0, 1.2), rates=Rates(planned=50, failure=failure)).least
        for failure in (100, 300, 900)
    ]
    found = [least.age for least in ages if least is not None]
    assert len(found) == 3
    assert found == sorted(found, reverse=True)


def test_the_curve_falls_from_whole_within_its_band() -> None:
    out = said((0.4, 0.9), (1.0, None), (2.7, None))
    points = curve(out)
    assert (points[0].age, points[0].middle, points[-1].age) == (0.0, 1.0, 3.0)
    middles = [point.middle for point in points]
    assert middles == sorted(middles, reverse=True)
    assert all(point.low <= point.high for point in points)
    at_limit = min(points, key=lambda point: abs(point.age - 1.0))
    assert 1 - at_limit.middle == pytest.approx(out.chance, abs=1e-9)


def test_a_fleet_is_judged_task_by_task_in_the_order_of_its_rules() -> None:
    fleet, past = built(
        done("2031-06-01", "Plover", "impeller", "cracked", 120),
        done("2031-06-01", "Plover", "gear oil", "clean", 120),
        done("2031-06-01", "Knot", "impeller", "supple", 70),
    )
    out = wear(fleet, past, BOOK, date.fromisoformat(TODAY))
    assert [(item.lives.group.task, item.lives.group.water) for item in out] == [
        ("impeller", 2), ("impeller", 0), ("gear oil", 0),
    ]  # fmt: skip
    assert [item.verdict for item in out] == [TOO_FEW, SHORTER, TOO_FEW]
    only = wear(fleet, past, BOOK, date.fromisoformat(TODAY), task="gear oil")
    assert [item.lives.group.task for item in only] == ["gear oil"]
