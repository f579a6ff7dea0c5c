"""What a look at a part tells of how long it lasts, in fleets small enough to count by hand."""

from __future__ import annotations

import random

import pytest

from fleetcare.repair.findings import Lives, renews
from tests.repair.fleets import BOOK, done, entry, lives, reads, saw

FRESH, SALT = 0, 2
IMPELLER = ("impeller", FRESH, "hire")  # 300 h in fresh water, 200 in salt


def told(found: Lives) -> list[tuple[float, float | None]]:
    """The lives in the unit of the limit: fine until, worn out by."""
    return [
        (round(life.fine * found.limit, 6), life.worn and round(life.worn * found.limit, 6))
        for life in found.lives
    ]


def test_a_part_found_fine_at_its_job_lasted_longer_than_that() -> None:
    found = lives(done("2031-06-01", "Plover", "impeller", "supple", 90))[IMPELLER]
    assert (found.limit, found.unit) == (300, "h")
    assert told(found) == [(90, None)]


def test_one_worn_out_was_so_at_some_time_since_it_was_last_fine() -> None:
    found = lives(
        reads("2031-05-01", "Plover", 40),
        done("2031-05-01", "Plover", "pump look", "supple", 40),
        saw("2031-07-01", "Plover", "impeller vanes", "cracked", reading="110"),
    )
    assert told(found[IMPELLER]) == [(40, 110)]
    (life,) = found[IMPELLER].lives
    assert (life.engine, life.condition) == ("Plover", "cracked")


def test_a_stop_is_a_failure_like_an_act() -> None:
    seen = saw("2031-07-01", "Plover", "impeller vanes", "missing", count="2", reading="110")
    assert told(lives(seen)[IMPELLER]) == [(0, 110)]


def test_a_job_ends_one_life_and_begins_the_next() -> None:
    found = lives(
        done("2031-06-01", "Plover", "impeller", "supple", 90),
        done("2031-08-01", "Plover", "impeller", "set", 210),
        done("2031-09-01", "Plover", "impeller", "supple", 250),
    )
    assert told(found[IMPELLER]) == [(90, None), (0, 120), (40, None)]


def test_several_looks_at_one_life_are_one_finding() -> None:
    found = lives(
        done("2031-05-01", "Plover", "pump look", "supple", 40),
        done("2031-06-01", "Plover", "pump look", "supple", 80),
        done("2031-07-01", "Plover", "pump look", "supple", 100),
    )
    assert told(found[IMPELLER]) == [(100, None)]
    assert ("pump look", FRESH, "hire") not in found


def test_what_was_found_worn_out_tells_nothing_more_until_its_job() -> None:
    found = lives(
        saw("2031-07-01", "Plover", "impeller vanes", "cracked", reading="110"),
        saw("2031-07-09", "Plover", "impeller vanes", "supple", reading="130"),
        done("2031-07-20", "Plover", "impeller", "missing", 140),
    )
    assert told(found[IMPELLER]) == [(0, 110)]


def test_not_looked_at_is_counted_and_tells_nothing() -> None:
    found = lives(
        done("2031-06-01", "Plover", "impeller", "not looked at", 90),
        done("2031-08-01", "Plover", "impeller", "supple", 210),
    )[IMPELLER]
    assert told(found) == [(120, None)]
    assert found.not_looked == 1


def test_watch_is_neither_fine_nor_worn_out() -> None:
    found = lives(
        done("2031-10-01", "Knot", "passages", "clear"),
        saw("2032-04-01", "Knot", "passages", "light salt"),
        saw("2032-07-01", "Knot", "passages", "salted"),
    )[("passages", SALT, "club")]
    assert found.watched == 1
    (first, second) = told(found)
    assert first == (pytest.approx(6, abs=0.01), None)
    assert second == (0, pytest.approx(9, abs=0.03))  # since 1 October, of 12 months


def test_a_rule_without_hours_counts_months() -> None:
    found = lives(done("2032-04-01", "Knot", "passages", "clear"))[("passages", SALT, "club")]
    assert (found.limit, found.unit) == (12, "months")
    assert told(found) == [(12, None)]


def test_what_is_not_known_from_its_beginning_tells_nothing_good_or_bad() -> None:
    found = lives(
        saw("2031-06-01", "Teal", "impeller vanes", "supple", reading="340"),
        saw("2031-07-01", "Teal", "impeller vanes", "cracked", reading="380"),
    )[IMPELLER]
    assert told(found) == []
    assert found.unknown_age == 2


def test_hours_from_before_the_engine_was_known_are_unknown_without_a_reading() -> None:
    without = lives(
        done("2031-03-01", "Teal", "impeller"),
        done("2031-06-01", "Teal", "impeller", "supple", 340),
    )[IMPELLER]
    assert (told(without), without.unknown_age) == ([], 1)
    known = lives(
        done("2031-03-01", "Teal", "impeller", reading=260),
        done("2031-06-01", "Teal", "impeller", "supple", 340),
    )[IMPELLER]
    assert told(known) == [(80, None)]


def test_the_hours_of_the_day_count_before_a_finding_and_after_a_job_without_a_reading() -> None:
    run = entry("2031-06-01", "run", "Plover", hours="10")
    before = reads("2031-05-31", "Plover", 90)
    job = lives(before, run, done("2031-06-01", "Plover", "impeller", "supple"))[IMPELLER]
    seen = lives(before, run, saw("2031-06-01", "Plover", "impeller vanes", "supple"))[IMPELLER]
    assert (told(job), told(seen)) == ([(90, None)], [(100, None)])


def test_of_two_looks_on_one_day_the_worse_counts() -> None:
    found = lives(
        done("2031-06-01", "Plover", "impeller", "supple", 90),
        done("2031-06-01", "Plover", "pump look", "cracked", 90),
    )[IMPELLER]
    assert told(found) == [(0, 90)]


def test_a_swapped_gearcase_brings_its_hours() -> None:
    found = lives(
        reads("2031-06-01", "Plover", 60),
        reads("2031-06-01", "Knot", 10),
        entry("2031-06-02", "swap", "Plover", other="Knot", component="gearcase"),
        reads("2031-08-01", "Knot", 50),
        done("2031-08-01", "Knot", "impeller", "supple", 50),
    )
    assert IMPELLER not in found  # it hangs under the club's engine in salt now
    # 60 of 300 h in fresh water and 40 of 200 in salt, as life used adds them up
    life = found["impeller", SALT, "club"]
    assert told(life) == [(pytest.approx((60 / 300 + 40 / 200) * 200), None)]


def test_waters_and_uses_stand_apart() -> None:
    found = lives(
        done("2031-06-01", "Plover", "impeller", "supple", 90),
        done("2031-06-01", "Knot", "impeller", "supple", 70),
    )
    assert told(found[IMPELLER]) == [(90, None)]
    assert told(found["impeller", SALT, "club"]) == [(70, None)]
    assert found["impeller", SALT, "club"].limit == 200


def test_first_service_limits_do_not_hide_what_the_rule_says() -> None:
    found = lives(done("2031-05-01", "Plover", "gear oil", "clean", 25))["gear oil", FRESH, "hire"]
    assert (found.limit, told(found)) == (100, [(25, None)])


def test_the_order_of_entries_does_not_matter() -> None:
    log = [
        done("2031-05-01", "Plover", "pump look", "supple", 40),
        done("2031-06-01", "Plover", "impeller", "supple", 90),
        saw("2031-08-01", "Plover", "impeller vanes", "hard", reading="190"),
        done("2031-08-02", "Plover", "impeller", "hard", 190),
        done("2031-06-01", "Knot", "impeller", "set", 70),
        done("2031-06-01", "Teal", "impeller", "supple", 340),
        done("2031-09-01", "Teal", "impeller", "supple", 400),
    ]
    first = {key: told(found) for key, found in lives(*log).items()}
    dice = random.Random(4)
    for _ in range(10):
        dice.shuffle(log)
        assert {key: told(found) for key, found in lives(*log).items()} == first


def test_as_of_a_day_only_what_had_happened_by_then_counts() -> None:
    log = [
        done("2031-06-01", "Plover", "impeller", "supple", 90),
        done("2031-08-01", "Plover", "impeller", "set", 210),
    ]
    assert told(lives(*log, as_of="2031-07-31")[IMPELLER]) == [(90, None)]


def test_a_part_is_held_against_the_task_that_renews_it_and_not_a_mere_look() -> None:
    rules = BOOK.sets["small-petrol"]
    held: dict[str, list[str]] = {}
    for rule in rules.rules.values():
        if renews(rules, rule):
            held.setdefault(rule.part, []).append(rule.name)
    assert held["impeller vanes"] == ["impeller"]
    assert held["gear oil"] == ["gear oil"]
    # fuel is looked at in the tank and in the filter, and each renews its own
    assert [part for part, tasks in held.items() if len(tasks) > 1] == ["fuel"]
