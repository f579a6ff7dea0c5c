"""Which jobs a plan is asked for, and on which days each may stand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from fleetcare.plan.making import Made
from fleetcare.plan.problem import Job
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.plan.supplies import Arrival, supplies_of
from tests.plan.notation import SHIPPED, told

TODAY = "2031-06-02"  # a Monday
FIRST = date.fromisoformat(TODAY).toordinal()
BOATS = """
Lapwing is a hire boat in salt water at Quay
Dunlin is a club boat in salt water at Mill
Plover on Lapwing reads 100, not new
Knot on Dunlin reads 100, not new
"""


def job(made: Made, engine: str, task: str) -> Job:
    return next(
        job
        for job, demand in zip(made.problem.jobs, made.demands, strict=True)
        if demand.key == (engine, task)
    )


def keys(made: Made) -> set[tuple[str, str]]:
    return {demand.key for demand in made.demands}


# -- days ------------------------------------------------------------------------------------------


def test_only_the_weekdays_of_the_setting_are_open() -> None:
    made = told(BOATS, TODAY, settings="open_days=tue thu").made(15)
    assert job(made, "Plover", "grease").allowed == (1, 3, 8, 10)
    assert [day for day, minutes in enumerate(made.problem.places[0].minutes) if minutes] == [
        1, 3, 8, 10,
    ]  # fmt: skip


def test_no_job_stands_on_a_day_its_boat_is_taken_and_others_may() -> None:
    made = told(BOATS, TODAY).made(10, taken={"Lapwing": {0, 1, 2, 3}})
    assert job(made, "Plover", "grease").allowed == (4, 7, 8, 9)
    assert job(made, "Knot", "grease").allowed == (0, 1, 2, 3, 4, 7, 8, 9)


def test_a_closed_day_is_closed_at_its_place_alone() -> None:
    apart = "workshop_minutes=360; Mill=120"
    made = told(BOATS, TODAY, settings=apart).made(5, closed={"": {0}, "Mill": {1, 2}})
    assert job(made, "Plover", "grease").allowed == (1, 2, 3, 4)
    assert job(made, "Knot", "grease").allowed == (0, 3, 4)


def test_a_place_apart_has_its_own_minutes_and_boats_and_others_share_one() -> None:
    settings = "workshop_minutes=360; mill=120\nboats_out=3; Mill=1"
    made = told(BOATS, TODAY, settings=settings).made(5)
    assert [(p.name, p.minutes[0], p.boats_out) for p in made.problem.places] == [
        ("", 360, 3), ("mill", 120, 1),
    ]  # fmt: skip
    at = {bench.name: made.problem.places[bench.place].name for bench in made.problem.benches}
    assert at == {"Plover": "", "Knot": "mill"}


def test_a_job_too_long_for_a_day_has_no_day() -> None:
    made = told(BOATS, TODAY, settings="workshop_minutes=100").made(5)
    # powerhead off 60, leg off 35 with it, and more for a leg that may be stuck: 20 min of job
    assert job(made, "Plover", "tube").allowed == ()
    assert job(made, "Plover", "grease").allowed == (0, 1, 2, 3, 4)


def test_where_no_boat_may_come_in_only_engines_in_store_are_done() -> None:
    text = BOATS + "Spare in store reads 4, not new"
    made = told(text, TODAY, settings="boats_out=0").made(5)
    assert job(made, "Plover", "grease").allowed == ()
    assert job(made, "Spare", "grease").allowed == (0, 1, 2, 3, 4)


def test_an_engine_in_store_needs_no_boat_and_two_on_a_boat_share_it() -> None:
    text = BOATS + "Teal on Lapwing reads 5, not new\nSpare in store reads 4, not new"
    problem = told(text, TODAY).made(10, taken={"Lapwing": {0}}).problem
    by_name = {bench.name: bench for bench in problem.benches}
    assert by_name["Teal"].boat == by_name["Plover"].boat is not None
    assert by_name["Spare"].boat is None
    assert problem.boats == ("Dunlin", "Lapwing")
    assert problem.busy == (frozenset(), frozenset({0}))


# -- access ----------------------------------------------------------------------------------------


def test_a_step_that_includes_another_opens_both() -> None:
    made = told(BOATS.replace(", not new", ""), "2031-12-01", settings="open_days=mon").made(60)
    bench = next(one for one in made.benches if one.engine == "Plover")
    tube, impeller = job(made, "Plover", "tube"), job(made, "Plover", "impeller")
    assert [step.name for step in bench.chosen(tube.access)] == ["leg off", "powerhead off"]
    assert [step.name for step in bench.chosen(impeller.access)] == ["leg off"]
    assert tube.access & impeller.access == impeller.access
    minutes = dict(zip([step.name for step in bench.steps], bench.minutes(), strict=True))
    assert (minutes["leg off"], minutes["powerhead off"]) == (35, 60)


def test_a_joint_not_known_to_have_been_opened_is_allowed_180_minutes_more() -> None:
    opened = BOATS + "Knot tube done on 2031-05-01"
    made = told(opened, "2031-11-03", settings="workshop_minutes=360").made(30)
    by_name = {one.engine: one for one in made.benches}
    steps = {
        name: dict(zip([step.name for step in one.steps], one.minutes(), strict=True))
        for name, one in by_name.items()
    }
    assert by_name["Plover"].stuck == {"leg off"}
    assert steps["Plover"]["leg off"] == 35 + 180
    assert by_name["Knot"].stuck == frozenset()  # powerhead off opened the leg as well
    assert steps["Knot"]["leg off"] == 35


# -- which jobs ------------------------------------------------------------------------------------


def test_what_is_due_by_the_last_day_is_in_and_the_rest_is_not() -> None:
    text = BOATS + "Plover grease done on 2031-06-01\nKnot grease done on 2031-05-04"
    shop = told(text, TODAY)
    assert ("Plover", "grease") not in keys(shop.made(59))  # due 60 days after 1 June: day 59
    assert ("Plover", "grease") in keys(shop.made(60))
    assert job(shop.made(60), "Plover", "grease").due == 59
    assert job(shop.made(60), "Knot", "grease").due == 31


def test_a_job_overdue_or_without_record_is_due_today() -> None:
    text = BOATS + "Plover grease done on 2031-04-01"
    made = told(text, TODAY).made(10)
    assert job(made, "Plover", "grease").due == 0  # ended on 31 May
    assert job(made, "Knot", "impeller").due == 0
    assert job(made, "Knot", "impeller").precursor and not job(made, "Knot", "oil").precursor


def test_a_job_put_off_leaves_the_plan_and_a_precursor_stays() -> None:
    text = (
        BOATS
        + """
    Plover tube put off to 2031-08-01 on 2031-06-01
    Plover impeller put off to 2031-08-01 on 2031-06-01
    """
    )
    made = told(text, TODAY).made(10)
    assert ("Plover", "tube") not in keys(made)
    assert ("Plover", "impeller") in keys(made)
    assert [(row.engine, row.task) for row in made.put_off] == [("Plover", "tube")]
    back = told(text, "2031-08-01").made(10)
    assert ("Plover", "tube") in keys(back) and not back.put_off


def test_an_engine_laid_up_brings_what_is_due_and_nothing_clear() -> None:
    known = BOATS + "Plover grease done on 2031-05-01\nPlover impeller done on 2031-05-01"
    awake = told(known, TODAY).made(60)
    asleep = told(known + "\nPlover laid up on 2031-05-02", TODAY).made(60)
    assert ("Plover", "grease") in keys(awake)
    assert ("Plover", "grease") not in keys(asleep)  # clear: it comes after launch
    assert ("Plover", "tube") in keys(asleep)  # without record
    late = told(known + "\nPlover laid up on 2031-05-02", "2031-07-07").made(60)
    assert ("Plover", "grease") in keys(late)  # overdue since


def test_what_holds_an_engine_comes_first_and_looks_it_wants_are_in() -> None:
    text = BOATS.replace(", not new", "") + "Plover found tell-tale weak on 2031-06-01"
    shop = told(text, TODAY, SHIPPED, "small-petrol")
    made = shop.made(20)
    first = {
        demand.row.task
        for job, demand in zip(made.problem.jobs, made.demands, strict=True)
        if job.first
    }
    wanted = {task for item in shop.stands["Plover"] if item.holds for task in item.wanted}
    assert first == wanted
    assert "intakes look" in first  # a look at every start is listed when a hold wants it
    assert not any(
        job.first
        for job in made.problem.jobs
        if made.problem.benches[job.engine].name == "Knot"
    )  # fmt: skip


def test_a_hold_without_any_day_stops_nobody() -> None:
    """Only a job with an allowed day is marked, or nothing of the engine could be placed."""
    text = BOATS + "Plover met overheated on 2031-06-01"
    made = told(text, TODAY, SHIPPED, "small-petrol").made(3, taken={"Lapwing": {0, 1, 2}})
    assert not any(job.first for job in made.problem.jobs)


# -- parts -----------------------------------------------------------------------------------------


def test_an_item_nobody_counts_limits_nothing() -> None:
    made = told(BOATS, TODAY).made(10)
    assert made.problem.supplies == ()
    assert all(job.uses == () for job in made.problem.jobs)


def test_a_part_on_order_keeps_its_jobs_until_it_arrives() -> None:
    made = told(BOATS, TODAY).made(20, arrivals=(Arrival("impeller kit", FIRST + 4),))
    assert job(made, "Plover", "impeller").allowed == (4, 7, 8, 9, 10, 11, 14, 15, 16, 17, 18)
    (supply,) = made.problem.supplies
    assert supply.by_day[:4] == (0, 0, 0, 0) and supply.by_day[4] >= 2
    assert job(made, "Plover", "impeller").uses == ((0, 1),)


def test_what_the_shelf_lacks_is_there_after_the_lead_time() -> None:
    made = told(BOATS, TODAY, settings="lead_days=8").made(20, shelf={"washer": 2, "oil": 9})
    names = [supply.item for supply in made.problem.supplies]
    assert names == ["oil", "washer"]
    washers = made.problem.supplies[1].by_day
    assert washers[:8] == (2,) * 8 and washers[8] >= 2 + 8
    at = [bench.name for bench in made.problem.benches].index("Plover")
    opened = dict(
        zip([step.name for step in made.benches[at].steps], made.problem.opening[at], strict=True)
    )
    assert opened["leg off"] == ((1, 2),)  # two washers each time the leg comes off
    assert opened["cowl"] == ()
    assert 0 in job(made, "Plover", "impeller").allowed  # two are there for one of them


@pytest.mark.parametrize(
    ("shelf", "arrivals", "lead", "by_day"),
    [
        ({"kit": 1}, (), 3, (1, 1, 1, 6, 6, 6)),
        ({"kit": -2}, (), 9, (0, 0, 0, 0, 0, 0)),  # short by the log: counted as none
        ({}, (("kit", 2, 2),), 4, (0, 0, 2, 2, 7, 7)),
        ({"kit": 1}, (("kit", 5, 2),), 1, (1, 1, 1, 1, 1, 8)),  # who names a day knows
        ({}, (("kit", 1, None),), 4, (0, 5, 5, 5, 5, 5)),
        ({}, (("kit", -3, 1),), 2, (1, 1, 6, 6, 6, 6)),  # should have come: counted as there
    ],
)
def test_supplies_by_day(
    shelf: dict[str, int], arrivals: tuple[tuple[str, int, int | None], ...], lead: int,
    by_day: tuple[int, ...],
) -> None:  # fmt: skip
    come = [Arrival(item, FIRST + day, count) for item, day, count in arrivals]
    (supply,) = supplies_of(shelf, come, {"kit": 5}, FIRST, 6, lead)
    assert supply.by_day == by_day


# -- the plan that is kept -------------------------------------------------------------------------


def kept_plan(engine: str, task: str, day: int) -> Plan:
    planned = PlannedJob(task, None, 0, 0, True, 10)
    visit = Visit(engine, "Lapwing", (), 10, (planned,))
    days = (ServiceDay(FIRST + day, "", 10, 360, (visit,)),)
    return Plan(FIRST - 5, FIRST + 50, days, (), (), 0, None, "by hand")


def test_a_kept_day_is_known_and_one_gone_by_is_not() -> None:
    shop = told(BOATS, TODAY)
    for day, expected in ((3, 3), (0, 0), (-1, None), (99, None)):
        problem = shop.made(10, kept=kept_plan("Plover", "grease", day), frozen=7).problem
        days = dict(zip([job.task for job in problem.jobs if problem.benches[job.engine].name
                         == "Plover"], [kept for job, kept in zip(problem.jobs, problem.kept,
                         strict=True) if problem.benches[job.engine].name == "Plover"],
                        strict=True))  # fmt: skip
        assert days["grease"] == expected
        assert [kept for task, kept in days.items() if task != "grease"] == [None] * 3
        assert problem.frozen == 7 and problem.moving == 2000


def test_a_job_done_since_the_plan_was_kept_has_no_kept_day() -> None:
    """Kept five days ago for day 3; done since then, and due again within these days."""
    kept = kept_plan("Plover", "grease", 3)
    done = told(BOATS + "Plover grease done on 2031-06-01", TODAY).made(80, kept=kept)
    again = [demand.key for demand in done.demands].index(("Plover", "grease"))
    assert done.problem.jobs[again].due == 59
    assert done.problem.kept[again] is None
    before = told(BOATS + "Plover grease done on 2031-05-20", TODAY).made(80, kept=kept)
    assert before.problem.kept[again] == 3


def test_a_plan_kept_under_an_earlier_name_is_the_same_engines() -> None:
    from dataclasses import replace

    shop = told(BOATS, TODAY)
    engines = dict(shop.fleet.engines)
    engines["Plover"] = replace(engines["Plover"], also=("Heron",))
    shop = replace(shop, fleet=replace(shop.fleet, engines=engines, _engine_names={}))
    problem = shop.made(10, kept=kept_plan("Heron", "grease", 3)).problem
    assert 3 in problem.kept


def test_the_order_of_rows_changes_nothing() -> None:
    from dataclasses import replace

    shop = told(BOATS + "Spare in store reads 4, not new", TODAY)
    turned = replace(shop, rows=list(reversed(shop.rows)))
    assert shop.made(30).problem == turned.made(30).problem
    names = [demand.key for demand in shop.made(30).demands]
    engines = [engine for engine, _ in names]
    assert list(dict.fromkeys(engines)) == ["Knot", "Plover", "Spare"]


def test_days_shift_with_the_day_of_planning() -> None:
    """The same fleet seen a week later, everything logged a week later: the same problem."""
    text = BOATS + "Plover grease done on 2031-05-05\nKnot grease done on 2031-05-12"
    one = told(text, TODAY).made(20).problem
    later = (date.fromisoformat(TODAY) + timedelta(7)).isoformat()
    moved = BOATS + "Plover grease done on 2031-05-12\nKnot grease done on 2031-05-19"
    two = told(moved, later).made(20).problem
    for a, b in zip(one.jobs, two.jobs, strict=True):
        if a.task == "grease":
            assert (a.due, a.allowed, a.costs) == (b.due, b.allowed, b.costs)
