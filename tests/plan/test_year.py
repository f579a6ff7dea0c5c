"""The year ahead against a walk through it, day by day, written apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from dateutil.relativedelta import relativedelta

from fleetcare.plan.repeats import next_mark, waits_for
from fleetcare.plan.year import YearAhead, year_ahead
from fleetcare.rules.sets import read_set
from tests.plan.notation import TOY, TOYS, Shop, told

TODAY = "2031-06-02"
BOATS = """
Lapwing is a hire boat in salt water
Dunlin is a club boat in salt water
Plover on Lapwing reads 100
Teal on Lapwing reads 50
Knot on Dunlin reads 100, not new
Spare in store reads 5
"""
LOG = """
Plover grease done on 2031-04-20
Teal oil done at 60 on 2031-05-20
Knot impeller done at 120 on 2031-05-10
Plover reads 160 on 2031-06-01
Teal reads 95 on 2031-06-01
Knot reads 130 on 2031-06-01
"""
CALENDAR_DAYS = {"grease": 60}
MONTHS = {"impeller": 12, "tube": 4}
HOURS = {"impeller": 100, "oil": 50}
MINUTES = {"grease": 10, "impeller": 25, "oil": 15, "tube": 20, "wash": 30, "swing": 2}
STEPS = {
    "grease": {}, "impeller": {"leg off": 35}, "oil": {"cowl": 5},
    "tube": {"leg off": 35, "powerhead off": 60}, "wash": {}, "swing": {},
}  # fmt: skip
MONEY = {"impeller": 45, "oil": 12}
LAY_UP, LAUNCH = (10, 31), (4, 1)


def year_of(shop: Shop) -> YearAhead:
    return year_ahead(
        shop.fleet, shop.history, shop.book, shop.rows, shop.forecast, shop.as_of
    )  # fmt: skip


class Walk:
    """One engine's jobs, walked through day by day in one course of use."""

    def __init__(self, shop: Shop, engine: str, course: int, seasonal: bool) -> None:
        from fleetcare.usage.components import Carriage

        self.today, self.seasonal = shop.as_of.toordinal(), seasonal
        carriage = Carriage(shop.fleet, shop.history, self.today)
        self.outlook = shop.forecast.of(carriage, engine)
        self.point = (0.9, 0.5, 0.1)[course]
        self.due: dict[str, int] = {}
        for row in shop.rows:
            if row.engine == engine:
                day = (row.due_early, row.due_on, row.due_late)[course]
                day = self.today if row.status == "no record" else day
                if day is not None:
                    self.due[row.task] = max(self.today, day)

    def again(self, task: str, done: int) -> int | None:
        """The first day after it was done on which it is due once more."""
        found = []
        if task in CALENDAR_DAYS:
            found.append(done + CALENDAR_DAYS[task])
        if task in MONTHS:
            later = date.fromordinal(done) + relativedelta(months=MONTHS[task])
            found.append(later.toordinal())
        if task in HOURS:
            begin = self.outlook.hours_by(done, self.point)
            for day in range(done + 1, done + 4000):
                if self.outlook.hours_by(day, self.point) - begin >= HOURS[task] - 1e-6:
                    found.append(day)
                    break
        if task == "wash":
            found += [day for day in self.marks(LAY_UP) if day - 60 > done][:1]
        return min(found, default=None)

    def marks(self, mark: tuple[int, int]) -> list[int]:
        years = range(2030, 2040)
        return [date(year, *mark).toordinal() for year in years]

    def work_on(self, day: int) -> Iterator[str]:
        """What is done on a day on which the boat is in, and when it comes again."""
        for task, due in list(self.due.items()):
            again = self.again(task, due)
            ahead = 30 if again is None else min(30, (again - due) // 4)
            if self.on(due) > day + ahead:
                continue
            yield task
            later = self.again(task, day)
            if later is None:
                del self.due[task]
            else:
                self.due[task] = later

    def on(self, day: int) -> int:
        """The day itself, or the launch after it when it lies in the winter."""
        if not self.seasonal:
            return day
        winters = zip(self.marks(LAY_UP), self.marks(LAUNCH)[1:], strict=False)
        return next((launch for lay_up, launch in winters if lay_up < day < launch), day)


def walked(shop: Shop, course: int) -> list[tuple[int, str | None, list[str]]]:
    """Day, boat and tasks of all the work of a year, engine by engine."""
    boats: dict[str, list[str]] = {}
    for row in shop.rows:
        mine = boats.setdefault(row.boat or f"store {row.engine}", [])
        if row.engine not in mine:
            mine.append(row.engine)
    found: list[tuple[int, str | None, list[str]]] = []
    for boat, engines in boats.items():
        mounted = not boat.startswith("store")
        walks = [Walk(shop, engine, course, mounted) for engine in engines]
        first = shop.as_of.toordinal()
        for day in range(first, first + 365):
            if any(walk.on(due) <= day for walk in walks for due in walk.due.values()):
                worked = [list(walk.work_on(day)) for walk in walks]
                found += [(day, boat if mounted else None, tasks) for tasks in worked if tasks]
    return found


@pytest.mark.parametrize("course", [0, 1, 2])
def test_minutes_parts_and_boat_days_of_each_month_are_those_walked_through(course: int) -> None:
    shop = told(BOATS + LOG, TODAY, settings="season=04-01/10-31")
    year = year_of(shop)
    work = walked(shop, course)
    assert len(work) > 12
    minutes: Counter[tuple[int, int]] = Counter()
    money: Counter[tuple[int, int]] = Counter()
    jobs: Counter[tuple[int, int]] = Counter()
    boat_days: dict[tuple[int, int], set[tuple[str, int]]] = {}
    for day, boat, tasks in work:
        on = date.fromordinal(day)
        key = (on.year, on.month)
        steps = {step: m for task in tasks for step, m in STEPS[task].items()}
        minutes[key] += sum(MINUTES[task] for task in tasks) + sum(steps.values())
        money[key] += sum(MONEY.get(task, 0) for task in tasks)
        jobs[key] += len(tasks)
        if boat is not None:
            boat_days.setdefault(key, set()).add((boat, day))
    for month in year.months:
        key = (month.year, month.month)
        assert month.minutes[course] == minutes[key], key
        assert month.parts[course] == money[key], key
        assert month.jobs[course] == jobs[key], key
        assert month.boat_days[course] == len(boat_days.get(key, ())), key


def test_a_short_interval_is_counted_as_often_as_it_comes() -> None:
    """Grease every 60 days, new on 1 April: on days 60, 120 … 360 of the year from then on."""
    shop = told("Spare in store reads 5", "2031-04-01")
    rows = [row for row in shop.rows if row.task == "grease"]
    year = year_of(replace(shop, rows=rows))
    assert sum(month.jobs[1] for month in year.months) == 6
    assert sum(month.minutes[1] for month in year.months) == 60


def test_a_job_that_restarts_another_is_counted_for_both() -> None:
    """The impeller each year; the tube each four months, unless the impeller is just renewed."""
    text = """
    Spare in store reads 5, not new
    Spare impeller done on 2030-10-20
    Spare tube done on 2031-04-01
    """
    restarts = TOY.replace('after = ["overheated"]', 'restarts = ["tube"]')
    found = []
    for toml in (TOY, restarts):
        book = replace(TOYS, sets={"toy": read_set("toy", {"toy": (toml, "toy.toml")})})
        shop = told(text, "2031-04-01", book)
        rows = [row for row in shop.rows if row.task in ("impeller", "tube")]
        year = year_of(replace(shop, rows=rows))
        found.append([(month.month, month.jobs[1]) for month in year.months if month.jobs[1]])
    # the tube four months after April and August, or four months after October's impeller
    assert found == [[(8, 1), (10, 1), (12, 1)], [(8, 1), (10, 1), (2, 1)]]


def test_more_use_never_asks_for_less_work() -> None:
    shop = told(BOATS + LOG, TODAY)
    year = year_of(shop)
    much, middle, little = (sum(month.jobs[at] for month in year.months) for at in range(3))
    assert much >= middle >= little > 0
    assert much > little


def test_the_parts_of_the_year_are_those_of_the_middle() -> None:
    year = year_of(told(BOATS + LOG, TODAY))
    worth = sum((count * (price or 0) for _, count, price in year.items), Fraction(0))
    assert worth == sum((month.parts[1] for month in year.months), Fraction(0))
    names = [item for item, _, _ in year.items]
    assert {"impeller kit", "oil", "washer", "gasket"} <= set(names)
    assert {item: price for item, _, price in year.items}["washer"] is None


def test_the_capacity_is_that_of_the_open_days() -> None:
    shop = told(BOATS, "2031-06-02", settings="open_days=mon\nworkshop_minutes=100; Mill=20")
    months = year_of(shop).months
    assert [month.capacity for month in months[:2]] == [5 * 120, 4 * 120]
    assert (months[0].month, months[-1].month) == (6, 5)
    assert sum(month.capacity for month in months) == 53 * 120  # 365 days from a Monday on


@pytest.mark.parametrize(
    ("day", "on"),
    [
        ("2031-10-31", "2031-10-31"), ("2031-11-01", "2032-04-01"), ("2032-03-31", "2032-04-01"),
        ("2032-04-01", "2032-04-01"), ("2031-07-01", "2031-07-01"),
    ],
)  # fmt: skip
def test_what_comes_due_in_the_winter_waits_for_the_launch(day: str, on: str) -> None:
    season = (LAUNCH, LAY_UP)
    today = date(2031, 6, 2).toordinal()
    asked = date.fromisoformat(day).toordinal()
    assert date.fromordinal(waits_for(asked, season, False, today)).isoformat() == on
    assert waits_for(asked, None, False, today) == asked


def test_an_engine_laid_up_in_summer_waits_for_its_launch_too() -> None:
    season = (LAUNCH, LAY_UP)
    today = date(2031, 6, 2).toordinal()
    launch = date(2032, 4, 1).toordinal()
    assert waits_for(today, season, True, today) == launch
    assert next_mark(LAUNCH, launch) == launch


def test_a_southern_season_that_crosses_the_years_end_is_a_season() -> None:
    season = ((10, 1), (4, 30))
    today = date(2031, 6, 2).toordinal()
    for day, on in (("2031-07-01", "2031-10-01"), ("2032-01-05", "2032-01-05")):
        asked = date.fromisoformat(day).toordinal()
        assert date.fromordinal(waits_for(asked, season, False, today)).isoformat() == on


def test_nothing_known_is_a_year_without_work() -> None:
    shop = told("Lapwing is a hire boat in salt water", TODAY, TOYS)
    year = year_of(shop)
    assert len(year.months) == 12
    assert all(month.minutes == (0, 0, 0) for month in year.months)
