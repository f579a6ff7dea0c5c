"""The shelf out of the log: examples by hand, and a walk with a table of uses of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.plan.items import items_known
from fleetcare.plan.shelf import COUNTED, DELIVERED, USED, on_hand
from fleetcare.rules.rule import Kit, Part, Rule, RuleSet
from tests.plan.parts_fleet import SET, TODAY, Place, counted, delivered, done, may, place

WASHER = "gearcase screw washer"


def numbers(seen: Place) -> dict[str, int]:
    return {item: stock.on_hand for item, stock in seen.stocks.items()}


def test_deliveries_add_and_jobs_use() -> None:
    seen = place(delivered(may(1), "impeller kit", 5), *done(may(3), "Plover", "impeller"),
                 *done(may(4), "Knot", "impeller"))  # fmt: skip
    assert numbers(seen) == {"impeller kit": 3}
    moves = seen.stocks["impeller kit"].moves
    assert [(move.what, move.change, move.after, move.engine) for move in moves] == [
        (DELIVERED, 5, 5, ""), (USED, -1, 4, "Plover"), (USED, -1, 3, "Knot"),
    ]  # fmt: skip


def test_what_opening_takes_is_used_once_an_engine_and_day() -> None:
    jobs = done(may(3), "Plover", "impeller", "pump look", "pump housing")
    gasket = "pump housing gasket"
    assert numbers(place(counted(may(1), gasket, 9), *jobs))[gasket] == 8
    apart = [*jobs, *done(may(3), "Knot", "pump look"), *done(may(4), "Plover", "pump look")]
    assert numbers(place(counted(may(1), gasket, 9), *apart))[gasket] == 6


def test_a_step_that_includes_another_uses_up_both() -> None:
    strip = place(counted(may(1), "base gasket", 3), counted(may(1), "swivel bush", 3),
                  *done(may(2), "Plover", "swivel strip"))  # fmt: skip
    assert numbers(strip) == {"base gasket": 2, "swivel bush": 1}


def test_a_count_says_what_lies_there_at_the_close_of_its_day() -> None:
    log = [delivered(may(1), WASHER, 10), counted(may(5), WASHER, 4),
           *done(may(5), "Plover", "gear oil"), delivered(may(5), WASHER, 6),
           *done(may(6), "Plover", "gear oil peek")]  # fmt: skip
    seen = place(*log)
    assert numbers(seen) == {WASHER: 3}
    assert [(move.what, move.change, move.after) for move in seen.stocks[WASHER].moves] == [
        (DELIVERED, 10, 10), (DELIVERED, 6, 16), (USED, -2, 14), (COUNTED, -10, 4), (USED, -1, 3),
    ]  # fmt: skip
    assert seen.stocks[WASHER].counted_on == may(5).toordinal()
    assert place(*reversed(log)).stocks[WASHER].on_hand == 3


def test_of_two_counts_of_a_day_the_one_written_last_stands() -> None:
    assert numbers(place(counted(may(1), WASHER, 4), counted(may(1), WASHER, 7))) == {WASHER: 7}


def test_an_item_is_known_from_its_first_delivery_or_count() -> None:
    before = done(may(1), "Plover", "gear oil")
    assert numbers(place(*before)) == {}
    assert numbers(place(*before, delivered(may(2), WASHER, 4))) == {WASHER: 4}
    assert numbers(place(*before, delivered(may(1), WASHER, 4))) == {WASHER: 2}
    assert numbers(place(*before, counted(may(1), WASHER, 4))) == {WASHER: 4}


def test_a_shelf_below_nothing_is_shown_and_counted_on_for_nothing() -> None:
    seen = place(delivered(may(1), WASHER, 1), *done(may(2), "Plover", "gear oil"))
    stock = seen.stocks[WASHER]
    assert (stock.on_hand, stock.is_short, on_hand(seen.stocks, WASHER)) == (-1, True, 0)


def test_only_entries_up_to_the_day_count() -> None:
    log = [delivered(may(1), WASHER, 4), *done(may(3), "Plover", "gear oil"),
           counted(may(9), WASHER, 9)]  # fmt: skip
    by_day = {day: numbers(place(*log, as_of=may(day))) for day in (1, 3, 9)}
    assert by_day == {1: {WASHER: 4}, 3: {WASHER: 2}, 9: {WASHER: 9}}
    assert numbers(place(*log, as_of=date(2031, 4, 30))) == {}


def test_jobs_from_before_the_engine_was_known_used_nothing_of_this_shelf() -> None:
    early = date(2031, 3, 20)
    seen = place(delivered(date(2031, 3, 1), "impeller kit", 5), *done(early, "Plover", "impeller"))
    assert numbers(seen) == {"impeller kit": 5}


def test_an_item_is_one_however_it_is_spelt() -> None:
    seen = place(delivered(may(1), "Impeller  KIT", 5), *done(may(2), "Plover", "impeller"))
    assert numbers(seen) == {"impeller kit": 4}


def test_jobs_that_no_rule_knows_use_nothing() -> None:
    seen = place(delivered(may(1), "oil", 5), *done(may(2), "Plover", "a job of old"))
    assert numbers(seen) == {"oil": 5}


def test_a_kit_that_comes_is_what_it_holds() -> None:
    kit = Kit("both", (Part("impeller kit"), Part(WASHER, 2)), Fraction(40))
    ours = replace(SET, kits={"both": kit})
    seen = place(delivered(may(1), "Both", 3), *done(may(2), "Plover", "impeller"), ruleset=ours)
    assert numbers(seen) == {"impeller kit": 2, WASHER: 6}
    assert seen.stocks[WASHER].moves[0].kit == "both"


def test_what_was_paid_last_is_the_price_else_the_highest_of_the_rules() -> None:
    seen = place(delivered(may(1), "impeller kit", 4, cost="100"),
                 delivered(may(9), "Impeller kit", 3, cost="99.99"),
                 delivered(may(10), "impeller kit", 2),
                 delivered(may(9), "bung", 0, cost="3"))  # fmt: skip
    assert seen.items.prices["impeller kit"] == Fraction(3333, 100)
    assert seen.items.prices["anode"] == 18
    assert seen.items.paid == {"impeller kit"}
    assert "bung" not in seen.items.prices and seen.items.knows("BUNG")


def test_of_two_prices_in_the_rules_the_higher_counts() -> None:
    dearer = Rule(
        "impeller", "", "gearcase", "ours", parts=(Part("Impeller kit", 1, Fraction(41)),)
    )
    other = RuleSet("ours", "", "", {"impeller": dearer}, {})
    for sets in ({"a": SET, "b": other}, {"a": other, "b": SET}):
        known = items_known(sets, [], 0)
        assert known.prices[known.name("impeller KIT")] == 41


# ---- a walk day by day, with what each job uses written down apart from the rules

OF_JOB = {
    "impeller": {"kit": 1}, "water tube": {"grommet": 1}, "gear oil": {"oil": 1},
    "gear oil peek": {"washer": 1}, "gearcase pressure": {}, "relief valve": {"valve": 1},
    "thermostat": {}, "pump look": {},
}  # fmt: skip
OPENS = {
    "pump": ("gasket", 1, ("impeller", "pump look")),
    "drain": ("washer", 2, ("gear oil", "gearcase pressure")),
    "cover": ("ring", 1, ("relief valve", "thermostat")),
}
NAMES = {
    "kit": "impeller kit", "grommet": "water tube grommet", "oil": "gear oil", "washer": WASHER,
    "valve": "relief valve kit", "gasket": "pump housing gasket", "ring": "thermostat gasket",
}  # fmt: skip
DAYS, ENGINES = st.integers(1, 6), st.sampled_from(["Plover", "Knot"])
EVENTS = st.lists(
    st.one_of(
        st.tuples(st.just("delivery"), DAYS, st.sampled_from(sorted(NAMES)), st.integers(1, 9)),
        st.tuples(st.just("count"), DAYS, st.sampled_from(sorted(NAMES)), st.integers(0, 9)),
        st.tuples(st.just("job"), DAYS, st.sampled_from(sorted(OF_JOB)), ENGINES),
    ),
    max_size=14,
)  # fmt: skip


def walked(events: list[tuple[str, int, str, object]]) -> dict[str, int]:
    lying: dict[str, int] = {}
    for day in range(1, 7):
        today = [event for event in events if event[1] == day]
        for what, _, item, count in today:
            if what == "delivery":
                lying[item] = lying.get(item, 0) + int(str(count))
        for engine in ("Plover", "Knot"):
            tasks = [task for what, _, task, who in today if (what, who) == ("job", engine)]
            taken = [pair for task in tasks for pair in OF_JOB[task].items()]
            taken += [(item, n) for item, n, by in OPENS.values() if set(by) & set(tasks)]
            for item, count in taken:
                if item in lying:
                    lying[item] -= count
        for what, _, item, count in today:
            if what == "count":
                lying[item] = int(str(count))
    return {NAMES[item]: number for item, number in lying.items()}


@given(EVENTS)
@settings(deadline=None, derandomize=True, database=None, max_examples=150)
def test_a_walk_day_by_day_finds_the_same_shelf(events: list[tuple[str, int, str, object]]) -> None:
    log = []
    for what, day, name, value in events:
        if what == "job":
            log += done(may(day), str(value), name)
        elif what == "delivery":
            log.append(delivered(may(day), NAMES[name], int(str(value))))
        else:
            log.append(counted(may(day), NAMES[name], int(str(value))))
    seen = place(*log, as_of=TODAY)
    assert numbers(seen) == walked(events)
    for stock in seen.stocks.values():
        assert sum(move.change for move in stock.moves) == stock.on_hand == stock.moves[-1].after
