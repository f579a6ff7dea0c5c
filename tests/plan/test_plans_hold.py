"""Plans of any small fleet hold to every limit, checked on what they say and nothing else."""

from __future__ import annotations

from datetime import date

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleetcare.plan.kept import as_text, from_text
from fleetcare.plan.records import Plan
from fleetcare.plan.solve import solve
from fleetcare.plan.supplies import Arrival
from fleetcare.plan.telling import plan_of
from tests.plan.notation import Shop, told

TODAY = date(2031, 6, 2)  # a Monday
FIRST = TODAY.toordinal()
WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
STEPS = {"oil": {"cowl"}, "impeller": {"leg off"}, "tube": {"leg off", "powerhead off"}}
MINUTES = {"cowl": 5, "leg off": 35, "powerhead off": 60}
BENCH = {"grease": 10, "impeller": 25, "oil": 15, "tube": 20, "wash": 30, "swing": 2}
BOATS = """
Lapwing is a hire boat in salt water at Quay
Dunlin is a club boat in salt water at Mill
Heron is a hire boat in fresh water at Quay
Plover on Lapwing reads 100
Teal on Lapwing reads 50, not new
Knot on Dunlin reads 100, not new
Smew on Heron reads 10
Spare in store reads 5, not new
"""
ENGINES = ("Plover", "Teal", "Knot", "Smew", "Spare")
BOAT_OF = {"Plover": "Lapwing", "Teal": "Lapwing", "Knot": "Dunlin", "Smew": "Heron"}
DAYS = 30

days = st.sets(st.integers(0, DAYS - 1), max_size=12)
done = st.tuples(
    st.sampled_from(ENGINES), st.sampled_from(["grease", "impeller", "oil", "tube"]),
    st.integers(1, 60),
)  # fmt: skip


@st.composite
def cases(draw: st.DrawFn) -> tuple[Shop, dict[str, object], dict[str, int]]:
    """A fleet, what is asked of its plan, and the settings as numbers."""
    jobs = draw(st.lists(done, max_size=6, unique_by=lambda job: job[:2]))
    log = [f"{engine} {task} done on {date.fromordinal(FIRST - ago)}" for engine, task, ago in jobs]
    held = draw(st.sampled_from(["", "Plover met overheated on 2031-06-01",
                                 "Knot met overheated on 2031-05-30"]))  # fmt: skip
    numbers = {
        "minutes": draw(st.sampled_from([20, 60, 120, 300, 360])),
        "mill": draw(st.sampled_from([-1, 0, 90, 360])),
        "boats": draw(st.integers(0, 3)),
    }
    open_days = draw(st.sets(st.sampled_from(WEEK[:6]), min_size=1))
    apart = "" if numbers["mill"] < 0 else f"; Mill={numbers['mill']}"
    told_so = (
        f"workshop_minutes={numbers['minutes']}{apart}\nboats_out={numbers['boats']}\n"
        f"open_days={' '.join(sorted(open_days))}"
    )
    shop = told("\n".join([BOATS, *log, held]), TODAY.isoformat(), settings=told_so)
    arrivals = ()
    if draw(st.booleans()):
        arrivals = (Arrival("oil", FIRST + draw(st.integers(0, 40)), draw(st.integers(0, 3))),)
    taken = {boat: draw(days) for boat in ("Lapwing", "Dunlin", "Heron")}
    asked: dict[str, object] = {"taken": taken, "arrivals": arrivals}
    return shop, asked, numbers


def place_of(engine: str, numbers: dict[str, int]) -> str:
    return "Mill" if engine == "Knot" and numbers["mill"] >= 0 else ""


def visits(plan: Plan) -> list[tuple[int, str, str, int, tuple[str, ...]]]:
    """Day from 0, place, engine, minutes and tasks of each visit."""
    return [
        (day.on - FIRST, day.place, visit.engine, visit.minutes, visit.tasks)
        for day in plan.days
        for visit in day.visits
    ]


@given(cases())
@settings(deadline=None, derandomize=True, database=None, max_examples=30,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
def test_a_plan_of_any_small_fleet_holds_to_its_limits(
    case: tuple[Shop, dict[str, object], dict[str, int]],
) -> None:
    shop, asked, numbers = case
    made = shop.made(DAYS, **asked)  # type: ignore[arg-type]
    plan = plan_of(made, solve(made.problem, 0))
    open_days = shop.fleet.settings.open_days.split()
    taken = asked["taken"]
    assert isinstance(taken, dict)
    minutes: dict[tuple[int, str], int] = {}
    boats: dict[tuple[int, str], set[str]] = {}
    for day, place, engine, spent, tasks in visits(plan):
        assert WEEK[date.fromordinal(FIRST + day).weekday()] in open_days
        assert place == place_of(engine, numbers)
        steps = {step for task in tasks for step in STEPS.get(task, ())}
        stuck = 180 if "leg off" in steps and spent > sum(
            [*(BENCH[task] for task in tasks), *(MINUTES[step] for step in steps)]
        ) else 0  # fmt: skip
        assert spent == sum(BENCH[t] for t in tasks) + sum(MINUTES[s] for s in steps) + stuck
        minutes[day, place] = minutes.get((day, place), 0) + spent
        if engine in BOAT_OF:
            boat = BOAT_OF[engine]
            assert day not in taken[boat]
            boats.setdefault((day, place), set()).add(boat)
    for (_, place), spent in minutes.items():
        assert spent <= (numbers["mill"] if place else numbers["minutes"])
    assert all(len(some) <= numbers["boats"] for some in boats.values())
    _every_job_once(shop, plan)
    _oil_is_there(plan, asked)
    _holds_first(shop, plan)
    assert from_text(as_text(plan)) == plan


def _every_job_once(shop: Shop, plan: Plan) -> None:
    placed = [(engine, task) for _, _, engine, _, tasks in visits(plan) for task in tasks]
    left = [(item.engine, item.task) for item in plan.unplaced]
    assert len(set(placed + left)) == len(placed) + len(left)
    wanted = {
        (row.engine, row.task)
        for row in shop.rows
        if row.status == "no record" or (row.due_early or FIRST + DAYS) < FIRST + DAYS
    }
    assert set(placed + left) == wanted
    late = {(item.engine, item.task): item.days for item in plan.late}
    for day, _, engine, _, tasks in visits(plan):
        for task in tasks:
            row = shop.row(engine, task)
            due = 0 if row.status == "no record" else max(0, (row.due_on or FIRST + 999) - FIRST)
            assert late.get((engine, task), 0) == max(0, day - due)


def _oil_is_there(plan: Plan, asked: dict[str, object]) -> None:
    """Two cans an oil change; those on order on their day, more after the lead time of 14 days."""
    arrivals = asked["arrivals"]
    assert isinstance(arrivals, tuple)
    for arrival in arrivals:
        used = 0
        for day, _, _, _, tasks in visits(plan):
            used += 2 * tasks.count("oil")
            if used and day < max(14, arrival.on - FIRST):
                assert day >= arrival.on - FIRST and used <= arrival.count


def _holds_first(shop: Shop, plan: Plan) -> None:
    """No job of a held engine before the impeller that its overheating asks for."""
    for engine in shop.stands:
        hold = next(
            (day for day, _, name, _, tasks in visits(plan)
             if name == engine and "impeller" in tasks), None,
        )  # fmt: skip
        others = [day for day, _, name, _, tasks in visits(plan)
                  if name == engine and set(tasks) != {"impeller"}]  # fmt: skip
        if hold is not None:
            assert all(day >= hold for day in others)
