"""Check lists, notices and law of public authorities."""

from typing import Any

import pytest

Table = dict[str, Any]


def test_hard_worked_gear_oil_is_changed_every_three_months(hire: Table) -> None:
    # ANZ Safe Boating Education Group, "Maintaining Your Boat": 3 months if worked hard;
    # Marine Safety Victoria, Vessel Maintenance Check List (24 Dec 2008): 3 months
    assert hire["gear oil"]["limits"]["months"] == 3


def test_fuel_acts_at_six_months(base: Table, words: Table) -> None:
    # Marine Safety Victoria, Vessel Maintenance Check List: fuel no older than 6 months
    assert base["old fuel"]["limits"] == {"months": 6}
    assert words["fuel"]["over 6 months"]["weight"] == "act"


def test_ethanol_blend_is_watched_from_90_days(words: Table, parts: Table) -> None:
    # USCG Boating Safety Circular 85, as quoted: untreated ethanol blend lasts 60-90 days
    assert words["fuel"]["over 90 days"]["weight"] == "watch"
    assert "60-90 days" in parts["fuel"]["source"]


def test_the_tank_is_cleaned_every_year(base: Table) -> None:
    # Marine Safety Victoria, Vessel Maintenance Check List: tank yearly
    assert base["fuel tank"]["limits"] == {"months": 12}


@pytest.mark.parametrize(
    "task", ["pump look", "splines", "gear oil", "engine oil", "plugs", "fuel line", "fuel tank"]
)
def test_what_a_full_service_covers_comes_every_year_however_little_the_use(
    base: Table, task: str
) -> None:
    # Marine Safety Victoria, Vessel Maintenance Check List; ANZ Safe Boating Education Group,
    # "Maintaining Your Boat"; NSW Government, "Maintaining your vessel": every year, even if
    # little used
    assert base[task]["limits"]["months"] == 12


def test_impeller_and_housing_are_looked_at_every_year(base: Table) -> None:
    # USCG Carbon monoxide checklist: yearly, each impeller and pump housing
    assert base["pump look"]["limits"]["months"] == 12
    assert base["pump housing"]["limits"]["salt"]["months"] == 12


def test_a_hose_does_not_prove_the_pump(base: Table) -> None:
    # AMSA Marine Notice 12/2017: a run on a hose does not prove the pump
    assert "a hose does not prove the pump" in base["proof run"]["cautions"][0]
    assert base["proof run"]["season"] == "launch"


def test_running_dry_makes_the_pump_due_and_holds(base: Table, incidents: Table) -> None:
    # AMSA Marine Notice 12/2017: never run dry, even briefly
    assert incidents["ran dry"]["holds_until"] == ["impeller", "pump housing", "water tube"]
    assert "ran dry" in base["impeller"]["after"]


def test_engines_run_for_a_flush_only_outdoors(base: Table) -> None:
    # NIOSH, CO Dangers in Boating: gas builds up in seconds
    for task in ("flush", "tank flush", "proof run"):
        assert any("utdoors" in caution for caution in base[task]["cautions"]), task


def test_the_kill_cord_caution_names_the_law(base: Table) -> None:
    # 46 USC 4312: engine cut-off links; local codes go further
    assert "46 USC 4312" in base["kill cord"]["cautions"][0]
    assert "local code" in base["kill cord"]["cautions"][0]


def test_two_people_lift_from_4_hp_up(access: Table) -> None:
    # ABYC Table 1A (= 33 CFR 183.75), as reprinted: 4-6.9 hp weigh 66 lb dry, 2.1-3.9 hp 42 lb;
    # OSHA on NIOSH lifting: 51 lb is one person's ideal limit. 42 <= 51 < 66.
    caution = access["motor off the transom"]["cautions"][0]
    assert "4 hp" in caution
    assert "66 lb" in caution
    assert "51 lb" in caution


def test_a_swivel_is_swung_well_before_six_idle_months(base: Table) -> None:
    # Marine Rescue NSW, "Give your boat its annual checkup": steering jammed after 6 months idle
    limits = base["swing test"]["limits"]
    assert limits["fresh"]["months"] < 6
    assert limits["salt"]["days"] < 6 * 28
    assert base["swing test"]["season"] == "launch"
