"""What the record says of components, and the plan that is made of it, on a small fleet."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from fleetcare.due.joints import STUCK_MINUTES, stuck_joints
from fleetcare.due.rows import due_list
from fleetcare.fleet.components import COMPONENTS
from fleetcare.repair.builds import Salvage, Yard, bench_of, salvage
from fleetcare.repair.costs import Rates
from fleetcare.repair.donors import (
    BAD,
    FAIR,
    GOOD,
    MISSING,
    UNKNOWN,
    State,
    states_of,
)  # fmt: skip
from fleetcare.repair.salvage import best_builds, cost_of
from fleetcare.rules.moving import read_moving
from fleetcare.rules.shipped import word_table
from fleetcare.usage.components import Carriage
from tests.repair.fleets import BOOK, TODAY, built, done, entry, saw

RULES = BOOK.sets["small-petrol"]
MOVING = read_moving(word_table("components"), "intervals/components.toml")
THREE = ("Plover", "Knot", "Teal")
KINDS = {kind.replace("-", "_").replace(" ", "_"): kind for kind in COMPONENTS}


def yard(*log: dict[str, str], engines: tuple[str, ...] = THREE, as_of: str = TODAY) -> Yard:
    assert isinstance(MOVING, dict)
    fleet, past = built(*log, as_of=as_of)
    day = date.fromisoformat(as_of)
    carriage = Carriage(fleet, past, day.toordinal())
    rows = due_list(fleet, past, BOOK, day)
    return Yard(
        engines, states_of(carriage, BOOK, RULES, rows, engines), RULES, MOVING,
        {(row.engine, row.task): row for row in rows}, stuck_joints(carriage, RULES, engines),
        {}, Rates(),
    )  # fmt: skip


def word(given: Yard, engine: str, kind: str) -> str:
    return given.states[engine, kind].word


def known(given: Yard, **words: str) -> Yard:
    """The yard with every component good but those named, as Knot_gearcase="bad"."""
    states = {place: State(GOOD, "said") for place in given.states}
    for place, text in words.items():
        engine, _, kind = place.partition("_")
        states[engine, KINDS[kind]] = State(text, "said")
    return replace(given, states=states)


def plan(given: Yard, wanted: int = 1) -> Salvage:
    found = salvage(given, wanted)
    assert found is not None
    return found


def test_what_nobody_looked_at_is_not_known() -> None:
    given = yard()
    assert word(given, "Plover", "carburettor") == UNKNOWN
    assert given.states["Teal", "gearcase"].because.startswith("not looked at")


def test_a_stop_is_bad_until_every_job_it_asks_for_is_done() -> None:
    low = saw("2032-09-01", "Plover", "compression", "two neighbours low")
    assert word(yard(low), "Plover", "powerhead") == BAD
    half = done("2032-09-02", "Plover", "compression test", "even")
    assert word(yard(low, half), "Plover", "powerhead") == BAD
    rest = done("2032-09-03", "Plover", "head gasket", "dry")
    assert word(yard(low, half, rest), "Plover", "powerhead") in (GOOD, FAIR)


def test_a_later_look_that_is_less_grave_does_not_lift_it() -> None:
    given = yard(
        saw("2032-08-01", "Plover", "gear oil", "milky"),
        done("2032-08-01", "Plover", "gear oil", "dark"),
    )
    assert word(given, "Plover", "gearcase") == BAD  # the pressure test it asks for is not done
    assert "milky, 2032-08-01" in given.states["Plover", "gearcase"].because


def test_an_act_that_waits_is_fair_and_fine_of_late_is_good() -> None:
    given = yard(
        saw("2032-08-01", "Knot", "swivel", "stiff"),
        saw("2032-08-01", "Plover", "kill cord", "works"),
    )
    assert word(given, "Knot", "mid-section") == FAIR
    assert word(given, "Plover", "ignition") == GOOD


def test_fine_long_ago_is_not_known_today() -> None:
    fine = saw("2031-05-01", "Plover", "kill cord", "works")
    assert word(yard(fine), "Plover", "ignition") == GOOD
    assert word(yard(fine, as_of="2034-01-01"), "Plover", "ignition") == UNKNOWN


def test_an_overheating_without_its_jobs_leaves_the_powerhead_fair() -> None:
    hot = entry("2032-08-01", "incident", "Plover", condition="overheated")
    given = yard(hot)
    assert word(given, "Plover", "powerhead") == FAIR
    assert "overheated, 2032-08-01, without" in given.states["Plover", "powerhead"].because


def test_condition_and_history_move_with_the_part() -> None:
    log = [
        saw("2032-06-01", "Plover", "gear oil", "milky"),
        entry("2032-07-01", "swap", "Plover", other="Knot", component="gearcase"),
    ]
    given = yard(*log)
    assert word(given, "Knot", "gearcase") == BAD
    assert word(given, "Plover", "gearcase") != BAD


def test_the_sound_parts_of_two_make_one() -> None:
    given = known(yard(engines=("Plover", "Knot")), Plover_gearcase=BAD, Knot_powerhead=BAD)
    out = plan(given)
    assert out.swaps() == [("Plover", "Knot", "gearcase")]  # a leg is nearer than a powerhead
    assert out.proved
    ((engine, chosen),) = out.builds
    assert engine == "Plover"
    assert [item.kind for item in chosen if item.moved] == ["gearcase"]
    left = {(name, kind): state.word for name, kind, state in out.spares}
    assert left["Plover", "gearcase"] == BAD
    assert left["Knot", "mid-section"] == GOOD
    assert len(left) == 7


def test_minutes_are_those_of_the_steps_opened_once_on_each_engine() -> None:
    given = known(
        yard(
            done("2032-05-01", "Plover", "impeller"), done("2032-05-01", "Knot", "impeller"),
            engines=("Plover", "Knot"),
        ),
        Plover_gearcase=BAD, Plover_powerhead=BAD,
        Knot_ignition=BAD, Knot_carburettor=BAD, Knot_fuel_pump=BAD, Knot_mid_section=BAD,
    )  # fmt: skip
    out = plan(given)
    assert out.swaps() == [("Plover", "Knot", "powerhead"), ("Plover", "Knot", "gearcase")]
    # on each: cowl 2, powerhead 180 with the leg 25 that it includes; 60 and 15 to move them
    assert out.minutes == 2 * (2 + 180 + 25) + 60 + 15
    assert dict(out.order_first) == {"base gasket": 1}  # Plover's; Knot stays open


def test_a_joint_long_unopened_may_take_hours_and_says_so() -> None:
    given = known(yard(engines=("Plover", "Teal")), Plover_gearcase=BAD, Teal_powerhead=BAD)
    out = plan(given)
    stuck = [item for item in out.unknowns if "not known to have been opened" in item.what]
    assert [item.engine for item in stuck] == ["Teal"]  # Plover was new eighteen months ago
    moved = plan(replace(given, stuck={}))
    assert out.minutes == moved.minutes + STUCK_MINUTES


def test_a_gearcase_without_a_known_impeller_gets_one_and_it_is_ordered() -> None:
    given = known(yard(engines=("Plover", "Teal")), Plover_gearcase=BAD, Teal_powerhead=BAD)
    out = plan(given)
    assert out.renew == (("Teal", "impeller"),)
    assert dict(out.order_first) == {"impeller kit": 1, "pump housing gasket": 1}
    done_already = known(
        yard(done("2032-09-01", "Teal", "impeller", "supple", 310), engines=("Plover", "Teal")),
        Plover_gearcase=BAD, Teal_powerhead=BAD,
    )  # fmt: skip
    assert plan(done_already).order_first == ()


def test_what_moves_is_tried_before_the_spanner_where_no_look_of_late_tells() -> None:
    given = known(yard(engines=("Plover", "Knot")), Plover_gearcase=BAD, Knot_powerhead=BAD)
    (item,) = plan(given).unknowns
    assert (item.engine, item.what) == ("Knot", "gearcase")
    assert [test.task for test in item.tests] == ["gearcase pressure", "splines"]
    states = dict(given.states)
    states["Knot", "gearcase"] = State(GOOD, "said", frozenset({"gearcase test"}))
    (item,) = plan(replace(given, states=states)).unknowns
    assert [test.task for test in item.tests] == ["splines"]


def test_several_engines_are_built_of_several() -> None:
    given = known(yard(), Plover_gearcase=BAD, Teal_powerhead=MISSING)
    out = plan(given, 2)
    assert {engine for engine, _ in out.builds} == {"Plover", "Knot"}
    assert out.swaps() == [("Plover", "Teal", "gearcase")]
    assert ("Teal", "powerhead") not in {(name, kind) for name, kind, _ in out.spares}
    assert salvage(given, 3) is None


def test_what_is_lacking_everywhere_may_be_bought() -> None:
    given = known(yard(engines=("Plover", "Knot")), Plover_gearcase=BAD, Knot_gearcase=BAD)
    assert salvage(given, 1) is None
    out = plan(replace(given, prices={"gearcase": Fraction(90)}))
    ((_, chosen),) = out.builds
    assert [(item.kind, item.source) for item in chosen if item.moved] == [("gearcase", None)]
    assert out.swaps() == []
    assert dict(out.order_first)["gearcase"] == 1


def test_an_engine_sound_already_is_left_alone() -> None:
    out = plan(known(yard()))
    assert (out.minutes, out.swaps(), out.order_first) == (0, [], ())


def test_the_cost_told_is_the_cost_searched_for() -> None:
    given = known(yard(), Plover_gearcase=BAD, Knot_powerhead=BAD, Teal_gearcase=FAIR)
    out = plan(given)
    bench = bench_of(given)
    answer = best_builds(bench, 1)
    assert answer is not None
    assert out.cost * 100 == answer.cost == cost_of(bench, answer.builds)


@pytest.mark.parametrize("kind", list(MOVING) if isinstance(MOVING, dict) else [])
def test_every_component_has_its_access_its_tests_and_a_source(kind: str) -> None:
    assert isinstance(MOVING, dict)
    item = MOVING[kind]
    assert item.source and item.access and item.tests and item.minutes > 0
    assert all(step in RULES.access for step in item.access)
    for test in item.tests:
        assert test.name and test.tells and test.minutes > 0
        assert not test.task or test.task in RULES.rules
        assert not test.part or test.part in BOOK.conditions
    assert all(task in RULES.rules for task in item.renew)


def test_a_file_that_is_wrong_is_told_with_its_places() -> None:
    bad = {"component": {"gearcse": {"minutes": 3}, "powerhead": {"minutes": "x", "acces": []}}}
    faults = read_moving(bad, "components.toml")
    assert isinstance(faults, list)
    told = "\n".join(map(str, faults))
    assert 'Did you mean "gearcase"' in told
    assert 'component "powerhead": minutes' in told
    assert 'Did you mean "access"' in told
    assert '"mid-section" is missing' in told
