"""Dates of the past held against what came: worked by hand on an outlook drawn with a ruler.

The outlook of these cases expects 1 h a day at least (the 10 % point), 2 h in the middle and 4 h
at most (the 90 % point), from the last reading on. Meters are read every tenth day. Days are
counted from 1 June 2031; the first look falls on day 92, 1 September, the next on day 122.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

import pytest

from fleetcare.due.held import (
    FOUR_WEEKS,
    LAST_YEAR,
    Asked,
    Judgement,
    Looked,
    Ran,
    groups,
    losses,
    pinball,
    shares,
)
from fleetcare.due.judging import judge
from fleetcare.due.rows import due_list
from fleetcare.fleet.components import Component
from fleetcare.log.history import history
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import Outlook
from fleetcare.usage.outlooks import Forecast
from fleetcare.usage.past import known_through
from tests.built import book_of, fleet_of
from tests.oracle.cases import tables
from tests.oracle.rule_texts import toml
from tests.oracle.sample import sample
from tests.oracle.strategies import USES

START = date(2031, 6, 1)
SEPTEMBER, OCTOBER = 92, 122
DAYS = 4000
FLEET = f"""
    boat Otter, hire, lies in salt from 2031-01-01
    engine Plover on Otter since {START}, reading 0
    Plover impeller done at 0 on {START}
"""


class Ruled(Forecast):
    """The outlook drawn with a ruler."""

    def __init__(self) -> None:
        super().__init__({})

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        start = known_through(carriage.uses[engine])
        hours = tuple(array("f", [0.0, rate * DAYS]) for rate in (1, 2, 4))
        return Outlook(start, array("i", [start, start + DAYS]), hours)


def on(days: int) -> date:
    return START + timedelta(days)


def reads(rate: float, last: int, engine: str = "Plover") -> str:
    """Readings every tenth day through a day, at so many hours a day."""
    return "\n".join(
        f"{engine} reads {rate * day:.2f} on {on(day)}" for day in range(10, last + 1, 10)
    )


def judged(
    lines: str, limits: object, fleet: str = FLEET, asked: Asked = Asked(), after: int = 400  # noqa: B008
) -> Judgement:  # fmt: skip
    task = {"name": "impeller", "component": "gearcase", "source": "invented", "limits": limits}
    texts = {"small-petrol": toml("small-petrol", "", [task])}
    known, entries = fleet_of(tables(f"{fleet}\n{lines}"))
    book = book_of(texts, USES)
    return judge(known, history(entries, on(after)), book, on(after), asked, Ruled)


def at(seen: Judgement, day: int, engine: str = "Plover") -> Looked:
    (found,) = (
        item for item in seen.dates
        if item.looked_on == on(day).toordinal() and item.engine == engine
    )  # fmt: skip
    return found


def days(item: Looked) -> tuple[int | None, ...]:
    """Early, on, late and the day it came, counted from the start."""
    return tuple(
        None if day is None else day - START.toordinal()
        for day in (item.early, item.on, item.late, item.came_on)
    )


def test_a_date_is_what_was_said_then_and_the_day_it_came_by_later_readings() -> None:
    seen = judged(reads(2, 300), {"hours": 300})
    # day 90: 180 h run, 120 left at 4, 2, 1 h a day; day 120: 240 run, 60 left; 300 h on day 150
    assert days(at(seen, SEPTEMBER)) == (120, 150, 210, 150)
    assert days(at(seen, OCTOBER)) == (135, 150, 180, 150)
    assert [item.verdict for item in seen.dates] == ["held", "held"]
    found = shares(seen.dates)
    assert (found.dates, found.clocks, found.held, found.off) == (2, 1, 2.0, 0.0)


def test_a_job_that_was_used_up_on_the_day_is_left_out() -> None:
    seen = judged(reads(2, 300), {"hours": 300})
    # the firsts of November to March: the last reading is on day 300, 27 March
    assert (len(seen.dates), seen.left_out.used_up) == (2, 5)


@pytest.mark.parametrize(
    ("rate", "limit", "came", "expected"),
    [
        (4, 500, (125, 160, 230, 125), (0.5, 0.5, 0.0)),  # 140 h left on day 90: 35, 70, 140 days
        (1, 120, (98, 105, 120, 120), (0.5, 0.0, 0.5)),  # 30 h left: 7.5, 15 and 30 days
        (5, 600, (128, 165, 240, 120), (0.0, 1.0, 0.0)),  # 150 h left, run in 30 days
        (0.5, 75, (98, 105, 120, 150), (0.0, 0.0, 1.0)),  # 30 h left, run in 60 days
    ],
)
def test_a_day_at_an_end_of_the_span_counts_half_and_one_beyond_it_not_at_all(
    rate: float, limit: int, came: tuple[int, ...], expected: tuple[float, ...]
) -> None:
    item = at(judged(reads(rate, 300), {"hours": limit}), SEPTEMBER)
    assert days(item) == came
    assert item.shares == expected


@pytest.mark.parametrize(
    ("rate", "last", "came", "verdict"),
    [
        (2, 110, None, "open"),  # not even early has gone by
        (1, 200, None, "open"),  # early has, late has not
        (2, 200, 150, "open"),  # it came, but one that came after day 200 would not be told
        (2, 210, 150, "held"),
        (1, 210, None, "open"),  # 90 h on day 90, 210 left: late is day 300
        (1.5, 260, 200, "held"),  # 135 h, 165 left: late is day 255
        (1.1, 290, 273, "open"),  # 99 h, 201 left: late is day 291
        (1, 300, 300, "held"),
    ],
)
def test_a_date_counts_once_its_late_day_has_gone_by_whether_it_came_or_not(
    rate: float, last: int, came: int | None, verdict: str
) -> None:
    item = at(judged(reads(rate, last), {"hours": 300}), SEPTEMBER)
    assert (days(item)[3], item.verdict) == (came, verdict)
    assert sum(item.shares) == (0 if verdict == "open" else 1)


def test_a_date_that_has_not_come_when_late_is_past_came_later() -> None:
    slow = "\n".join(f"Plover reads 180 on {on(day)}" for day in range(100, 221, 10))
    item = at(judged(reads(2, 90) + "\n" + slow, {"hours": 300}), SEPTEMBER)
    assert days(item) == (120, 150, 210, None)
    assert (item.verdict, item.off) == ("later", 70)  # by day 220 at least so much


def test_a_job_done_after_the_look_ends_no_clock_of_it() -> None:
    seen = judged(f"{reads(2, 300)}\nPlover impeller done at 200 on {on(100)}", {"hours": 300})
    assert days(at(seen, SEPTEMBER)) == (120, 150, 210, 150)
    anew = at(seen, OCTOBER)
    assert anew.clock_start == on(100).toordinal()
    assert days(anew)[3] == 250  # 300 h after the 200 of the job


def test_a_component_takes_its_date_along_to_another_engine() -> None:
    fleet = f"""{FLEET}
        boat Heron, hire, lies in salt from 2031-01-01
        engine Teal on Heron since {START}, reading 0
        Teal impeller done at 0 on {START}
        Plover swaps gearcase with Teal on {on(100)}"""
    lines = f"{reads(2, 300)}\n{reads(4, 300, 'Teal')}"
    item = at(judged(lines, {"hours": 300}, fleet), SEPTEMBER)
    # 99 days of 2 h on Plover, then 102 h at 4 h a day on Teal: 26 days from day 100
    assert days(item) == (120, 150, 210, 125)
    assert (item.component.engine, item.verdict) == ("Plover", "held")


def test_what_a_component_ran_is_known_only_as_far_as_each_engine_that_carried_it() -> None:
    fleet = f"""{FLEET}
        boat Heron, hire, lies in salt from 2031-01-01
        engine Teal on Heron since {START}, reading 0
        Teal impeller done at 0 on {START}
        Plover swaps gearcase with Teal on {on(100)}"""
    lines = f"{reads(2, 90)}\n{reads(4, 300, 'Teal')}\nPlover reads 181 on {on(95)}"
    item = at(judged(lines, {"hours": 300}, fleet), SEPTEMBER)
    assert item.known_to == on(95).toordinal()  # what Plover ran on days 96 to 99 is not told
    assert item.verdict == "open"


def test_a_date_in_the_stretch_since_the_last_reading_is_never_before_the_look() -> None:
    # read on day 90 at 180 h and on day 110 at 400: by the spread 200 h were reached on day 92
    lines = f"{reads(2, 90)}\nPlover reads 400 on {on(110)}\nPlover reads 401 on {on(150)}"
    item = at(judged(lines, {"hours": 191}), SEPTEMBER)
    assert days(item) == (93, 96, 101, 92)
    assert item.verdict == "earlier"
    due_now = at(judged(lines, {"hours": 184}), SEPTEMBER)
    assert days(due_now) == (92, 92, 94, 92)  # said for today, and today it was
    assert due_now.shares == (0.5, 0.5, 0.0)


def test_where_the_calendar_decides_the_middle_day_nothing_is_judged() -> None:
    seen = judged(reads(2, 300), {"hours": 300, "days": 150})
    assert (len(seen.dates), seen.left_out.by_calendar) == (0, 2)
    capped = at(judged(reads(2, 300), {"hours": 300, "days": 160}), SEPTEMBER)
    assert days(capped) == (120, 150, 160, 150)


def test_life_also_ends_by_the_calendar() -> None:
    item = at(judged(reads(1.5, 300), {"hours": 300, "days": 195}), SEPTEMBER)
    assert days(item) == (132, 173, 195, 195)  # 165 h left; the hours would last to day 200
    assert item.shares == (0.5, 0.0, 0.5)


def test_only_the_days_engine_and_boat_asked_for_are_looked_at() -> None:
    def looked(**asked: object) -> list[int]:
        seen = judged(reads(2, 300), {"hours": 300}, asked=Asked(**asked))  # type: ignore[arg-type]
        return [item.looked_on - START.toordinal() for item in seen.dates]

    assert looked() == [SEPTEMBER, OCTOBER]
    assert looked(first=on(SEPTEMBER).toordinal() + 1) == [OCTOBER]
    assert looked(last=on(OCTOBER).toordinal() - 1) == [SEPTEMBER]
    assert looked(every=2) == [SEPTEMBER]
    assert looked(engine="Plover", boat="Otter") == [SEPTEMBER, OCTOBER]
    assert looked(boat="Heron") == []


def test_hours_foreseen_stand_beside_those_run_and_the_plain_forecasts() -> None:
    seen = judged(reads(2, 480), {"hours": 3000}, after=500)
    thirty = [item for item in seen.hours if item.days == 30]
    first = thirty[0]
    assert first.looked_on == on(SEPTEMBER).toordinal()
    assert (first.points, first.ran) == ((30.0, 60.0, 120.0), 60.0)
    assert (first.four_weeks, first.last_year) == (60.0, None)
    assert thirty[-1].last_year == pytest.approx(60.0, abs=0.01)
    assert {item.days for item in seen.hours} == {30, 90}


def test_what_was_said_is_what_the_due_list_said_on_any_fleet() -> None:
    looked = 0
    for drawn, texts, as_of in sample(80):
        fleet, entries = fleet_of(drawn)
        book = book_of(texts, USES)
        seen = judge(fleet, history(entries, as_of), book, as_of, Asked(), Ruled)
        listed: dict[int, dict[tuple[str, str], object]] = {}
        for item in seen.dates:
            rule = item.rule
            if rule.each_run or rule.after or rule.idle_months or rule.season:
                continue  # the list's days are then those of what opened it, where that is sooner
            day = date.fromordinal(item.looked_on)
            if item.looked_on not in listed:
                rows = due_list(fleet, history(entries, day), book, day, forecast=Ruled())
                listed[item.looked_on] = {
                    (row.engine, row.task): (
                        row.due_early, row.due_on, row.due_late, row.governed_by, row.hours_left,
                    )
                    for row in rows
                }  # fmt: skip
            assert listed[item.looked_on][item.engine, rule.name] == (
                item.early, item.on, item.late, item.governed_by, item.hours_left,
            )  # fmt: skip
            looked += 1
    assert looked > 15


# -- figures -------------------------------------------------------------------------------------


def rows_of(shares_of: Sequence[tuple[int, int | None]], known_to: int = 1000) -> list[Looked]:
    """Dates said on day 100 for days 110, 120, 140: how many each, and the day they came."""
    rule = next(
        iter(book_of({"small-petrol": toml("small-petrol", "", [
            {"name": "impeller", "component": "gearcase", "source": "invented",
             "limits": {"hours": 100}}])}, USES).set_of("small-petrol").rules.values())
    )  # fmt: skip
    component = Component("Plover", "gearcase")
    return [
        Looked(100, "Plover", "Otter", "hire", False, rule, component, start, "hours",
               Fraction(100), 110, 120, 140, came, known_to)
        for count, came in shares_of
        for start in range(count)
    ]  # fmt: skip


def test_the_dates_told_add_up_with_halves_shared_out() -> None:
    found = shares(rows_of([(10, 120), (3, 110), (5, 140), (1, 105), (2, 150)]))
    assert (found.dates, found.held, found.earlier, found.later) == (21, 14.0, 2.5, 4.5)
    assert found.whole() == (14, 3, 4)
    assert found.are_enough
    assert not shares(rows_of([(19, 120)])).are_enough


def test_the_middle_days_miss_is_the_median_and_says_its_direction() -> None:
    found = shares(rows_of([(3, 112), (1, 125), (1, 160)]))
    assert (found.off, found.late_by) == (8.0, -8.0)
    assert shares([]).off is None


def test_pinball_loss_asks_most_of_the_side_that_is_rarer() -> None:
    # by its definition (Koenker and Bassett 1978): 0.1 x 4, 0.5 x 2 and 0.1 x 2 (from above)
    assert pinball((6.0, 8.0, 12.0), 10.0) == pytest.approx((0.4 + 1.0 + 0.2) / 3)
    assert pinball((6.0, 6.0, 6.0), 10.0) == pytest.approx(0.5 * 4)


def test_losses_compare_only_where_both_forecasts_can_be_told() -> None:
    def ran(points: tuple[float, float, float], weeks: float | None, year: float | None) -> Ran:
        return Ran(1, "Plover", "hire", False, 30, points, 10.0, weeks, year)

    found = losses([ran((10.0,) * 3, 6.0, None), ran((8.0,) * 3, 14.0, 8.0)])
    by = {(loss.days, loss.against): loss for loss in found}
    assert by[30, FOUR_WEEKS].below == pytest.approx(1 - 1 / 4)  # 0 + 1 against 2 + 2
    assert by[30, LAST_YEAR][2:] == (1, 0.0)
    assert by[90, LAST_YEAR].below is None


def test_groups_stand_apart_only_where_they_differ() -> None:
    seen = judged(reads(2, 300), {"hours": 300})
    assert [(group.by, group.name) for group in groups(seen)] == [("all", "all")]
    longer = judged(reads(2, 700), {"hours": 1200}, after=800)
    assert [group.name for group in groups(longer)] == ["first year", "after it", "all"]
