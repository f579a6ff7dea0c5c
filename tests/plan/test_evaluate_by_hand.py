"""What an answer costs and what it breaks: by hand, and against arithmetic written apart."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from fleetcare.plan.evaluate import (
    Score,
    barred,
    breaks,
    days_late,
    evaluate,
    firsts_of,
    items_of,
    name_of,
    staying,
)
from fleetcare.plan.problem import Answer, Bench, Place, Problem, Supply
from tests.plan import exhaustive
from tests.plan.tiny import job, one_engine, varied

# Two engines on Lapwing at Slip, one on Dipper at Quay, and a spare in store at Slip.
PROBLEM = Problem(
    days=4,
    places=(Place("Slip", (60, 60, 0, 60), 1), Place("Quay", (40, 40, 40, 40), 2)),
    boats=("Lapwing", "Dipper"),
    busy=(frozenset({3}), frozenset()),
    benches=(
        Bench("Plover", 0, 0, (5, 30)),
        Bench("Teal", 0, 0, (5, 30)),
        Bench("Knot", 1, 1, (7, 20)),
        Bench("Spare", None, 0, (5, 30)),
    ),
    jobs=(
        job(0, 4, 1, task="impeller", access=3, precursor=True, cost=lambda away: 100 + away),
        job(0, 4, 0, task="oil", access=1, cost=lambda away: 40 + away, unplaced=900),
        job(1, 4, 1, task="oil", access=1, cost=lambda away: 50 + away),
        job(2, 4, 9, task="plugs", access=2, precursor=True, cost=lambda _: 7, unplaced=333),
        job(3, 4, 2, task="tube", minutes=25, precursor=True, cost=lambda _: 1, unplaced=5000),
    ),
    boat_day=2500,
)  # fmt: skip


def changed(number: int, problem: Problem = PROBLEM, **keys: object) -> Problem:
    jobs = list(problem.jobs)
    jobs[number] = replace(jobs[number], **keys)
    return replace(problem, jobs=tuple(jobs))


@pytest.mark.parametrize(
    ("number", "day", "late"),
    [(0, 0, 0), (0, 1, 0), (0, 2, 1), (0, 3, 2), (0, None, 3), (3, 3, 0), (3, None, 0)],
)
def test_a_job_is_late_by_the_days_after_its_due_day(
    number: int, day: int | None, late: int
) -> None:
    assert days_late(PROBLEM, number, day) == late


def test_every_part_of_a_score_worked_by_hand() -> None:
    # Plover's two jobs on day 1 open both steps once (35), Teal's opens one (5) on the same boat.
    # The tube of the spare is left out, two days after its due day 2 counted to the end, day 4.
    score = evaluate(PROBLEM, (1, 1, 1, 0, None))
    jobs = 100 + 41 + 50 + 7
    assert score == Score(1, 2, 1, 2 * 2500, 100 * (35 + 5 + 20), jobs, 5000, 0)
    assert score.cost == 5000 + 6000 + jobs + 5000
    assert score.key == (1, 2, 1, score.cost)


def test_the_same_two_jobs_on_two_days_open_and_fetch_twice() -> None:
    score = evaluate(PROBLEM, (1, 0, None, None, None))
    assert (score.boat_days, score.access, score.left_out) == (2 * 2500, 100 * (35 + 5), 3)
    assert score.leaving == 20_000 + 333 + 5000
    # plugs have no due day within the days, so leaving them out makes nothing late
    assert (score.late, score.late_days) == (1, 2)


def test_an_engine_in_store_needs_no_boat() -> None:
    assert evaluate(PROBLEM, (None, None, None, None, 0)).boat_days == 0


def test_only_a_move_from_a_kept_day_is_paid_for() -> None:
    kept = replace(PROBLEM, kept=(1, 0, None, 2, 3), moving=150)
    score = evaluate(kept, (1, 1, 1, None, 3))
    assert (score.moving, score.cost - score.moving) == (300, replace(score, moving=0).cost)


def test_a_closed_day_bars_before_a_booked_one_and_that_before_one_not_allowed() -> None:
    allowed = changed(0, allowed=(0, 1))
    assert [barred(allowed, 0, day) for day in range(4)] == ["", "", "closed", "booked"]
    assert barred(changed(0, allowed=(0,)), 0, 1) == "not allowed"
    busy = replace(allowed, busy=(frozenset({1, 2}), frozenset()))
    assert [barred(busy, 0, day) for day in (1, 2)] == ["booked", "closed"]
    assert barred(PROBLEM, 4, 3) == ""  # no boat, so no booking


def test_a_plan_that_keeps_every_limit_to_the_minute_breaks_nothing() -> None:
    # 15 + 5 + 30 for the impeller, 10 for the oil in the open cowl: 60 of 60
    exact = changed(1, minutes=10)
    assert breaks(exact, (1, 1, None, None, None)) == ()
    assert breaks(exact, (1, 1, None, 0, 0)) == ()


def test_every_limit_gone_over_is_told_in_words() -> None:
    assert breaks(PROBLEM, (1, 1, None, None, None)) == ("Slip: 65 minutes on day 1 of 60",)
    assert breaks(PROBLEM, (None, 4, -1, None, None)) == (
        "Plover oil: day 4 is none of the days",
        "Teal oil: day -1 is none of the days",
    )
    assert breaks(PROBLEM, (None, 2, None, None, None)) == (
        "Plover oil: day 2 is closed",
        "Slip: 20 minutes on day 2 of 0",
    )
    assert breaks(PROBLEM, (None, 3, None, None, None)) == ("Plover oil: day 3 is booked",)
    later = changed(1, allowed=(1,))
    assert breaks(later, (None, 0, None, None, None)) == ("Plover oil: day 0 is not allowed",)


def test_minutes_count_by_place_and_day_and_a_step_once_for_each_engine() -> None:
    # the spare's 25 with Plover's 50 and Teal's 20, all at Slip; Knot's 35 at Quay
    assert breaks(PROBLEM, (0, None, 0, 0, 0)) == ("Slip: 95 minutes on day 0 of 60",)
    assert breaks(PROBLEM, (0, None, 1, 0, 3)) == ()


def test_boats_in_are_counted_by_place_and_day() -> None:
    more = replace(
        PROBLEM,
        boats=("Lapwing", "Dipper", "Heron"),
        busy=(frozenset(), frozenset(), frozenset()),
        benches=(*PROBLEM.benches[:3], Bench("Smew", 2, 0, (5, 30))),
    )
    assert breaks(more, (None, 0, 0, 0, None)) == ()
    assert breaks(more, (None, 0, None, 0, 0)) == ("Slip: 2 boats on day 0 of 1",)
    assert breaks(more, (None, 0, None, 0, 1)) == ()


SHELF = replace(
    PROBLEM,
    supplies=(Supply("kit", (0, 1, 1, 2)), Supply("gasket", (2, 2, 2, 2))),
    opening=(((), ((1, 2),)), ((), ()), ((), ((1, 1),)), ((), ())),
)
SHELF = changed(0, changed(4, SHELF, uses=((0, 1),)), uses=((0, 1),))


def test_the_items_of_a_job_are_its_own_and_those_of_the_steps_opened_for_it() -> None:
    assert items_of(SHELF, 0, 3) == ((0, 1), (1, 2))
    assert items_of(SHELF, 0, 1) == ((0, 1),)
    assert items_of(SHELF, 3, 2) == ((1, 1),)
    assert items_of(PROBLEM, 0, 3) == ()


def test_an_item_is_used_up_by_everything_before_and_the_first_lack_alone_is_told() -> None:
    assert breaks(SHELF, (1, None, None, None, 3)) == ()
    assert breaks(SHELF, (0, None, None, None, None)) == ("kit: 1 used by day 0 of 0",)
    assert breaks(SHELF, (1, None, None, None, 0)) == ("kit: 1 used by day 0 of 0",)
    wide = replace(SHELF, places=(Place("Slip", (99, 99, 99, 99), 1), SHELF.places[1]))
    assert breaks(wide, (1, None, None, None, 1)) == ("kit: 2 used by day 1 of 1",)
    assert breaks(SHELF, (1, None, None, 0, 3)) == ("gasket: 3 used by day 1 of 2",)
    assert breaks(SHELF, (1, None, None, 3, 3)) == ("gasket: 3 used by day 3 of 2",)


def test_a_step_open_already_uses_nothing_up_again() -> None:
    both = changed(1, SHELF, access=2)
    # two jobs open the leg once, so two gaskets do
    wide = replace(both, places=(Place("Slip", (99, 99, 99, 99), 1), both.places[1]))
    assert breaks(wide, (1, 1, None, None, None)) == ()
    assert breaks(wide, (1, 0, None, None, None)) == ("gasket: 4 used by day 1 of 2",)


HELD = changed(1, PROBLEM, first=True)


def test_nothing_of_a_held_engine_comes_before_what_holds_it() -> None:
    assert firsts_of(HELD) == {0: [1]}
    assert breaks(HELD, (1, 0, 0, None, None)) == ()
    same = changed(0, HELD, minutes=5)
    assert breaks(same, (0, 0, None, None, None)) == ()
    assert breaks(HELD, (0, 1, None, None, None)) == ("Plover impeller: comes before oil",)
    assert breaks(HELD, (0, None, 1, None, None)) == ("Plover impeller: comes before oil",)
    assert name_of(HELD, 0) == ("Plover", "impeller")


def frozen(days: Answer, until: int = 2, problem: Problem = PROBLEM) -> Problem:
    return replace(problem, kept=tuple(days), frozen=until)


def test_jobs_with_a_near_kept_day_stay_on_it() -> None:
    near = frozen((1, None, None, 2, 0))
    assert staying(near) == (0, 4)  # the plugs' day is not near
    assert breaks(near, (0, None, None, None, None)) == (
        "Plover impeller: stays on day 1",
        "Spare tube: stays on day 0",
    )
    assert breaks(near, (1, None, None, 3, 0)) == ()
    assert staying(replace(near, frozen=0)) == ()
    assert staying(replace(near, frozen=1)) == (4,)


def test_a_near_day_that_is_barred_now_lets_its_job_go() -> None:
    assert staying(frozen((None, 2, None, None, 3), until=4)) == (4,)
    assert staying(frozen((0, 3, None, None, None), until=4)) == (0,)


def test_of_near_days_that_no_longer_fit_the_later_go_and_then_by_name() -> None:
    # Plover's impeller (50 min) and Teal's oil (20) no longer fit into one day of Slip
    assert staying(frozen((1, None, 1, None, None))) == (0,)
    swapped = replace(PROBLEM, benches=(Bench("Zander", 0, 0, (5, 30)), *PROBLEM.benches[1:]))
    assert staying(frozen((1, None, 1, None, None), problem=swapped)) == (2,)
    # one kit in all: who stands earlier has it
    short = replace(SHELF, supplies=(Supply("kit", (1, 1, 1, 1)), SHELF.supplies[1]))
    assert staying(frozen((1, None, None, None, 0), problem=short)) == (4,)
    assert staying(frozen((0, None, None, None, 1), problem=short)) == (0,)


def test_what_was_let_go_leaves_its_room_to_those_after_it() -> None:
    # Plover's impeller stays, Spare's tube (25) no longer fits, Teal's oil would not either;
    # with the impeller shorter the oil takes what the tube left
    some = changed(0, changed(2, minutes=5), minutes=15)
    assert staying(frozen((0, None, 0, None, 0), problem=some)) == (0, 2)
    last = replace(some, benches=(*some.benches[:3], Bench("Auk", None, 0, (5, 30))))
    assert staying(frozen((0, None, 0, None, 0), problem=last)) == (2, 4)


def test_what_holds_an_engine_is_kept_first_and_nothing_before_it() -> None:
    held = changed(1, first=True)
    assert staying(frozen((0, 1, None, None, None), problem=held)) == (1,)
    fits = changed(0, held, minutes=5)
    assert staying(frozen((1, 1, None, None, None), problem=fits)) == (0, 1)
    # the impeller and the oil do not fit together: the oil, which holds, has the day
    assert staying(frozen((1, 1, None, None, None), problem=held)) == (1,)
    assert staying(frozen((1, None, None, None, None), problem=fits)) == ()
    # its own day is not near: it stays nowhere, and so nothing may come before
    assert staying(frozen((0, 3, None, None, None), problem=fits)) == ()


def answers(problem: Problem, dice: random.Random, count: int) -> list[Answer]:
    """Answers on allowed days, and now and then none."""
    return [
        tuple(
            dice.choice(one.allowed) if one.allowed and dice.random() < 0.8 else None
            for one in problem.jobs
        )
        for _ in range(count)
    ]


def test_scores_and_limits_equal_arithmetic_written_apart_on_varied_problems() -> None:
    dice, lawful = random.Random(5), 0
    for seed in range(150):
        problem = varied(seed, 3 + seed % 4)
        fixed = exhaustive.stays(problem)
        assert staying(problem) == tuple(sorted(fixed)), seed
        for answer in answers(problem, dice, 12):
            days = {number: day for number, day in enumerate(answer) if day is not None}
            assert evaluate(problem, answer).key == exhaustive.key_of(problem, days), seed
            can = exhaustive._lawful(problem, days) and all(
                answer[number] == day for number, day in fixed.items()
            )
            assert (breaks(problem, answer) == ()) == can, (seed, answer)
            lawful += can
    assert 200 < lawful < 1600


def test_one_engine_alone_pays_a_boat_for_each_day_it_is_in() -> None:
    problem = one_engine(3, [job(0, 3, 1), job(0, 3, 1)])
    assert evaluate(problem, (0, 2)).boat_days == 5000
    assert evaluate(problem, (2, 2)).boat_days == 2500
