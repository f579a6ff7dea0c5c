"""What a row says beside its status: whose rows there are, hours left, days to come, put-offs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction as F

import pytest

from fleetcare.due.records import Due
from fleetcare.due.rows import due_list, fitting_tasks
from fleetcare.log.history import history
from fleetcare.rules.sets import read_set
from tests.built import book_of, fleet_of, rows_of
from tests.due.by_hand import BOAT, DONE, PLOVER, START, TASK, day, rules
from tests.oracle.cases import tables
from tests.oracle.given import WATERS
from tests.oracle.rule_texts import toml
from tests.oracle.strategies import USES
from tests.plan.notation import SHIPPED, told


def row(after: int, lines: str = "", **keys: object) -> Due:
    (found,) = rows_of(tables(DONE + lines), rules(keys), USES, day(after))
    return found


def after_start(found: int | None) -> int | None:
    return None if found is None else found - START.toordinal()


# --- whose rows there are ----------------------------------------------------------------------

FOUR = BOAT + "".join(
    f"engine {name} in store since {START}, reading 0, {hp} hp, {stroke} stroke, {steering}\n"
    for name, hp, stroke, steering in (
        ("Plover", 4, 4, "tiller"), ("Teal", 10, 4, "tiller"),
        ("Knot", 4, 2, "tiller"), ("Smew", 4, 4, "remote"),
    )
)  # fmt: skip
LIMITED: dict[str, object] = {"limits": {"hours": 50}}


@pytest.mark.parametrize(
    ("only", "fit"),
    [
        ({"hp": [2, 5]}, {"Plover", "Knot", "Smew"}), ({"hp": [5, 40]}, {"Teal"}),
        ({"stroke": 2}, {"Knot"}), ({"steering": "remote"}, {"Smew"}),
    ],
)  # fmt: skip
def test_a_rule_has_rows_for_the_engines_it_fits_alone(
    only: dict[str, object], fit: set[str]
) -> None:
    found = rows_of(tables(FOUR), rules({**LIMITED, "only": only}), USES, day(5))
    assert {one.engine for one in found} == fit


def test_what_an_engine_is_without_has_no_row_for_it_alone() -> None:
    text = FOUR.replace("4 hp, 2 stroke, tiller", "4 hp, 2 stroke, tiller, without impeller")
    found = rows_of(tables(text), rules(LIMITED), USES, day(5))
    assert [one.engine for one in found] == ["Plover", "Teal", "Smew"]
    fleet, _ = fleet_of(tables(text))
    look: dict[str, object] = {"name": "look", "each_run": ["fresh", "brackish", "salt"]}
    ruleset = book_of(rules(LIMITED, look), USES).set_of("small-petrol")
    assert fitting_tasks(ruleset, fleet.engines["Knot"]) == {"look"}
    assert fitting_tasks(ruleset, fleet.engines["Teal"]) == {"impeller", "look"}


def test_looks_at_every_start_have_no_row_of_their_own() -> None:
    look: dict[str, object] = {"name": "look", "each_run": ["fresh", "brackish", "salt"]}
    lines = f"Plover runs 1 on {day(1)}"
    found = rows_of(tables(PLOVER + lines), rules(LIMITED, look), USES, day(5))
    assert [one.task for one in found] == ["impeller"]


def test_rows_are_of_engines_known_and_not_retired_or_of_the_one_asked_for() -> None:
    text = FOUR.replace(
        f"engine Teal in store since {START}", f"engine Teal in store since {day(9)}"
    )
    fleet, entries = fleet_of(tables(text + f"Knot retires on {day(3)}"))
    book = book_of(rules(LIMITED), USES)

    def names(after: int, engine: str | None = None) -> list[str]:
        past = history(entries, day(after))
        return [one.engine for one in due_list(fleet, past, book, day(after), engine)]

    assert names(2) == ["Plover", "Knot", "Smew"]
    assert names(3) == ["Plover", "Smew"]
    assert names(9) == ["Plover", "Teal", "Smew"]
    assert names(9, "Smew") == ["Smew"]
    assert names(8, "Teal") == names(9, "Knot") == []


# --- hours left and the days to come, at the pace ----------------------------------------------


@pytest.mark.parametrize(
    ("reads", "left", "on"),
    # 40 h at one a day; 47 h at 0.3 a day, 156.7 days; at 6.05 a day 50 h are run on the 9th day
    [("10", 4000, 50), ("3", 4700, 167), ("49.99", 1, 11), ("50", 0, 10), ("60.5", -1050, 9)],
)
def test_what_is_left_and_the_day_it_is_run_at_the_pace_since_the_job(
    reads: str, left: int, on: int
) -> None:
    found = row(10, f"Plover reads {reads} on {day(10)}", limits={"hours": 50})
    assert (found.hours_left, after_start(found.due_on)) == (left, on)
    assert found.due_early == found.due_on == found.due_late


def test_an_engine_that_has_not_run_is_taken_to_run_as_its_use_does() -> None:
    # an owner's 40 h a year: 50 h take 456.25 days
    assert after_start(row(10, limits={"hours": 50}).due_on) == 10 + 457
    assert after_start(row(0, limits={"hours": 50}).due_on) == 457
    both = row(10, limits={"hours": 50, "days": 400})
    assert (after_start(both.due_on), both.hours_left) == (400, 5000)


def test_exact_hours_left_are_told_in_the_water_of_the_day() -> None:
    limits = {"fresh": {"hours": 100}, "salt": {"hours": 30}}
    lines = f"""
        Plover reads 50 on {day(10)}
        Otter moves to salt on {day(11)}"""
    assert row(10, lines, limits=limits).hours_left == 5000
    found = row(11, lines, limits=limits)
    assert (found.hours_left, found.water) == (1500, 2)
    third = row(11, lines.replace("50 on", "33.33 on"), limits=limits)
    assert third.hours_left == F(6667, 10_000) * 3000


def test_a_day_beyond_the_last_of_the_calendar_is_none() -> None:
    text = DONE.replace("2031-", "9990-")
    (found,) = rows_of(tables(text), rules({"limits": {"days": 9000}}), USES, date(9990, 6, 5))
    assert (found.due_on, found.status) == (None, "clear")
    (found,) = rows_of(tables(text), rules({"limits": {"hours": 5000}}), USES, date(9990, 6, 5))
    assert found.due_on is None


def test_a_row_without_a_start_has_a_floor_and_neither_hours_left_nor_a_day() -> None:
    (found,) = rows_of(
        tables(PLOVER + f"Plover reads 20 on {day(5)}"), rules({"limits": {"hours": 50}}),
        USES, day(10),
    )  # fmt: skip
    assert (found.life_used, found.life_floor, found.hours_left) == (None, F(2, 5), None)
    assert (found.due_on, found.governed_by, found.last_done_on) == (None, None, None)
    assert (found.days_since, after_start(found.clock_start)) == (10, 0)


def test_the_strictest_water_is_told_with_the_day_it_was_first_met() -> None:
    limits = {"fresh": {"hours": 100}, "salt": {"hours": 30}}
    lines = f"""
        Otter moves to salt on {day(4)}
        Otter moves to fresh on {day(6)}
        Plover reads 6 on {day(8)}"""
    found = row(10, lines, limits=limits, mixing="strictest")
    assert after_start(found.strictest_since) == 4
    assert (found.hours_left, found.life_used) == (2400, F(6, 30))
    plain = row(10, lines, limits=limits)
    assert plain.strictest_since is None


# --- put off -----------------------------------------------------------------------------------


def put_off(found: Due) -> tuple[int | None, int, str | None]:
    return after_start(found.put_off_until), found.put_off_times, found.because


def test_a_put_off_counts_from_its_day_until_its_end_and_a_job_ends_it() -> None:
    lines = f"""
        Plover impeller put off until {day(20)} because rain on {day(5)}
        Plover impeller put off until {day(30)} because no time on {day(15)}
        Plover plugs put off until {day(90)} because winter on {day(15)}"""
    limits = {"days": 10}
    assert put_off(row(4, lines, limits=limits)) == (None, 0, None)
    assert put_off(row(5, lines, limits=limits)) == (20, 1, "rain")
    assert put_off(row(14, lines, limits=limits)) == (20, 1, "rain")
    assert put_off(row(15, lines, limits=limits)) == (30, 2, "no time")
    assert put_off(row(29, lines, limits=limits)) == (30, 2, "no time")
    assert put_off(row(30, lines, limits=limits)) == (None, 2, None)
    done = lines + f"\nPlover impeller done on {day(15)}"
    assert put_off(row(16, done, limits=limits)) == (None, 0, None)
    earlier = lines + f"\nPlover impeller done on {day(14)}"
    assert put_off(row(16, earlier, limits=limits)) == (30, 1, "no time")
    (never,) = rows_of(tables(PLOVER + lines), rules({"limits": limits}), USES, day(16))
    assert put_off(never) == (30, 2, "no time")


# --- what was found asks for jobs ----------------------------------------------------------------

FOUND = """
    Lapwing is a hire boat in salt water at Quay
    Plover on Lapwing reads 100
    Teal on Lapwing reads 300
    Plover found tell-tale weak on 2031-05-02
    """
EVERY: dict[str, object] = {**TASK, "each_run": list(WATERS)}
TOY = toml("toy", "", [
    {**EVERY, "name": "intakes look"}, {**EVERY, "name": "flush look"},
    {**TASK, "name": "tell-tale hose", "limits": {"months": 12}},
    {**TASK, "name": "plugs", "limits": {"months": 12}},
])  # fmt: skip
LOOKS = replace(SHIPPED, sets={"toy": read_set("toy", {"toy": (TOY, "toy.toml")})})


def test_a_look_at_every_start_is_listed_while_a_finding_wants_it() -> None:
    told_of = told(FOUND, "2031-05-02", LOOKS)
    weak = "tell-tale weak on 2031-05-02"  # it stops the engine, so its jobs are overdue at once
    assert [(one.engine, one.task, one.status, one.opened) for one in told_of.rows] == [
        ("Plover", "tell-tale hose", "overdue", weak),
        ("Plover", "plugs", "clear", ""),
        ("Plover", "intakes look", "overdue", weak),
        ("Teal", "tell-tale hose", "clear", ""),
        ("Teal", "plugs", "clear", ""),
    ]
    assert list(told_of.stands) == ["Plover"]
    done = "Plover intakes look done on 2031-05-03\nPlover tell-tale hose done on 2031-05-03"
    after = told(FOUND + done, "2031-05-04", LOOKS)
    assert [one.task for one in after.rows] == ["tell-tale hose", "plugs"] * 2
    assert after.stands == {}
