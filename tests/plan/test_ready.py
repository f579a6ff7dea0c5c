"""What to have ready: who calls for what with which chance, and how many that is worth."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleetcare.due.rows import fitting_tasks
from fleetcare.plan.called import (
    Called,
    Sight,
    called_by_chance,
    called_by_looks,
    shares_of,
)
from fleetcare.plan.items import Items
from fleetcare.plan.ready import Asked, Rates, Ready, chances_of, looked_at_until, ready
from fleetcare.plan.shelf import Stock
from fleetcare.plan.short import Receipt
from fleetcare.plan.terms import Terms
from fleetcare.plan.uses import Use, Wanted
from tests.plan.parts_cases import items, use
from tests.plan.parts_fleet import BOOK, SET, TODAY, Place, entry, may, place, set_of

NOW = TODAY.toordinal()
STEADY = settings(deadline=None, derandomize=True, database=None)
RATES, FORTNIGHT = Rates(hour=45, boat_day=120), Terms(14)


def sight(seen: Place) -> Sight:
    def fits(engine: str) -> frozenset[str]:
        return fitting_tasks(SET, seen.fleet.engines[engine])

    return Sight(set_of, fits, BOOK.conditions, BOOK.incidents, seen.history, seen.as_of)


def looks(seen: Place, *tasks: str, chance: float = 0.2, day: int = 3) -> list[Called]:
    jobs = [Wanted("Plover", task, NOW + day, "", False) for task in tasks]
    return called_by_looks(jobs, sight(seen), lambda engine, part, day: (chance, True))


def by_word(found: list[Called]) -> dict[str, tuple[float, dict[str, int], bool]]:
    """Chance, items and whether it stops, by the part and the word of the condition."""
    return {
        one.what.partition(" at ")[0]: (one.chance, dict(one.items), one.stops) for one in found
    }


def test_a_look_may_call_for_what_its_visit_does_not_bring() -> None:
    found = by_word(looks(place(), "pump look"))
    # of the words for worn vanes three ask for a job, two stop and count a quarter: 3.5 in all
    kit = {"impeller kit": 1}
    assert {word: (round(chance / 0.2 * 3.5, 6), got, stops)
            for word, (chance, got, stops) in found.items()} == {
        "impeller vanes set": (1, kit, False), "impeller vanes cracked": (1, kit, False),
        "impeller vanes hard": (1, kit, False), "impeller vanes hub slipped": (0.25, kit, True),
        "impeller vanes missing": (0.25, {**kit, "water tube grommet": 1}, True),
    }  # fmt: skip


def test_what_the_visit_renews_anyhow_is_not_called_for() -> None:
    found = by_word(looks(place(), "impeller"))
    assert {word: got for word, (_, got, _) in found.items()} == {
        "impeller vanes missing": {"water tube grommet": 1}
    }
    assert looks(place(), "impeller", "water tube", chance=0.0) == []
    assert "impeller vanes missing" not in by_word(looks(place(), "impeller", "water tube"))


def test_what_was_found_before_weighs_the_words() -> None:
    vanes = {"engine": "Knot", "part": "impeller vanes", "condition": "missing", "count": 1}
    seen = place(*(entry(may(day), "finding", **vanes) for day in (3, 9)))
    shares = shares_of(BOOK.conditions["impeller vanes"], sight(seen))
    assert shares["missing"] == pytest.approx(2.25 / 5.5)
    assert sum(shares.values()) == pytest.approx(1)


def test_a_job_that_the_engine_has_no_part_for_is_not_called_for() -> None:
    seen = place()
    no_tube = Sight(
        set_of, lambda engine: frozenset({"impeller"}), BOOK.conditions, BOOK.incidents,
        seen.history, seen.as_of,
    )  # fmt: skip
    job = Wanted("Plover", "pump look", NOW, "", False)
    found = by_word(called_by_looks([job], no_tube, lambda *_: (0.2, True)))
    assert found["impeller vanes missing"][1] == {"impeller kit": 1}


def test_a_part_whose_age_nothing_tells_calls_for_nothing() -> None:
    job = Wanted("Plover", "pump look", NOW, "", False)
    assert called_by_looks([job], sight(place()), lambda *_: None) == []


def test_incidents_of_the_year_before_may_come_again() -> None:
    seen = place(
        entry(may(3), "incident", engine="Plover", condition="overheated"),
        entry(may(9), "incident", engine="Knot", condition="grounded"),
    )
    found = {one.what.partition(",")[0]: one for one in
             called_by_chance({"Plover": 60, "Knot": 40}, sight(seen))}  # fmt: skip
    hot = found["overheated"]
    assert dict(hot.items) == {
        "impeller kit": 1, "pump housing gasket": 1, "thermostat gasket": 1,
        "relief valve kit": 1, "head bolt set": 1, "head or cover gasket": 1,
    }  # fmt: skip
    assert hot.stops and hot.a_day == pytest.approx(2 / 100)  # once in 100 days afloat, two engines
    # cowl off 2, plugs out 5, leg off 25, pump open 10, thermostat cover 15, head cover 90
    assert hot.minutes == 147
    assert dict(found["grounded"].items) == {"split pin": 1}
    assert not found["grounded"].stops


def test_findings_outside_a_job_may_come_again_and_those_of_jobs_are_the_looks_own() -> None:
    seen = place(
        entry(may(3), "finding", engine="Plover", part="swivel", condition="seized"),
        entry(may(4), "job", engine="Knot", task="swing test", part="swivel", condition="seized"),
        entry(may(5), "finding", engine="Knot", part="swivel", condition="free one hand"),
    )
    (one,) = called_by_chance({"Plover": 50}, sight(seen))
    assert (one.what, one.a_day, one.stops) == ("swivel seized, 1 in the year before", 1 / 50, True)
    assert dict(one.items) == {"base gasket": 1, "swivel bush": 2}


def test_what_a_finding_asks_for_comes_with_what_opening_takes() -> None:
    seen = place(entry(may(3), "finding", engine="Plover", part="pump cup", condition="melted"))
    (one,) = called_by_chance({"Plover": 50, "Knot": 50}, sight(seen))
    # pump housing, water tube, thermostat, relief valve and head gasket, each opening once
    assert dict(one.items) == {
        "pump housing gasket": 1, "water tube grommet": 1, "thermostat gasket": 1,
        "relief valve kit": 1, "head bolt set": 1, "head or cover gasket": 1,
    }  # fmt: skip
    assert one.stops and one.a_day == pytest.approx(2 / 100)


def test_what_lies_more_than_a_year_back_is_over() -> None:
    seen = place(entry(may(3), "incident", engine="Plover", condition="overheated"))
    past = sight(seen)
    later = Sight(past.set_of, past.fits, past.conditions, past.incidents, past.history,
                  may(3).toordinal() + 365)  # fmt: skip
    assert called_by_chance({"Plover": 50}, later) == []
    assert called_by_chance({}, past) == []


# ---- how many


def look(chance: float, day: int = 3, item: str = "a", **more: object) -> Called:
    plain: dict[str, object] = {"engine": "E1", "part": "swivel", "stops": True, "minutes": 0}
    plain.update(more)
    return Called("found", ((item, int(str(plain.pop("count", 1)))),), day=day, chance=chance,
                  **plain)  # type: ignore[arg-type]  # fmt: skip


def asked(
    prices: Mapping[str, int], stock: int = 0, uses: tuple[Use, ...] = (),
    receipts: tuple[Receipt, ...] = (), rates: Rates = RATES, terms: Terms = FORTNIGHT,
) -> Asked:  # fmt: skip
    stocks = {"a": Stock("a", stock, None, ())} if stock else {}
    return Asked(uses, stocks, receipts, terms, items(prices), rates, 0)


def one_of(called: list[Called], given: Asked) -> Ready:
    (found,) = ready(called, given)
    return found


@given(st.floats(0.001, 0.999), st.integers(1, 2000), st.integers(0, 30))
@STEADY
def test_one_is_worth_having_where_the_chance_times_the_wait_is_above_its_price(
    chance: float, price: int, lead: int
) -> None:
    found = one_of([look(chance, day=0)], asked({"a": price}, terms=Terms(lead)))
    worth = chance * lead * 120
    assert found.worth == pytest.approx(worth)
    if abs(worth - price) > 1e-6:
        assert found.have == (1 if worth > price else 0)


def test_what_does_not_stop_a_boat_costs_its_coming_in_again_and_the_opening() -> None:
    found = one_of([look(0.5, stops=False, minutes=40)], asked({"a": 10}))
    assert found.worth == pytest.approx(0.5 * (120 + 40 * 45 / 60))


def test_a_cheap_part_for_many_looks_is_had_in_number() -> None:
    many = [look(0.3, engine=f"E{at}") for at in range(10)]
    found = one_of(many, asked({"a": 5}))
    assert found.chance == pytest.approx(1 - 0.7**10)
    # lost 1680, its price 5: 0.99702 is wanted; of ten at 0.3 each it is 7 or fewer with a chance
    # of 0.99841, 6 or fewer with 0.98941 (tables of the binomial distribution)
    assert found.have == 7


LOOKS = st.lists(
    st.tuples(
        st.sampled_from(["E1", "E2", "E3"]), st.sampled_from(["swivel", "tilt"]),
        st.integers(1, 3), st.floats(0.01, 0.3),
    ),
    min_size=1, max_size=6, unique_by=lambda one: (one[0], one[1], one[2]),
)  # fmt: skip


@given(LOOKS)
@STEADY
def test_the_chances_are_those_of_every_outcome_tried(
    found: list[tuple[str, str, int, float]],
) -> None:
    called = [
        (look(chance, engine=engine, part=part, count=count), count)
        for engine, part, count, chance in found
    ]
    by_look: dict[tuple[str, str], list[tuple[int, float]]] = {}
    for engine, part, count, chance in found:
        by_look.setdefault((engine, part), []).append((count, chance))
    each = [[*pairs, (0, 1 - sum(chance for _, chance in pairs))] for pairs in by_look.values()]
    total: Counter[int] = Counter()
    for outcome in product(*each):
        chance = 1.0
        for _, here in outcome:
            chance *= here
        total[sum(count for count, _ in outcome)] += chance  # type: ignore[assignment]
    chances = chances_of(called, 21)
    assert chances == pytest.approx([total[at] for at in range(len(chances))], abs=1e-9)


@given(LOOKS, st.integers(1, 400))
@STEADY
def test_no_other_number_costs_less(found: list[tuple[str, str, int, float]], price: int) -> None:
    called = [
        look(chance, engine=engine, part=part, count=count) for engine, part, count, chance in found
    ]
    got = one_of(called, asked({"a": price}))
    chances = chances_of([(one, one.items[0][1]) for one in called], 21)
    loss = 14 * 120

    def cost(stock: int) -> float:
        return sum(
            chance * (price * max(0, stock - wanted) + (loss - price) * max(0, wanted - stock))
            for wanted, chance in enumerate(chances)
        )

    assert cost(got.have) <= min(cost(other) for other in range(len(chances) + 2)) + 1e-6


def test_what_comes_by_itself_is_counted_over_lead_and_the_next_look() -> None:
    event = Called("overheated", (("a", 1),), True, 0, a_day=0.5 / 21)
    found = one_of([event], asked({"a": 40}))
    # a mean of 0.5 in 21 days: of 1680 lost 40 are its price, so 97.6 % are wanted, and 3 give
    # 99.8, 2 give 98.6, 1 gives 91.0 (tables of the Poisson distribution)
    assert (found.have, round(found.chance, 4)) == (2, 0.3935)
    assert found.have == one_of([event], asked({"a": 40}, rates=Rates(45, 120, 0))).have


def test_an_order_that_costs_something_asks_for_more_at_once_and_tells_when_to_fetch_more() -> None:
    event = Called("overheated", (("a", 1),), True, 0, a_day=2 / 21)
    plain = one_of([event], asked({"a": 40}))
    dear = one_of([event], asked({"a": 40}, rates=Rates(45, 120, 200)))
    assert plain.reorder == plain.have - 1
    assert dear.have > plain.have and dear.reorder < plain.reorder
    few, enough = (
        one_of([event], asked({"a": 40}, stock, rates=Rates(45, 120, 200)))
        for stock in (dear.reorder, dear.reorder + 1)
    )
    assert (few.buy, enough.buy) == (dear.have - dear.reorder, 0)


def test_looks_beyond_the_next_order_can_wait_for_it() -> None:
    assert looked_at_until(Terms(14), 0) == 21
    assert looked_at_until(Terms(14, {"b": 30}), 0) == 37
    assert len(ready([look(0.5, day=21)], asked({"a": 5}))) == 1
    assert ready([look(0.5, day=22)], asked({"a": 5})) == []
    assert len(ready([look(0.5, day=22)], asked({"a": 5}, terms=Terms(14, {"a": 15})))) == 1


def test_what_lies_on_the_shelf_beyond_the_sure_uses_is_ready_already() -> None:
    def had(stock: int, uses: tuple[Use, ...] = (), receipts: tuple[Receipt, ...] = ()) -> object:
        found = one_of([look(0.5)], asked({"a": 5}, stock, uses, receipts))
        return found.have, found.spare, found.buy

    assert had(0) == (1, 0, 1)
    assert had(1) == (1, 1, 0)
    assert had(1, (use(9, 1, "a"),)) == (1, 0, 1)
    assert had(1, (use(22, 1, "a"),)) == (1, 1, 0)
    assert had(0, (), (Receipt("a", 9, 2),)) == (1, 2, 0)
    assert had(-4) == (1, 0, 1)


def test_without_a_price_the_dearest_known_is_taken_and_said() -> None:
    found = one_of([look(0.5)], asked({"b": 70}))
    assert (found.price, found.guessed) == (70, True)
    assert one_of([look(0.5)], asked({})).price == 50


def test_the_likeliest_stand_first_and_what_is_no_gain_last() -> None:
    found = ready(
        [look(0.2, item="b"), look(0.5, item="c"), look(0.9, item="d", stops=False)],
        asked({"b": 5, "c": 5, "d": 500}),
    )
    assert [(one.item, one.have > 0) for one in found] == [("c", True), ("b", True), ("d", False)]


def test_the_share_of_judgement_is_told() -> None:
    found = one_of([look(0.3), look(0.1, engine="E2", learned=False)], asked({"a": 5}))
    assert found.learned == pytest.approx(0.75)
    assert [one.engine for one in found.called] == ["E1", "E2"]


def test_names_of_items_are_one_however_the_rules_spell_them() -> None:
    known = Items({"a": "a"}, {"a": Fraction(5)}, frozenset(), frozenset({"a"}), {})
    given_ = Asked((), {}, (), Terms(14), known, RATES, 0)
    found = ready([look(0.3), look(0.3, item="A", engine="E2")], given_)
    assert [one.item for one in found] == ["a"]
