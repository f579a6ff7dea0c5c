"""Which engine carried a component, in what water, and how much it ran there."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F

from fleetcare.log.history import history
from fleetcare.usage.components import Carriage, ComponentUse
from tests.built import fleet_of
from tests.oracle.cases import tables

TWO = """
    boat Otter lies in fresh from 2031-01-01
    boat Heron lies in salt from 2031-01-01
    engine Plover on Otter since 2031-05-01, reading 100
    engine Teal on Heron since 2031-05-01, reading 500
"""
SPARE = TWO.replace("engine Teal on Heron", "engine Teal in store")


def day(text: str) -> int:
    return date.fromisoformat(text).toordinal()


def carriage(text: str, as_of: str) -> Carriage:
    fleet, entries = fleet_of(tables(text))
    return Carriage(fleet, history(entries, date.fromisoformat(as_of)), day(as_of))


def hours(use: ComponentUse, first: str, last: str, known: str) -> tuple[F, ...]:
    return tuple(F(value) / 100 for value in use.mix(day(first), day(last), day(known))[:3])


def test_a_swapped_gearcase_brings_its_hours_and_leaves_the_others() -> None:
    text = (
        TWO
        + """
        Plover reads 110 on 2031-05-11
        Teal reads 520 on 2031-05-11
        Plover swaps gearcase with Teal on 2031-05-12
        Plover reads 115 on 2031-05-21"""
    )
    use = carriage(text, "2031-05-21").under("Plover", "gearcase")
    assert use.component == ("Teal", "gearcase")
    # twenty hours in salt under Teal, then five in fresh under Plover
    assert hours(use, "2031-05-02", "2031-05-21", "2031-05-21") == (5, 0, 20)


def test_the_day_of_a_swap_is_the_new_engines_day() -> None:
    text = (
        TWO
        + """
        Plover runs 3 on 2031-05-12
        Teal runs 7 on 2031-05-12
        Plover swaps gearcase with Teal on 2031-05-12"""
    )
    use = carriage(text, "2031-05-12").under("Plover", "gearcase")
    assert hours(use, "2031-05-12", "2031-05-12", "2031-05-12") == (3, 0, 0)


def test_swapping_there_and_back_leaves_all_as_it_was() -> None:
    text = (
        TWO
        + """
        Plover reads 110 on 2031-05-11
        Plover reads 120 on 2031-05-31"""
    )
    back = (
        text
        + """
        Plover swaps powerhead with Teal on 2031-06-01
        Teal swaps powerhead with Plover on 2031-06-02"""
    )
    plain = carriage(text, "2031-06-30").under("Plover", "powerhead")
    moved = carriage(back, "2031-06-30").under("Plover", "powerhead")
    span = ("2031-05-02", "2031-06-30", "2031-06-30")
    assert moved.component == plain.component
    assert hours(moved, *span) == hours(plain, *span)


def test_salt_stays_in_a_gearcase_put_into_an_engine_in_store() -> None:
    text = (
        SPARE.replace("Otter lies in fresh", "Otter lies in salt").replace(
            "Heron lies in salt", "Heron lies in fresh"
        )
        + "Plover swaps gearcase with Teal on 2031-05-12\nTeal onto Heron on 2031-06-01"
    )
    use = carriage(text, "2031-06-10").under("Teal", "gearcase")
    assert use.water_on(day("2031-05-20")) == 2  # in store: the salt it came with
    assert use.water_on(day("2031-06-01")) == 0  # mounted: the boat's water


def test_an_engine_never_mounted_counts_as_salt() -> None:
    assert carriage(SPARE, "2031-05-20").uses["Teal"].water_on(day("2031-05-20")) == 2


def test_an_engine_in_store_keeps_the_water_it_last_had_with_that_days_move() -> None:
    text = (
        TWO
        + """
        Otter moves to brackish on 2031-05-20
        Plover into store on 2031-05-20
        Otter moves to salt on 2031-05-25"""
    )
    use = carriage(text, "2031-06-10").uses["Plover"]
    assert [use.water_on(day(f"2031-05-{n}")) for n in (19, 20, 30)] == [0, 1, 1]


def test_a_run_in_salt_makes_the_day_salt_and_one_in_fresh_does_not_ease_it() -> None:
    text = TWO + "Plover runs 1 in salt on 2031-05-10\nTeal runs 1 in fresh on 2031-05-10"
    uses = carriage(text, "2031-05-12").uses
    assert uses["Plover"].days_by_water(day("2031-05-09"), day("2031-05-11")) == [2, 0, 1]
    assert uses["Teal"].days_by_water(day("2031-05-09"), day("2031-05-11")) == [0, 0, 3]


def test_unexplained_hours_fall_on_the_days_it_was_not_laid_up() -> None:
    text = (
        TWO
        + """
        Otter moves to salt on 2031-05-09
        Plover laid up on 2031-05-04
        Plover launched on 2031-05-10
        Plover reads 108 on 2031-05-13"""
    )
    use = carriage(text, "2031-05-13").uses["Plover"]
    # ran on the 2nd, 3rd and the 10th to 13th, so eight hours over six days
    mix = use.mix_to(day("2031-05-13"), day("2031-05-13"))
    assert [F(value) / 100 for value in mix[:3]] == [F(16, 6), 0, F(32, 6)]


def test_a_stopped_meter_leaves_the_engine_its_runs() -> None:
    text = (
        TWO
        + """
        Plover meter stops at 110 on 2031-05-11
        Plover runs 2 on 2031-05-11
        Plover runs 3 on 2031-05-12"""
    )
    use = carriage(text, "2031-05-20").uses["Plover"]
    assert use.hours_to(day("2031-05-20"), day("2031-05-20")) == 11500


def test_a_fitted_meter_goes_on_from_the_runs() -> None:
    text = (
        TWO.replace("reading 100", "no meter")
        + """
        Plover runs 4 on 2031-05-10
        Plover meter fitted at 0 on 2031-05-11
        Plover reads 6 on 2031-05-20"""
    )
    use = carriage(text, "2031-05-20").uses["Plover"]
    assert use.hours_to(day("2031-05-20"), day("2031-05-20")) == 1000


def test_before_a_reading_is_known_only_runs_count() -> None:
    text = TWO + "Plover runs 2 on 2031-05-05\nPlover reads 112 on 2031-05-13"
    use = carriage(text, "2031-05-13").uses["Plover"]
    assert use.hours_to(day("2031-05-06"), day("2031-05-06")) == 10200
    # two by the run, and five of the twelve days' share of the other ten
    assert use.hours_to(day("2031-05-06"), day("2031-05-13")) == 10200 + F(5000, 12)
