"""A fleet finds its boats and engines by any of their names; waters stand in order."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from fleetcare.errors import RefusedError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.components import COMPONENTS, Component
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.settings import Settings
from fleetcare.fleet.waters import WORDS, Water, water_of

MAY_1 = date(2031, 5, 1)


def fleet_of(*engines: Engine, boats: tuple[Boat, ...] = ()) -> Fleet:
    return Fleet(
        "f1",
        Settings(),
        {boat.name: boat for boat in boats},
        {engine.name: engine for engine in engines},
    )


# --- waters -----------------------------------------------------------------------------------


def test_salt_is_stricter_than_brackish_and_brackish_than_fresh() -> None:
    assert max(Water) is Water.SALT
    assert Water.FRESH < Water.BRACKISH < Water.SALT
    assert max(Water.BRACKISH, Water.FRESH) is Water.BRACKISH


def test_a_water_is_found_by_its_word_however_it_is_typed() -> None:
    assert [water_of(f" {word.upper()} ") for word in WORDS] == list(Water)
    assert WORDS == ("fresh", "brackish", "salt")


@pytest.mark.parametrize("word", ["", "sweet", "salty", "0", "2"])
def test_other_words_are_no_water(word: str) -> None:
    assert water_of(word) is None


# --- names ------------------------------------------------------------------------------------


def test_an_engine_is_found_by_any_of_its_names_in_any_case() -> None:
    plover = Engine("Plover", MAY_1, also=("Ladle", "OB-7"))
    fleet = fleet_of(plover, Engine("Teal", MAY_1))
    for name in ("Plover", "PLOVER", " plover ", "ladle", "ob-7", "ＯＢ-7"):
        assert fleet.has_engine(name)
        assert fleet.engine(name) is plover


def test_a_boat_is_found_by_any_of_its_names_too() -> None:
    otter = Boat("Otter", "hire", Water.FRESH, MAY_1, also=("Boat 1",))
    fleet = fleet_of(boats=(otter,))
    assert fleet.boat("boat 1") is otter
    assert fleet.has_boat("OTTER") and not fleet.has_boat("Plover")


def test_boats_and_engines_do_not_share_their_names() -> None:
    otter = Boat("Otter", "hire", Water.FRESH, MAY_1)
    fleet = fleet_of(Engine("Teal", MAY_1), boats=(otter,))
    assert not fleet.has_engine("Otter")
    assert not fleet.has_boat("Teal")


@pytest.mark.parametrize("turned", [False, True])
def test_a_name_in_use_now_wins_over_another_engines_earlier_name(turned: bool) -> None:
    engines = [Engine("Plover", MAY_1, also=("Teal",)), Engine("Teal", MAY_1, also=("Snipe",))]
    fleet = fleet_of(*(reversed(engines) if turned else engines))
    assert fleet.engine("teal").name == "Teal"
    assert fleet.engine("Plover").name == "Plover"
    assert fleet.engine("Snipe").name == "Teal"


def test_a_name_that_is_nearly_right_is_refused_with_the_nearest() -> None:
    fleet = fleet_of(Engine("Plover", MAY_1, also=("Ladle",)), Engine("Teal", MAY_1))
    with pytest.raises(RefusedError, match=r'no engine "Plovr". Did you mean "Plover"?'):
        fleet.engine("Plovr")
    with pytest.raises(RefusedError, match=r'no engine "Ladel". Did you mean "Ladle"?'):
        fleet.engine("Ladel")


def test_a_name_that_is_nothing_like_any_says_where_they_are_listed() -> None:
    fleet = fleet_of(Engine("Plover", MAY_1))
    with pytest.raises(RefusedError) as refused:
        fleet.engine("Gannet")
    assert str(refused.value) == 'no engine "Gannet". fleetcare engine list shows them.'
    assert refused.value.exit_code == 1


def test_a_fleet_without_engines_says_how_to_add_one() -> None:
    with pytest.raises(RefusedError, match=r"has none yet \(fleetcare engine add\)"):
        fleet_of().engine("Plover")
    with pytest.raises(RefusedError, match=r"has none yet \(fleetcare boat add\)"):
        fleet_of().boat("Otter")


# --- engines ----------------------------------------------------------------------------------


def test_a_renamed_engine_keeps_the_name_its_components_go_by() -> None:
    assert Engine("Plover", MAY_1).first_name == "Plover"
    assert Engine("Plover", MAY_1, first="Ladle").first_name == "Ladle"


@pytest.mark.parametrize(
    ("hp", "litres_hour", "burn"),
    [
        # Half of 0.31 l per hp and hour; 0.31 is 0.50 lb/(hp h) over 6.1 lb/gal: Boating
        # magazine, "Calculating fuel consumption"; halving it is our design choice.
        (Fraction(6), None, Fraction(93, 100)),
        (Fraction("9.9"), None, Fraction(3069, 2000)),
        (None, None, Fraction(31, 20)),  # 10 hp when unknown: our design choice
        (Fraction(6), Fraction("2.5"), Fraction(5, 2)),
    ],
)
def test_an_engine_burns_its_own_litres_or_those_of_its_power(
    hp: Fraction | None, litres_hour: Fraction | None, burn: Fraction
) -> None:
    assert Engine("Plover", MAY_1, hp=hp, litres_hour=litres_hour).burn == burn


def test_the_default_litres_come_from_pounds_and_gallons() -> None:
    # 0.50 lb per hp and hour, 6.1 lb to the US gallon, 3.785411784 l to it (NIST Handbook 44,
    # appendix C): 0.3103 litres, kept to two places as 0.31.
    full = Fraction(1, 2) / Fraction(61, 10) * Fraction(3_785_411_784, 1_000_000_000)
    assert round(full, 2) == Fraction(31, 100)
    assert Engine("Plover", MAY_1, hp=Fraction(1)).burn == round(full, 2) / 2


def test_components_are_seven_and_go_by_the_engine_they_came_with() -> None:
    assert len(set(COMPONENTS)) == 7
    assert {"powerhead", "mid-section", "gearcase"} < set(COMPONENTS)
    assert Component("Plover", "gearcase") == ("Plover", "gearcase")
