"""The plan as people read it: what it costs by its own lines, what is late, left out, moved."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import pytest

from fleetcare.plan.making import Made, days_kept
from fleetcare.plan.moved import moved_since
from fleetcare.plan.reasons import CHEAPER, FINDABLE
from fleetcare.plan.records import HELD_FIRST, KEPT, NO_DAY, NO_PART, NO_ROOM, Plan
from fleetcare.plan.solve import Solution, solve
from fleetcare.plan.supplies import Arrival
from fleetcare.plan.telling import only_engines, plan_of
from tests.plan.notation import SHIPPED, Shop, told

TODAY = "2031-06-02"  # a Monday
FIRST = date.fromisoformat(TODAY).toordinal()
BOATS = """
Lapwing is a hire boat in salt water at Quay
Dunlin is a club boat in salt water at Mill
Plover on Lapwing reads 100
Teal on Lapwing reads 50
Knot on Dunlin reads 100, not new
Spare in store reads 5
"""
LOG = """
Plover grease done on 2031-04-20
Teal oil done at 60 on 2031-05-20
Plover reads 160 on 2031-06-01
Teal reads 95 on 2031-06-01
"""


def answered(made: Made, days: Sequence[int | None], least: int | None = None) -> Plan:
    """The plan of an answer that was not searched for."""
    return plan_of(made, Solution(tuple(days), least, None, False, "by hand"))


def where(made: Made, engine: str, task: str) -> int:
    return [demand.key for demand in made.demands].index((engine, task))


def planned(shop: Shop, days: int = 40, **more: object) -> tuple[Made, Plan]:
    made = shop.made(days, **more)  # type: ignore[arg-type]
    return made, plan_of(made, solve(made.problem, 0))


def cost_by_lines(made: Made, plan: Plan) -> int:
    """The cost of a plan out of what it says, as the law adds it up, in hundredths."""
    boats, access, jobs = set(), 0, 0
    for day in plan.days:
        for visit in day.visits:
            if visit.boat is not None:
                boats.add((visit.boat, day.on))
            access += visit.minutes - sum(job.minutes for job in visit.jobs)
            for job in visit.jobs:
                number = where(made, visit.engine, job.task)
                jobs += made.problem.jobs[number].costs[day.on - plan.first]
    left = sum(
        made.problem.jobs[where(made, item.engine, item.task)].unplaced for item in plan.unplaced
    )
    return len(boats) * made.problem.boat_day + 100 * access + jobs + left


@pytest.mark.parametrize(
    "settings", ["", "boats_out=1", "workshop_minutes=90", "workshop_minutes=200; Mill=60"]
)
def test_the_cost_is_that_of_its_lines(settings: str) -> None:
    made, plan = planned(told(BOATS + LOG, TODAY, settings=settings))
    assert plan.days
    assert plan.cost == cost_by_lines(made, plan)


def test_every_job_is_on_one_day_or_left_out_with_a_reason() -> None:
    for settings in ("", "workshop_minutes=60", "workshop_minutes=10", "open_days=wed"):
        made, plan = planned(told(BOATS + LOG, TODAY, settings=settings))
        placed = [
            (visit.engine, job.task)
            for day in plan.days
            for visit in day.visits
            for job in visit.jobs
        ]
        left = [(item.engine, item.task) for item in plan.unplaced]
        assert sorted(placed + left) == sorted(demand.key for demand in made.demands)
        assert all(item.reason for item in plan.unplaced)


def test_the_minutes_of_a_visit_count_each_step_once_and_tell_what_that_saved() -> None:
    made = told(BOATS + LOG, "2031-08-01").made(60)
    days: list[int | None] = [None] * len(made.demands)
    for task in ("impeller", "tube", "grease"):
        days[where(made, "Plover", task)] = 3
    plan = answered(made, days)
    (visit,) = plan.days[0].visits
    assert visit.access == ("leg off", "powerhead off")
    assert visit.minutes == 35 + 60 + 25 + 20 + 10
    assert visit.saved == 35  # the leg, off once and not twice
    assert plan.days[0].minutes == visit.minutes


def test_one_boat_with_two_engines_is_one_boat_day() -> None:
    made = told(BOATS + LOG, TODAY).made(30)
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Plover", "grease")] = 0
    one = answered(made, days)
    days[where(made, "Teal", "oil")] = 0
    both = answered(made, days)
    oil = made.problem.jobs[where(made, "Teal", "oil")]
    assert both.cost - one.cost == oil.costs[0] + 500 - oil.unplaced  # a cowl, no boat-day


def test_a_day_tells_its_boats_in_order_and_engines_in_store_last() -> None:
    made = told(BOATS + LOG, TODAY).made(30)
    days: list[int | None] = [None] * len(made.demands)
    for key in (("Spare", "grease"), ("Plover", "grease"), ("Knot", "grease"), ("Teal", "oil")):
        days[where(made, *key)] = 1
    (day,) = answered(made, days).days
    assert [(visit.boat, visit.engine) for visit in day.visits] == [
        ("Dunlin", "Knot"), ("Lapwing", "Plover"), ("Lapwing", "Teal"), (None, "Spare"),
    ]  # fmt: skip
    assert day.on == FIRST + 1 and day.capacity == 360


def test_a_job_tells_its_life_and_how_early_or_late_it_is() -> None:
    made = told(BOATS + LOG, TODAY).made(30)
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Plover", "grease")] = 15  # due on 19 June, day 17
    days[where(made, "Knot", "grease")] = 4  # without record: due today
    jobs = {job.task + day.visits[0].engine: job for day in answered(made, days).days
            for job in day.visits[0].jobs}  # fmt: skip
    early, late = jobs["greasePlover"], jobs["greaseKnot"]
    assert (early.late, early.pulled_forward) == (0, 2)
    assert early.life_expected is not None and float(early.life_expected) == 58 / 60
    assert (late.late, late.pulled_forward) == (4, 0)


# -- late, and why ---------------------------------------------------------------------------------


def late(plan: Plan, engine: str, task: str) -> tuple[int, bool, str]:
    item = next(one for one in plan.late if (one.engine, one.task) == (engine, task))
    return item.days, item.proved, item.reason


def test_a_job_without_an_open_unbooked_day_in_time_is_proved_late() -> None:
    _, plan = planned(told(BOATS + LOG, TODAY), taken={"Lapwing": set(range(20))})
    # due on day 17; day 20 is a Sunday
    assert late(plan, "Plover", "grease") == (4, True, NO_DAY)


def test_a_job_whose_part_comes_after_it_is_due_says_so() -> None:
    shop = told(BOATS + LOG + "Teal reads 108 on 2031-06-02", TODAY)
    due = next(row for row in shop.rows if (row.engine, row.task) == ("Teal", "oil")).due_on
    assert due is not None and due - FIRST < 10
    arrivals = (Arrival("oil", FIRST + 14),)
    _, plan = planned(shop, arrivals=arrivals)
    days, proved, reason = late(plan, "Teal", "oil")
    assert (proved, reason) == (True, NO_PART) and days >= FIRST + 14 - due


def test_without_room_in_time_it_says_so_and_whether_it_is_proved() -> None:
    """Two precursors due today, and minutes for one of them: one must be late."""
    text = """
    Lapwing is a hire boat in salt water
    Plover on Lapwing reads 100
    Teal on Lapwing reads 100
    """
    shop = told(text, "2031-05-30", settings="workshop_minutes=15\nopen_days=fri sat")
    made = shop.made(8)
    at = [where(made, engine, "grease") for engine in ("Plover", "Teal")]
    assert [made.problem.jobs[job].due for job in at] == [1, 1]
    assert made.problem.jobs[at[0]].allowed == (0, 1, 7)
    days: list[int | None] = [None] * len(made.demands)
    days[at[0]], days[at[1]] = 0, 7
    unproved = answered(made, days)
    assert late(unproved, "Teal", "grease")[1:] == (False, FINDABLE)
    days[at[0]] = 1
    filled = answered(made, [*days], least=0)
    assert late(filled, "Teal", "grease")[1:] == (False, FINDABLE)


def test_others_that_fill_every_day_in_time_are_the_reason() -> None:
    text = """
    Lapwing is a hire boat in salt water
    Dunlin is a hire boat in salt water
    Plover on Lapwing reads 100
    Knot on Dunlin reads 100
    """
    shop = told(text, "2031-05-30", settings="workshop_minutes=15\nopen_days=fri")
    made = shop.made(8)
    at = [where(made, engine, "grease") for engine in ("Plover", "Knot")]
    days: list[int | None] = [None] * len(made.demands)
    days[at[0]], days[at[1]] = 0, 7
    assert late(answered(made, days), "Knot", "grease") == (6, False, NO_ROOM)
    assert late(answered(made, days, least=1), "Knot", "grease") == (6, True, NO_ROOM)
    assert late(answered(made, days, least=0), "Knot", "grease") == (6, False, NO_ROOM)


def test_what_holds_the_engine_is_the_reason_when_it_comes_too_late_itself() -> None:
    text = BOATS + LOG + "Plover met overheated on 2031-06-01"
    made = told(text, TODAY).made(30)
    impeller, grease = where(made, "Plover", "impeller"), where(made, "Plover", "grease")
    days: list[int | None] = [None] * len(made.demands)
    days[impeller], days[grease] = 18, 18  # grease is due on day 17
    assert made.problem.jobs[impeller].first
    assert late(answered(made, days), "Plover", "grease") == (1, False, HELD_FIRST)


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        (1, "overdue already; this is its first open, unbooked day"),
        (3, f"overdue already; {FINDABLE}"),
    ],
)
def test_what_was_overdue_before_the_plan_says_why_not_sooner(day: int, reason: str) -> None:
    made = told(BOATS, "2031-06-08").made(10)  # a Sunday; grease ended on 31 May
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Plover", "grease")] = day
    assert late(answered(made, days), "Plover", "grease") == (day, True, reason)


@pytest.mark.parametrize(
    ("settings", "lacking"),
    [("workshop_minutes=15", "minutes"), ("boats_out=1", "boat place")],
)
def test_what_was_overdue_says_what_the_days_before_have_not(settings: str, lacking: str) -> None:
    text = """
    Lapwing is a hire boat in salt water
    Dunlin is a hire boat in salt water
    Plover on Lapwing reads 100
    Knot on Dunlin reads 100
    """
    made = told(text, "2031-06-05", settings=f"{settings}\nopen_days=fri").made(10)
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Plover", "grease")], days[where(made, "Knot", "grease")] = 1, 8
    reason = f"overdue already; no {lacking} left on the days before"
    assert late(answered(made, days), "Knot", "grease")[2] == reason


def test_a_job_late_though_a_day_in_time_is_free_is_late_for_its_cost() -> None:
    made = told(BOATS + LOG + "Teal reads 107 on 2031-06-02", TODAY).made(40)
    oil = where(made, "Teal", "oil")
    due = made.problem.jobs[oil].due
    assert due is not None and due > 0
    days: list[int | None] = [None] * len(made.demands)
    days[oil] = next(day for day in made.problem.jobs[oil].allowed if day > due)
    assert late(answered(made, days, least=0), "Teal", "oil")[1:] == (False, CHEAPER)


def test_a_job_kept_late_within_the_frozen_days_says_so() -> None:
    shop = told(BOATS + LOG, "2031-06-17")  # grease of Plover is due in two days
    made = shop.made(30)
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Plover", "grease")] = 6
    kept = answered(made, days)
    again = shop.made(30, kept=kept, frozen=7)
    plan = plan_of(again, solve(again.problem, 0))
    assert late(plan, "Plover", "grease") == (4, True, KEPT)


def test_precursors_come_first_and_the_latest_of_them() -> None:
    made = told(BOATS, "2031-06-08").made(20)
    plan = answered(made, [None] * len(made.demands))
    order = [(not item.precursor, -item.days) for item in plan.late]
    assert order == sorted(order) and len(set(order)) > 1


# -- left out, and why -----------------------------------------------------------------------------


def reason(plan: Plan, engine: str, task: str) -> str:
    return next(i.reason for i in plan.unplaced if (i.engine, i.task) == (engine, task))


def test_what_has_no_day_says_which_limit_is_why() -> None:
    shop = told(BOATS + LOG, TODAY, settings="workshop_minutes=100")
    made = shop.made(5, taken={"Lapwing": {0, 1, 2, 3, 4}},
                     arrivals=(Arrival("oil", FIRST + 30),))  # fmt: skip
    plan = answered(made, [None] * len(made.demands))
    assert reason(plan, "Plover", "oil") == "Lapwing is taken on every open day"
    assert reason(plan, "Knot", "tube") == (
        "takes 295 min with its access, and the longest day has 100"
    )
    assert reason(plan, "Knot", "oil") == "no oil by 6 Jun 2031"
    assert reason(plan, "Knot", "grease") == FINDABLE  # nobody tried


def test_what_others_took_of_its_days_is_the_reason() -> None:
    made = told(BOATS + LOG, TODAY, settings="workshop_minutes=15\nopen_days=mon").made(5)
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Knot", "grease")] = 0
    assert reason(answered(made, days), "Spare", "grease") == "no minutes left"
    old = BOATS.replace("Plover on Lapwing reads 100", "Plover on Lapwing reads 100, not new")
    wide = told(old, TODAY, settings="boats_out=1\nopen_days=mon").made(5)
    days = [None] * len(wide.demands)
    days[where(wide, "Knot", "grease")] = 0
    assert reason(answered(wide, days), "Plover", "oil") == "no boat place left"


def test_a_part_that_others_use_up_is_named() -> None:
    made = told(BOATS + LOG, TODAY, settings="lead_days=99").made(20, shelf={"washer": 3})
    days: list[int | None] = [None] * len(made.demands)
    days[where(made, "Knot", "impeller")] = 0
    assert reason(answered(made, days), "Knot", "tube") == "no washer left"


def test_what_waits_for_a_hold_without_a_day_says_so() -> None:
    text = BOATS + LOG + "Plover met overheated on 2031-06-01"
    made = told(text, TODAY).made(20)
    plan = answered(made, [None] * len(made.demands))
    assert reason(plan, "Plover", "grease") == "held: impeller must come first and found no day"


def test_a_workshop_that_never_opens_is_named() -> None:
    closed = {"": set(range(5)), "Mill": set(range(5))}
    shop = told(BOATS + LOG, TODAY, settings="workshop_minutes=90; Mill=60\nboats_out=2; Mill=0")
    plan = answered(*_nothing(shop.made(5, closed=closed)))
    assert reason(plan, "Knot", "grease") == "the workshop at Mill is closed on every day planned"
    assert (
        reason(plan, "Plover", "grease")
        if ("Plover", "grease") in {(item.engine, item.task) for item in plan.unplaced}
        else True
    )
    plan = answered(*_nothing(shop.made(5)))
    assert reason(plan, "Knot", "grease") == "no boat may come in at Mill (setting boats_out)"


def _nothing(made: Made) -> tuple[Made, list[None]]:
    return made, [None] * len(made.demands)


# -- what moved ------------------------------------------------------------------------------------


def moves(shop: Shop, made: Made, days: Sequence[int | None], kept: Plan) -> dict[str, str]:
    known = days_kept(kept, shop.fleet)
    found = moved_since(made, days, known, shop.rows, kept.first)
    return {f"{item.engine} {item.task}": item.why for item in found}


def test_a_plan_that_stays_as_it_was_moves_nothing() -> None:
    shop = told(BOATS + LOG, TODAY)
    made, plan = planned(shop)
    days = solve(made.problem, 0).answer
    assert moves(shop, made, days, plan) == {}
    assert moved_since(made, days, days_kept(plan, shop.fleet), shop.rows, None) == ()


def test_what_moved_says_why() -> None:
    shop = told(BOATS + LOG, TODAY, settings="workshop_minutes=300")
    first = shop.made(40)
    days: list[int | None] = [None] * len(first.demands)
    spots = {
        ("Plover", "grease"): 2, ("Teal", "oil"): 3, ("Knot", "grease"): 4, ("Knot", "oil"): 7,
        ("Spare", "grease"): 8, ("Knot", "impeller"): 9,
    }  # fmt: skip
    for key, day in spots.items():
        days[where(first, *key)] = day
    kept = answered(first, days)
    # three days on: the oil of Teal done, Knot's grease day gone by without a word
    later = told(
        BOATS + LOG + "Teal oil done on 2031-06-04\nKnot oil put off to 2031-09-01 on 2031-06-04",
        "2031-06-07", settings="workshop_minutes=300",
    )  # fmt: skip
    made = later.made(40, taken={"Dunlin": {4}})
    new: list[int | None] = [None] * len(made.demands)
    for key in spots.keys() & {demand.key for demand in made.demands}:
        new[where(made, *key)] = 9
    why = moves(later, made, new, kept)
    assert why["Plover grease"] == "its day went by and nothing was logged"
    assert why["Knot grease"] == "its day went by and nothing was logged"
    assert why["Knot oil"] == "put off"
    assert why["Knot impeller"] == "the boat is taken that day"  # 11 June
    assert why["Spare grease"] == "it costs less that way"
    assert why["Teal oil"] == "came into these days since"  # done, and wanted again


def test_a_job_done_before_its_day_leaves_the_plan_and_says_so() -> None:
    shop = told(BOATS + LOG, TODAY)
    first = shop.made(40)
    days: list[int | None] = [None] * len(first.demands)
    days[where(first, "Plover", "grease")] = 9
    later = told(BOATS + LOG + "Plover grease done on 2031-06-03", "2031-06-04")
    again = later.made(40)
    why = moves(later, again, [None] * len(again.demands), answered(first, days))
    assert why["Plover grease"] == "done on 3 Jun 2031"


def test_a_job_done_whose_day_is_past_is_no_move() -> None:
    shop = told(BOATS + LOG, TODAY)
    first = shop.made(40)
    days: list[int | None] = [None] * len(first.demands)
    days[where(first, "Plover", "grease")] = 1
    kept = answered(first, days)
    later = told(BOATS + LOG + "Plover grease done on 2031-06-03", "2031-06-05")
    made = later.made(40)
    assert ("Plover", "grease") not in {demand.key for demand in made.demands}
    assert "Plover grease" not in moves(later, made, [None] * len(made.demands), kept)


# -- one place -------------------------------------------------------------------------------------


def test_a_part_of_the_plan_keeps_whole_days_minutes() -> None:
    _, plan = planned(told(BOATS + LOG, TODAY))
    some = only_engines(plan, {"Knot"})
    assert {visit.engine for day in some.days for visit in day.visits} == {"Knot"}
    assert all(item.engine == "Knot" for item in (*some.late, *some.unplaced))
    whole = {day.on: day.minutes for day in plan.days}
    assert all(day.minutes == whole[day.on] for day in some.days)
    assert some.cost == plan.cost


def test_a_held_engines_first_jobs_stand_first_in_its_visit() -> None:
    text = """
    Lapwing is a hire boat in salt water
    Plover on Lapwing reads 100
    Plover found tell-tale weak on 2031-06-01
    """
    made = told(text, TODAY, SHIPPED, "small-petrol").made(20)
    plan = answered(made, [2] * len(made.demands))
    (visit,) = plan.days[0].visits
    first = [made.problem.jobs[where(made, "Plover", task)].first for task in visit.tasks]
    assert any(first) and first == sorted(first, reverse=True)
