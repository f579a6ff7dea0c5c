"""What a job costs on each day, against the sentences of the law worked out by hand, day by day.

Shares no code with the package but the forecast's median hours, which are its one input.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from fleetcare.plan.jobs import job_value
from fleetcare.plan.workshop import rates_of
from tests.plan.notation import Shop, told

BOATS = """
Lapwing is a hire boat in salt water at Quay
Dunlin is a club boat in fresh water
Plover on Lapwing reads 100
Teal on Dunlin reads 300, not new
Spare in store reads 10
"""
LOG = """
Plover grease done on 2031-05-04
Plover oil done at 130 on 2031-05-20
Plover reads 150 on 2031-06-02
Teal reads 320 on 2031-06-02
"""
TODAY = "2031-06-02"  # a Monday
DAYS = 40
# an hour at 60, so that money is minutes; a boat-day at 90
SETTINGS = "hourly_rate=60\nboat_day_cost=90"


@pytest.fixture(scope="module")
def shop() -> Shop:
    return told(BOATS + LOG, TODAY, settings=SETTINGS)


def hours_to_come(shop: Shop, engine: str, day: int) -> Fraction:
    """The median hours from today on, in whole hundredths rounded up."""
    from fleetcare.usage.components import Carriage

    carriage = Carriage(shop.fleet, shop.history, shop.as_of.toordinal())
    outlook = shop.forecast.of(carriage, engine)
    assert outlook.start == shop.as_of.toordinal()  # read today
    hours = outlook.hours_by(shop.as_of.toordinal() + day, 0.5)
    return Fraction(-int(-(hours * 100 - 1e-6) // 1), 100)


def days_since(on: str) -> int:
    return (date.fromisoformat(TODAY) - date.fromisoformat(on)).days


def life(shop: Shop, engine: str, task: str, day: int) -> Fraction:
    """Expected life, from the toy rules and the sentences above."""
    if (engine, task) == ("Plover", "grease"):
        return Fraction(days_since("2031-05-04") + day, 60)
    if (engine, task) == ("Spare", "grease"):
        return Fraction(days_since("2031-04-01") + day, 60)
    ran = hours_to_come(shop, engine, day)
    if (engine, task) == ("Plover", "oil"):
        return (20 + ran) / 50
    if (engine, task) == ("Plover", "impeller"):
        year = (date(2032, 4, 1) - date(2031, 4, 1)).days
        return max((50 + ran) / 100, Fraction(days_since("2031-04-01") + day, year))
    if (engine, task) in (("Teal", "oil"), ("Teal", "impeller"), ("Teal", "tube")):
        # no record: life 1 today and 1/30 more each day, unless what it ran since is more
        floor = {
            "oil": (20 + ran) / 50,
            "impeller": (20 + ran) / 100,
            "tube": Fraction(days_since("2031-04-01") + day, 122),
        }[task]
        return max(1 + Fraction(day, 30), floor)
    assert (engine, task) == ("Teal", "grease")
    return max(1 + Fraction(day, 30), Fraction(days_since("2031-04-01") + day, 60))


VALUES = {"grease": 10, "impeller": 25 + 45, "oil": 15 + 12, "tube": 20}  # minutes and money
WEIGHTS = {"grease": 20, "impeller": 20, "oil": 4, "tube": 4}
IDLE = 4  # of a precursor too, on an engine that does not go out: our choice


def hundredths(minutes: Fraction) -> int:
    return int(minutes * 100 + Fraction(1, 2))


def test_every_job_costs_on_every_day_what_the_law_says(shop: Shop) -> None:
    made = shop.made(DAYS)
    seen = set()
    for job, demand in zip(made.problem.jobs, made.demands, strict=True):
        engine, task = demand.key
        seen.add(demand.key)
        weight = IDLE if engine == "Spare" else WEIGHTS[task]
        assert job.precursor == (weight == 20)
        for day in range(DAYS):
            used = life(shop, engine, task, day)
            assert demand.life(shop.as_of.toordinal() + day) == used, (engine, task, day)
            over = weight * (used - 1) if used > 1 else 1 - used
            assert job.costs[day] == hundredths(VALUES[task] * over), (engine, task, day)
        over = max(Fraction(0), life(shop, engine, task, DAYS - 1) - 1)
        assert job.unplaced == hundredths(VALUES[task] * weight * over + 600)
    assert seen == {
        ("Plover", "grease"), ("Plover", "oil"), ("Teal", "grease"), ("Teal", "oil"),
        ("Teal", "impeller"), ("Teal", "tube"), ("Spare", "grease"),
    } | ({("Plover", "impeller")} & seen)  # fmt: skip


def test_the_job_is_worth_its_minutes_and_its_parts_at_the_hours_rate() -> None:
    shop = told(BOATS, TODAY, settings="hourly_rate=45")
    rules = shop.book.sets["toy"].rules
    rates = rates_of(shop.fleet.settings)
    assert job_value(rules["impeller"], rates) == 25 + Fraction(45 * 60, 45)
    assert job_value(rules["oil"], rates) == 15 + Fraction(2 * 6 * 60, 45)
    assert job_value(rules["tube"], rates) == 20


def test_life_is_one_on_the_day_it_is_due_and_below_it_the_day_before(shop: Shop) -> None:
    made = shop.made(DAYS)
    checked = 0
    for job, demand in zip(made.problem.jobs, made.demands, strict=True):
        due = demand.row.due_on
        if due is None or job.due in (None, 0) or demand.row.life_used is None:
            continue
        assert demand.life(due) >= 1 > demand.life(due - 1)
        assert demand.life(due) - 1 < Fraction(1, 20)  # it is due on the first day it is used up
        checked += 1
    assert checked >= 2


def test_a_boat_day_costs_its_money_in_minutes(shop: Shop) -> None:
    assert shop.made(DAYS).problem.boat_day == 90 * 100  # at 60 an hour a minute is one
    usual = told(BOATS + LOG, TODAY).made(DAYS)
    assert usual.problem.boat_day == 160 * 100  # 120 at 45 an hour


def test_the_weights_are_the_settings() -> None:
    told_so = "weight_precursor=7\nweight_late=3\nweight_unplaced=50"
    shop = told(BOATS + LOG, TODAY, settings=f"{SETTINGS}\n{told_so}")
    made = shop.made(DAYS)
    at = {demand.key: job for job, demand in zip(made.problem.jobs, made.demands, strict=True)}
    grease, oil = at["Teal", "grease"], at["Teal", "oil"]
    over = Fraction(62 + 9, 60) - 1  # day 9: 71 days since it became known
    assert grease.costs[9] == hundredths(10 * 7 * max(over, Fraction(9, 30)))
    assert oil.costs[9] == hundredths(Fraction(27 * 3 * 9, 30))
    assert grease.unplaced >= 50 * 100


def test_what_holds_an_engine_counts_from_today_and_an_act_from_its_finding() -> None:
    text = """
    Lapwing is a hire boat in salt water
    Plover on Lapwing reads 100
    Plover swing test done on 2031-05-19
    Plover met overheated on 2031-05-20
    Plover found swivel stiff on 2031-05-20
    """
    from tests.plan.notation import SHIPPED

    shop = told(text, TODAY, SHIPPED, "small-petrol")
    first = shop.as_of.toordinal()
    by_task = {demand.row.task: demand for demand in shop.made(20).demands}
    head = by_task["head gasket"]  # wanted by the hold, without a limit of its own
    assert head.holds
    assert [head.life(first + day) for day in (0, 3, 15)] == [1, Fraction(11, 10), Fraction(3, 2)]
    swivel = shop.stands["Plover"]
    asked = next(item for item in swivel if "stiff" in item.what)
    assert not asked.holds
    task = by_task[asked.wanted[0]]
    assert not task.holds
    assert task.life(first + 2) == 1 + Fraction(13 + 2, 30)  # 13 days since the finding


def test_a_job_for_the_season_to_come_loses_a_thirtieth_a_day_and_counts_not_too_early() -> None:
    shop = told(BOATS, "2031-08-20", settings="season=04-01/10-31")
    made = shop.made(100)
    at = next(
        n for n, demand in enumerate(made.demands) if demand.key == ("Plover", "wash")
    )  # fmt: skip
    job, demand = made.problem.jobs[at], made.demands[at]
    last = date(2031, 10, 31).toordinal() - shop.as_of.toordinal()
    assert job.due == last
    assert demand.life(shop.as_of.toordinal() + last) == 1
    assert demand.life(shop.as_of.toordinal() + last - 15) == Fraction(1, 2)
    assert demand.life(shop.as_of.toordinal() + last - 45) == 0
    assert min(job.allowed) >= last - 60  # a job before that does not answer the season
    assert min(job.allowed) <= last - 56  # and one from then on does
