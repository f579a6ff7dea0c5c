"""What to order by when, against values worked by hand and a day-by-day walk through the shelf."""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.plan.orders import Asked, Orders, orders
from fleetcare.plan.short import Receipt
from fleetcare.plan.terms import EVERY_DAY, Terms, week_of
from fleetcare.plan.uses import Use
from tests.plan.parts_cases import OIL, items, ordered, use

FORTNIGHT = Terms(14)
THREE = [use(10, 2), use(20, 1), use(25, 3)]
STEADY = settings(deadline=None, derandomize=True, database=None)


def told(found: Orders) -> list[tuple[int, int, int]]:
    """Lines as order-by day, pieces, first day wanted."""
    return [(line.order_by, line.count, line.wanted) for line in found.lines]


# The figures of these three were worked out apart, by a prototype and by hand.


def test_what_the_shelf_lacks_is_ordered_its_lead_before_the_day() -> None:
    assert told(ordered(THREE, {OIL: 2}, FORTNIGHT)) == [(6, 1, 20), (11, 3, 25)]


def test_what_is_on_order_counts_from_its_day() -> None:
    found = ordered(THREE, {OIL: 2}, FORTNIGHT, receipts=[Receipt(OIL, 22, 2)])
    assert told(found) == [(6, 1, 20), (11, 1, 25)]


def test_a_use_sooner_than_the_lead_is_too_late_and_says_when_it_comes() -> None:
    found = ordered([use(5, 1)], {}, FORTNIGHT)
    assert told(found) == [(-9, 1, 5)]
    (wait,) = found.waits
    assert (wait.use.day, wait.until, wait.days, wait.on_order) == (5, 14, 9, False)


def test_a_late_use_waits_for_what_is_on_order_and_nothing_is_ordered_twice() -> None:
    found = ordered([use(5, 1)], {}, FORTNIGHT, receipts=[Receipt(OIL, 8, 1)])
    assert told(found) == []
    assert [(wait.until, wait.on_order) for wait in found.waits] == [(8, True)]


def test_of_one_day_what_leads_to_overheating_is_served_first() -> None:
    uses = [use(5, 1, engine="A"), use(5, 1, engine="B", precursor=True)]
    (wait,) = ordered(uses, {OIL: 1}, FORTNIGHT).waits
    assert wait.use.engine == "A"


def test_what_waits_stands_worst_first() -> None:
    uses = [use(9, 1), use(2, 1), use(10, 1, precursor=True), use(5, 1)]
    assert [wait.use.day for wait in ordered(uses, {}, FORTNIGHT).waits] == [10, 2, 5, 9]


def test_orders_of_one_week_are_one_order_on_its_earliest_day() -> None:
    monday = date(2031, 5, 5).toordinal()
    uses = [use(monday + 14 + day, 1, item) for day, item in ((4, OIL), (2, "plug"), (9, OIL))]
    found = ordered(uses, {}, FORTNIGHT, monday)
    days = [(line.item, line.order_by - monday, line.last_day - monday) for line in found.lines]
    assert days == [(OIL, 2, 4), ("plug", 2, 2), (OIL, 9, 9)]


def test_what_is_late_is_one_order_with_this_weeks() -> None:
    thursday = date(2031, 5, 8).toordinal()
    uses = [use(thursday + day, 1) for day in (0, 5, 15, 18)]  # to order 14, 9 days ago, tomorrow
    found = ordered(uses, {}, FORTNIGHT, thursday)
    assert [(line.count, line.order_by - thursday) for line in found.lines] == [(3, -14), (1, 4)]


def test_orders_of_several_weeks_are_one_when_asked_for() -> None:
    monday = date(2031, 5, 5).toordinal()
    uses = [use(monday + 14 + day, 1) for day in (2, 9, 16)]
    asked = Asked(uses, {}, (), FORTNIGHT, items(), monday, weeks=2)
    found = [(line.order_by - monday, line.count) for line in orders(asked).lines]
    assert found == [(2, 2), (16, 1)]


def test_a_supplier_closed_at_weekends_counts_working_days_only() -> None:
    friday = date(2031, 5, 16).toordinal()
    terms = Terms(3, open_days=frozenset(range(5)))
    assert terms.order_by(OIL, friday) == friday - 3  # Tuesday
    assert terms.order_by(OIL, friday + 2) == friday - 3  # by Sunday: the goods come on Friday
    assert terms.order_by(OIL, friday + 4) == friday - 1  # by Tuesday: ordered on Thursday
    assert terms.there_by(OIL, friday + 1) == friday + 6  # ordered on Saturday goes out on Monday


WEEKDAYS = st.frozensets(st.integers(0, 6), min_size=1)
TERMS = st.builds(
    Terms,
    st.integers(0, 20),
    st.just({}),
    st.integers(0, 4),
    st.one_of(st.just(EVERY_DAY), WEEKDAYS),
)


@given(TERMS, st.integers(0, 60))
@STEADY
def test_the_order_by_day_is_the_last_that_comes_in_time(terms: Terms, wanted: int) -> None:
    ordered_on = terms.order_by(OIL, wanted)
    assert terms.there_by(OIL, ordered_on) <= wanted
    assert all(terms.there_by(OIL, later) > wanted for later in range(ordered_on + 1, wanted + 9))


@given(st.integers(1, 3_600_000))
@STEADY
def test_a_week_runs_from_monday_to_sunday(day: int) -> None:
    year, week, _ = date.fromordinal(day).isocalendar()
    other = date.fromordinal(week_of(day) * 7 + 1)
    assert (other.isocalendar().year, other.isocalendar().week, other.weekday()) == (year, week, 0)


USES = st.lists(
    st.builds(
        use, st.integers(0, 40), st.integers(1, 4), st.just(OIL),
        st.sampled_from(["A", "B", "C"]), st.booleans(),
    ),
    max_size=8,
)  # fmt: skip
RECEIPTS = st.lists(
    st.builds(Receipt, st.just(OIL), st.integers(0, 45), st.integers(1, 4)), max_size=3
)


def walked(
    uses: list[Use], stock: int, receipts: list[Receipt], sent: list[tuple[int, int]]
) -> tuple[Counter[tuple[int, int]], int]:
    """A walk day by day: pieces by day wanted and day given out, and how many never came.

    Of what is asked the oldest day is served first, of a day precursors. `sent` are the days on
    which orders come, and their pieces.
    """
    open_pieces: list[tuple[int, bool]] = []
    given_out: Counter[tuple[int, int]] = Counter()
    for day in range(0, 120):
        stock += sum(receipt.count for receipt in receipts if receipt.day == day)
        stock += sum(count for comes, count in sent if comes == day)
        for asked in uses:
            if asked.day == day:
                open_pieces += [(day, not asked.is_precursor)] * asked.count
        open_pieces.sort()
        while stock and open_pieces:
            wanted, _ = open_pieces.pop(0)
            given_out[wanted, day] += 1
            stock -= 1
    return given_out, len(open_pieces)


@given(USES, st.integers(0, 6), RECEIPTS, TERMS)
@settings(deadline=None, derandomize=True, database=None, max_examples=400)
def test_a_walk_through_the_days_finds_every_piece_in_time_but_those_told(
    uses: list[Use], stock: int, receipts: list[Receipt], terms: Terms
) -> None:
    found = ordered(uses, {OIL: stock}, terms, 0, receipts)
    there = terms.there_by(OIL, 0)
    sent = [(terms.there_by(OIL, max(line.order_by, 0)), line.count) for line in found.lines]
    given_out, missing = walked(uses, stock, receipts, sent)
    assert missing == 0
    late = Counter({days: count for days, count in given_out.items() if days[1] > days[0]})
    told_late: Counter[tuple[int, int]] = Counter()
    for wait in found.waits:
        told_late[wait.use.day, wait.until] += wait.count
    assert late == told_late
    assert all(wanted < there for wanted, _ in late)
    waited = days_waited(given_out)
    for at, line in enumerate(found.lines):  # with a piece less, one never comes or comes later
        less = [(comes, n - (place == at)) for place, (comes, n) in enumerate(sent)]
        fewer, lacking = walked(uses, stock, receipts, less)
        assert lacking or days_waited(fewer) > waited, line


def days_waited(given_out: Counter[tuple[int, int]]) -> int:
    return sum(count * (day - wanted) for (wanted, day), count in given_out.items())


@given(USES, st.integers(0, 6), RECEIPTS, TERMS, st.integers(0, 10))
@STEADY
def test_every_line_is_ordered_in_time_or_named_as_late(
    uses: list[Use], stock: int, receipts: list[Receipt], terms: Terms, as_of: int
) -> None:
    later = [use(one.day + as_of, one.count, OIL, one.engine, one.is_precursor) for one in uses]
    found = ordered(later, {OIL: stock}, terms, as_of, receipts)
    for line in found.lines:
        assert terms.there_by(OIL, line.order_by) <= line.wanted
        assert line.order_by <= line.last_day
        assert all(short.use.day >= line.wanted for short in line.shorts)
        assert line.count == sum(short.count for short in line.shorts) > 0
        late = {id(wait.use) for wait in found.waits if not wait.on_order}
        assert (line.last_day < as_of) == any(id(short.use) in late for short in line.shorts)


@given(USES, st.integers(-3, 6), st.lists(st.integers(1, 4), max_size=3), TERMS)
@STEADY
def test_the_total_ordered_is_what_shelf_and_receipts_lack(
    uses: list[Use], stock: int, coming: list[int], terms: Terms
) -> None:
    receipts = [Receipt(OIL, 0, count) for count in coming]
    found = ordered(uses, {OIL: stock}, terms, 0, receipts)
    lacking = sum(one.count for one in uses) - max(0, stock) - sum(coming)
    assert sum(line.count for line in found.lines) == max(0, lacking)


# ---- kits

PRICES = {"a": 10, "b": 4, "c": 7}


def test_a_kit_is_bought_where_it_is_cheaper_and_its_other_items_serve_later_uses() -> None:
    known = items(PRICES, both=(12, {"a": 1, "b": 1}))
    found = ordered([use(20, 1, "a"), use(40, 1, "b")], {}, FORTNIGHT, known=known)
    (line,) = found.lines
    assert (line.item, line.is_kit, line.count, line.order_by) == ("both", True, 1, 6)
    assert [short.use.item for short in line.shorts] == ["a", "b"]
    assert (line.spare, found.saved, found.cost) == ((), 2, 12)


def test_a_kit_no_cheaper_than_what_is_wanted_of_it_is_left() -> None:
    known = items(PRICES, both=(14, {"a": 1, "b": 1}))
    uses = [use(20, 1, "a"), use(40, 1, "b")]
    assert [line.is_kit for line in ordered(uses, {}, FORTNIGHT, known=known).lines] == [False] * 2
    cheap = items(PRICES, both=(9, {"a": 1, "b": 3}))
    (line,) = ordered(uses[:1], {}, FORTNIGHT, known=cheap).lines
    assert (line.item, line.spare) == ("both", (("b", 3),))


def test_an_item_without_a_price_makes_no_kit_cheaper() -> None:
    known = items({"a": 10}, both=(12, {"a": 1, "b": 1}))
    found = ordered([use(20, 1, "a"), use(20, 1, "b")], {}, FORTNIGHT, known=known)
    assert [line.item for line in found.lines] == ["a", "b"]
    assert found.unpriced == ("b",)


def test_a_kit_that_would_come_later_than_the_item_is_left() -> None:
    known = items(PRICES, both=(8, {"a": 1, "b": 1}))
    slow = Terms(14, {"both": 30})
    assert [line.item for line in ordered([use(20, 1, "a")], {}, slow, known=known).lines] == ["a"]
    assert [line.item for line in ordered([use(30, 1, "a")], {}, slow, known=known).lines] == [
        "both"
    ]


KIT_USES = st.lists(
    st.builds(use, st.integers(0, 40), st.integers(1, 3), st.sampled_from(["a", "b", "c"])),
    max_size=6,
)
HOLDS = st.dictionaries(st.sampled_from(["a", "b", "c"]), st.integers(1, 2), min_size=1)
KITS = st.dictionaries(
    st.sampled_from(["k", "l"]), st.tuples(st.integers(1, 25), HOLDS), max_size=2
)


@given(KIT_USES, KITS, st.dictionaries(st.sampled_from(["a", "b", "c"]), st.integers(0, 4)))
@STEADY
def test_no_other_numbers_of_kits_cost_less(
    uses: list[Use], kits: dict[str, tuple[int, dict[str, int]]], stock: dict[str, int]
) -> None:
    found = ordered(uses, stock, FORTNIGHT, known=items(PRICES, **kits))
    lacking = {
        item: max(0, sum(one.count for one in uses if one.item == item) - stock.get(item, 0))
        for item in PRICES
    }
    least = min(
        sum(count * kits[name][0] for name, count in zip(kits, counts, strict=True))
        + sum(
            PRICES[item] * max(0, lack - sum(
                count * kits[name][1].get(item, 0)
                for name, count in zip(kits, counts, strict=True)
            ))
            for item, lack in lacking.items()
        )
        for counts in product(range(8), repeat=len(kits))
    )  # fmt: skip
    assert found.cost == least
    singly = sum(PRICES[item] * lack for item, lack in lacking.items())
    assert found.saved == singly - least
    for item, lack in lacking.items():
        brought = sum(line.count for line in found.lines if line.item == item)
        served = sum(
            short.count for line in found.lines if line.is_kit
            for short in line.shorts if short.use.item == item
        )  # fmt: skip
        assert brought + served == lack


def test_of_numbers_of_kits_that_save_as_much_the_fewest_are_bought() -> None:
    known = items({"a": 4, "b": 1}, both=(4, {"a": 1, "b": 1}))
    found = ordered([use(20, 2, "a"), use(20, 1, "b")], {}, FORTNIGHT, known=known)
    assert [(line.item, line.count) for line in found.lines] == [("a", 1), ("both", 1)]


def test_many_kinds_of_kit_are_weighed_step_by_step_and_still_save() -> None:
    kits = {f"k{at}": (9, {"a": 1, f"x{at}": 1}) for at in range(6)}
    prices = {"a": 5, **{f"x{at}": 6 for at in range(6)}}
    uses = [use(20, 6, "a"), *(use(21, 1, f"x{at}") for at in range(6))]
    found = ordered(uses, {}, FORTNIGHT, known=items(prices, **kits))
    assert sorted(line.item for line in found.lines) == sorted(kits)
    assert found.saved == 12


@pytest.mark.parametrize("order", [1, -1])
def test_the_order_of_the_uses_changes_nothing(order: int) -> None:
    uses = [use(day, 1, item, engine) for day in (3, 20, 21) for item in ("a", "b")
            for engine in ("E2", "E10")]  # fmt: skip
    known = items(PRICES, both=(12, {"a": 1, "b": 1}))
    plain = ordered(uses, {"a": 1}, FORTNIGHT, known=known)
    assert ordered(uses[::order], {"a": 1}, FORTNIGHT, known=known) == plain
