"""What of a kept plan still stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fleetcare.plan.current import is_fulfilled, standing_plan
from fleetcare.plan.records import Plan, PlannedJob, ServiceDay, Visit
from tests.plan.notation import Shop, told

TODAY = "2031-06-02"
FIRST = date.fromisoformat(TODAY).toordinal()
BOATS = """
Lapwing is a hire boat in salt water
Dunlin is a hire boat in salt water
Plover on Lapwing reads 100, not new
Knot on Dunlin reads 100, not new
"""


def visit(engine: str, *tasks: str) -> Visit:
    jobs = tuple(PlannedJob(task, None, 0, 0, False, 10) for task in tasks)
    return Visit(engine, "Lapwing", (), 10 * len(jobs), jobs)


def plan(*days: tuple[int, tuple[Visit, ...]]) -> Plan:
    told = tuple(ServiceDay(FIRST + day, "", 60, 360, visits) for day, visits in days)
    return Plan(FIRST, FIRST + 60, told, (), (), 0, None, "by hand")


KEPT = plan(
    (0, (visit("Plover", "oil"),)),
    (3, (visit("Plover", "grease", "tube"), visit("Knot", "impeller"))),
    (9, (visit("Knot", "grease"),)),
)


def left(shop: Shop) -> dict[int, list[str]]:
    stands = standing_plan(KEPT, shop.rows, shop.fleet, shop.as_of.toordinal())
    return {
        day.on - FIRST: [f"{visit.engine} {task}" for visit in day.visits for task in visit.tasks]
        for day in stands.days
    }


def test_nothing_happened_and_all_of_it_stands() -> None:
    assert left(told(BOATS, TODAY)) == {
        0: ["Plover oil"], 3: ["Plover grease", "Plover tube", "Knot impeller"],
        9: ["Knot grease"],
    }  # fmt: skip


def test_days_gone_by_leave_it() -> None:
    assert set(left(told(BOATS, "2031-06-05"))) == {3, 9}
    assert set(left(told(BOATS, "2031-06-06"))) == {9}


def test_jobs_done_or_put_off_since_leave_it_and_empty_days_with_them() -> None:
    text = (
        BOATS
        + """
    Plover grease done on 2031-06-03
    Knot grease done on 2031-06-04
    Plover tube put off to 2031-09-01 on 2031-06-04
    """
    )
    assert left(told(text, "2031-06-04")) == {3: ["Knot impeller"]}


def test_a_retired_engine_leaves_it_and_a_renamed_one_stays() -> None:
    shop = told(BOATS, TODAY)
    gone = [row for row in shop.rows if row.engine != "Knot"]
    assert left(replace(shop, rows=gone)) == {
        0: ["Plover oil"], 3: ["Plover grease", "Plover tube"],
    }  # fmt: skip
    engines = {
        "Heron": replace(shop.fleet.engines["Plover"], name="Heron", also=("Plover",)),
        "Knot": shop.fleet.engines["Knot"],
    }
    rows = [replace(row, engine=row.engine.replace("Plover", "Heron")) for row in shop.rows]
    fleet = replace(shop.fleet, engines=engines, _engine_names={})
    assert left(replace(shop, rows=rows, fleet=fleet))[0] == ["Heron oil"]


@pytest.mark.parametrize(
    ("done", "planned", "due_early", "fulfilled"),
    [
        (None, 5, 5, False),
        (-1, 5, 5, False),  # done before it was planned
        (1, 5, 70, True),
        (1, 5, 4, True),  # done, and due again already: the next one is another
        (0, 0, 70, True),  # planned for that very day
        (0, 0, 0, True),  # and due again at once: the next one is another
        (0, 5, 70, True),  # done on that day, far from due again: it was this one
        (0, 5, 5, False),  # done that morning, and due again by then: it is still to do
        (0, 5, None, True),
    ],
)
def test_a_job_done_since_is_fulfilled(
    done: int | None, planned: int, due_early: int | None, fulfilled: bool
) -> None:
    row = replace(
        told(BOATS, TODAY).row("Plover", "grease"),
        last_done_on=None if done is None else FIRST + done,
        due_early=None if due_early is None else FIRST + due_early,
    )
    assert is_fulfilled(row, FIRST, FIRST + planned) is fulfilled
