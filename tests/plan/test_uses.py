"""What coming jobs use up: on which day, how many, and what opening takes once a visit."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from fleetcare.plan.uses import (
    Ahead,
    Wanted,
    coming_round,
    items_of_visit,
    left_in_store,
    uses_of,
    wanted_jobs,
    winters,
)
from fleetcare.rules.bench import parts_of_visit
from fleetcare.usage.components import Carriage
from tests.plan.parts_fleet import (
    BOOK,
    SET,
    SINCE,
    TODAY,
    Place,
    done,
    entry,
    may,
    place,
    set_of,
)

NOW = TODAY.toordinal()


@pytest.fixture(scope="module")
def seen() -> Place:
    return place(*done(may(1), "Plover", "gear oil"))


def days_of(rows: list[Due], ahead: Ahead) -> list[tuple[str, str, int]]:
    """Engine, task and days from today of what is wanted."""
    return [(job.engine, job.task, job.day - NOW) for job in wanted_jobs(rows, ahead)]


def like(seen: Place, **changes: object) -> Due:
    """The row of Plover's gear oil, changed; clear and due in forty days unless told otherwise."""
    plain: dict[str, object] = {"status": CLEAR, "due_on": NOW + 40, "last_done_on": None}
    return replace(seen.row("Plover", "gear oil"), **{**plain, **changes})  # type: ignore[arg-type]


def test_a_job_is_wanted_on_the_day_it_is_due(seen: Place) -> None:
    ahead = Ahead(NOW, NOW + 60)
    assert days_of([like(seen)], ahead) == [("Plover", "gear oil", 40)]
    assert days_of([like(seen, due_on=NOW + 60, status=DUE)], ahead) == [("Plover", "gear oil", 60)]
    assert days_of([like(seen, due_on=NOW + 61)], ahead) == []
    assert days_of([like(seen, due_on=None)], ahead) == []


@pytest.mark.parametrize("changes", [
    {"status": OVERDUE, "due_on": NOW - 9}, {"status": NO_RECORD, "due_on": None},
    {"status": DUE, "due_on": NOW - 1},
])  # fmt: skip
def test_what_is_overdue_or_without_record_is_wanted_today(
    seen: Place, changes: dict[str, object]
) -> None:
    assert days_of([like(seen, **changes)], Ahead(NOW, NOW + 60)) == [("Plover", "gear oil", 0)]


def test_a_job_put_off_is_wanted_when_it_comes_back_but_a_precursor_at_once(seen: Place) -> None:
    off = {"status": OVERDUE, "put_off_until": NOW + 10}
    ahead = Ahead(NOW, NOW + 60)
    assert days_of([like(seen, **off)], ahead) == [("Plover", "gear oil", 10)]
    swivel = replace(seen.row("Plover", "swivel grease"), **off)  # type: ignore[arg-type]
    assert days_of([swivel], ahead) == [("Plover", "swivel grease", 0)]


def planned(first: int, *visits: tuple[int, str, tuple[str, ...]]) -> Plan:
    """A kept plan, made on a day, of visits: days from today, engine, tasks."""
    days = tuple(
        ServiceDay(NOW + on, "", 60, 360, (
            Visit(engine, "Lapwing", (), 60, tuple(
                PlannedJob(task, None, 0, 0, False, 30) for task in tasks)),
        ))
        for on, engine, tasks in visits
    )  # fmt: skip
    return Plan(NOW + first, NOW + 60, days, (), (), 0, None, "by hand")


def test_a_kept_plan_says_the_day(seen: Place) -> None:
    plan = planned(-3, (5, "Plover", ("gear oil",)))
    found = wanted_jobs([like(seen)], Ahead(NOW, NOW + 60, plan))
    assert [(job.day - NOW, job.planned) for job in found] == [(5, True)]
    assert days_of([like(seen, engine="Knot")], Ahead(NOW, NOW + 60, plan)) == [
        ("Knot", "gear oil", 40)
    ]


def test_a_planned_day_that_passed_unused_counts_no_more(seen: Place) -> None:
    today, passed = (planned(-9, (on, "Plover", ("gear oil",))) for on in (0, -1))
    assert days_of([like(seen)], Ahead(NOW, NOW + 60, today)) == [("Plover", "gear oil", 0)]
    assert days_of([like(seen)], Ahead(NOW, NOW + 60, passed)) == [("Plover", "gear oil", 40)]


@pytest.mark.parametrize(("done_on", "day"), [(-10, 5), (-9, 40), (-1, 40)])
def test_a_job_done_since_the_plan_was_made_is_due_when_it_comes_round(
    seen: Place, done_on: int, day: int
) -> None:
    plan = planned(-9, (5, "Plover", ("gear oil",)))
    row = like(seen, last_done_on=NOW + done_on)
    assert days_of([row], Ahead(NOW, NOW + 60, plan)) == [("Plover", "gear oil", day)]


def test_engines_in_store_count_only_when_asked_for_or_planned(seen: Place) -> None:
    row = like(seen, engine="Smew", boat=None, status=OVERDUE)
    ahead = Ahead(NOW, NOW + 60)
    assert (days_of([row], ahead), left_in_store([row], ahead)) == ([], ["Smew"])
    asked = replace(ahead, in_store=True)
    assert (days_of([row], asked), left_in_store([row], asked)) == ([("Smew", "gear oil", 0)], [])
    plan = replace(ahead, plan=planned(-3, (5, "Smew", ("gear oil",))))
    assert (days_of([row], plan), left_in_store([row], plan)) == ([("Smew", "gear oil", 5)], [])
    assert left_in_store([replace(row, status=CLEAR, due_on=NOW + 99)], ahead) == []


HIRE = BOOK.uses["hire"]._replace(seasons={"northern": ((4, 4), (10, 11))})
USES = {**BOOK.uses, "hire": HIRE}


def test_a_laid_up_engine_wants_its_jobs_by_the_launch() -> None:
    laid_up, launch = date(2031, 10, 20), date(2032, 4, 4).toordinal()
    log = [entry(laid_up, "lay-up", engine="Plover"), *done(laid_up, "Plover", "swivel grease")]
    seen = place(*log, as_of=date(2031, 12, 25))
    swivel, swing = (seen.row("Plover", task) for task in ("swivel grease", "swing test"))
    assert (swivel.status, swing.status) == (OVERDUE, OVERDUE)  # the calendar goes on
    found = winters([swivel], seen.fleet, seen.history, USES)
    assert found == {"Plover": (laid_up.toordinal(), launch)}
    jobs = wanted_jobs([swivel, swing], Ahead(seen.as_of, seen.as_of + 200, winters=found))
    assert [(job.task, job.day) for job in jobs] == [
        ("swivel grease", launch), ("swing test", launch),
    ]  # fmt: skip
    late = date(2032, 5, 1).toordinal()
    (job,) = wanted_jobs([swing], Ahead(late, late + 200, winters=found))
    assert job.day == late


def test_a_job_left_from_the_lay_up_cannot_wait_for_the_launch() -> None:
    log = [entry(date(2031, 10, 20), "lay-up", engine="Plover")]
    seen = place(*log, *done(date(2031, 8, 1), "Plover", "swivel grease"), as_of=date(2031, 12, 25))
    row = seen.row("Plover", "swivel grease")
    found = winters([row], seen.fleet, seen.history, USES)
    (job,) = wanted_jobs([row], Ahead(seen.as_of, seen.as_of + 200, winters=found))
    assert job.day == seen.as_of


def test_without_a_season_the_launch_is_taken_to_be_150_days_on() -> None:
    laid_up = date(2031, 10, 20)
    seen = place(entry(laid_up, "lay-up", engine="Plover"), as_of=date(2031, 12, 25))
    tropics = {**USES, "hire": HIRE._replace(seasons={})}
    found = winters(seen.rows, seen.fleet, seen.history, tropics)
    assert found == {"Plover": (laid_up.toordinal(), laid_up.toordinal() + 150)}


def test_a_job_of_short_interval_comes_round_within_the_horizon() -> None:
    seen = place(*done(date(2031, 6, 20), "Plover", "swivel grease", "gear oil peek"))
    carriage = Carriage(seen.fleet, seen.history, seen.as_of)
    again = coming_round(carriage, seen.forecast)
    grease, peek = seen.row("Plover", "swivel grease"), seen.row("Plover", "gear oil peek")
    first = date(2031, 6, 20) + timedelta(days=60)
    assert again(grease, first.toordinal()) == (first + timedelta(days=60)).toordinal()
    found = days_of([grease], Ahead(NOW, NOW + 200, again=again))
    start = (first - TODAY).days
    assert [day for _, _, day in found] == [start, start + 60, start + 120]
    repeats = [job.again for job in wanted_jobs([grease], Ahead(NOW, NOW + 200, again=again))]
    assert repeats == [False, True, True]
    # 50 hours or 6 months in fresh water, at the 55 hours a year or so of a hire boat: by months
    six = again(peek, NOW)
    assert six is not None and NOW < six <= date(2032, 1, 1).toordinal()
    assert again(replace(peek, rule=replace(peek.rule, limits=None)), NOW) is None


def test_a_busy_engine_comes_round_by_its_hours() -> None:
    figures = [
        entry(SINCE + timedelta(days=day), "reading", engine="Plover", reading=5 * day)
        for day in range(3, 92, 4)
    ]
    seen = place(*figures)
    again = coming_round(Carriage(seen.fleet, seen.history, seen.as_of), seen.forecast)
    oil = seen.row("Plover", "gear oil")  # 100 hours or 12 months
    round_one = again(oil, NOW)
    assert round_one is not None
    assert NOW + 12 <= round_one <= NOW + 40  # 5 hours a day so far: some 20 days
    round_two = again(oil, round_one)
    assert round_two is not None and round_two > round_one


def test_opening_is_counted_once_a_visit_for_all_that_need_it(seen: Place) -> None:
    rows = [
        replace(seen.row("Plover", task), status=OVERDUE)
        for task in ("impeller", "pump look", "gear oil", "gearcase pressure")
    ]
    uses = {use.item: use for use in uses_of(wanted_jobs(rows, Ahead(NOW, NOW + 9)), set_of)}
    assert {item: use.count for item, use in uses.items()} == {
        "impeller kit": 1, "pump housing gasket": 1, "gear oil": 1, "gearcase screw washer": 2,
    }  # fmt: skip
    assert uses["pump housing gasket"].jobs == ("impeller", "pump look")
    assert uses["pump housing gasket"].leads_to == "overheating"
    assert uses["gearcase screw washer"].jobs == ("gear oil", "gearcase pressure")
    assert not uses["gearcase screw washer"].is_precursor


def test_visits_of_two_days_open_twice(seen: Place) -> None:
    jobs = [
        Wanted("Plover", task, NOW + day, "", False)
        for day, task in ((0, "impeller"), (1, "pump look"))
    ]
    gaskets = [use for use in uses_of(jobs, set_of) if use.item == "pump housing gasket"]
    assert [(use.day - NOW, use.count, use.jobs) for use in gaskets] == [
        (0, 1, ("impeller",)), (1, 1, ("pump look",)),
    ]  # fmt: skip


def test_jobs_that_the_rules_no_longer_know_use_nothing() -> None:
    assert uses_of([Wanted("Plover", "a job of old", NOW, "", True)], set_of) == []


@given(st.lists(st.sampled_from(sorted(SET.rules)), max_size=8))
@settings(deadline=None, derandomize=True, database=None)
def test_the_pieces_are_those_of_the_bench(tasks: list[str]) -> None:
    found = items_of_visit(SET, tasks)
    assert Counter({item: count for item, (count, _) in found.items()}) == parts_of_visit(
        SET, tasks
    )
    assert all(set(by) <= set(tasks) and by for _, by in found.values())
