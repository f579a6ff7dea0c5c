"""What workshops, trade pages, clubs and mechanics print: columns, pages, threads."""

from typing import Any

import pytest

Table = dict[str, Any]


def test_a_salt_shop_renews_impellers_at_100_hours_or_a_year(mooring: Table) -> None:
    # Workshop column, Texas saltwater magazine (2011 on): the annual service is at 100 h
    assert mooring["impeller"]["limits"] == {"salt": {"hours": 100, "months": 12}}


def test_a_salt_shop_tests_the_gearcase_with_every_pump_job(base: Table, mooring: Table) -> None:
    # The same column: vacuum and pressure test at every pump job
    assert base["gearcase pressure"]["limits"] == base["impeller"]["limits"]
    assert mooring["gearcase pressure"]["limits"] == mooring["impeller"]["limits"]


def test_grease_counts_only_when_seen_at_both_ends(words: Table) -> None:
    # The same column: two exit points at a pivot, witness both
    weights = {word: entry["weight"] for word, entry in words["grease witness"].items()}
    assert weights == {
        "top and bottom": "fine",
        "top only": "act",
        "bottom only": "act",
        "none": "act",
    }


def test_a_long_flush_is_long_enough(base: Table) -> None:
    # The same column: at least 10 min at hot idle
    assert base["tank flush"]["minutes"] >= 10


def test_old_blocks_are_looked_into_at_every_thermostat_job(base: Table, mooring: Table) -> None:
    # The same column: insulated blocks overheat from 5 to 7 years on
    assert "from year 5" in base["passages"]["source"]
    assert mooring["passages"]["limits"]["salt"] == base["thermostat"]["limits"]["salt"]


def test_an_alarm_at_high_revs_only_asks_for_the_passages(base: Table, incidents: Table) -> None:
    # The same column: above about 4500 rpm, not at 3500, with a strong stream: an insulated block
    assert "4500 rpm" in incidents["hot at speed"]["source"]
    assert "passages" in incidents["hot at speed"]["holds_until"]
    assert "hot at speed" in base["descale"]["after"]


def test_the_thermostat_comes_out_at_the_hours_salt_was_seen_in_it(base: Table) -> None:
    # Mechanics' forum threads (opinion): crusted at 100 h in spite of flushing
    assert base["thermostat"]["limits"]["salt"]["hours"] == 100


def test_a_pump_is_ruined_in_30_seconds_dry(incidents: Table) -> None:
    # "Cooling system repair tips", a trade page: 30 s or less
    assert "30 seconds" in incidents["ran dry"]["caution"]


def test_a_pump_idle_for_a_year_is_looked_at_before_it_runs(base: Table) -> None:
    # "Cooling system repair tips": after more than 12 months idle
    assert base["pump look"]["idle"] == {"months": 12}


@pytest.mark.parametrize("task", ["impeller", "thermostat", "relief valve", "head gasket"])
def test_an_overheating_holds_until_what_heat_spoils_is_done(
    base: Table, incidents: Table, task: str
) -> None:
    # "Cooling system repair tips": gasket hardened, relief valve melted, thermostat and pump
    assert task in incidents["overheated"]["holds_until"]
    assert "overheated" in base[task]["after"]


def test_missing_vanes_are_counted_and_hunted(words: Table) -> None:
    # "Cooling system repair tips": pieces lodge in the tube, and a new impeller overheats again
    missing = words["impeller vanes"]["missing"]
    assert missing["weight"] == "stop"
    assert missing["count"] is True
    assert "water tube" in missing["follow_up"]
    assert "proved clear" in missing["lifts"]


def test_gearcase_tests_stay_at_the_printed_pressures(base: Table, parts: Table) -> None:
    # A small-outboard workshop's page on gearbox pressure tests: 10 psi, at most 1 psi lost in
    # 10 min; a parts seller's page: 12 psi, 2 min, steady
    caution = base["gearcase pressure"]["cautions"][0]
    assert "10 psi held 10 min" in caution
    assert "12 psi, 2 min" in caution
    assert "Never above 12 psi" in caution
    assert "1 psi lost at most" in parts["gearcase test"]["source"]


@pytest.mark.parametrize(
    ("word", "weight"),
    [("holds", "fine"), ("drops 1 psi at most", "watch"), ("drops more", "stop")],
)
def test_a_gearcase_that_drops_more_than_1_psi_stays_in(
    words: Table, word: str, weight: str
) -> None:
    # The same page; the weights are our design choice
    assert words["gearcase test"][word]["weight"] == weight


def test_compressions_within_a_tenth_are_even(parts: Table) -> None:
    # A forum's knowledge page: spread of 10 % at most
    assert "10 % at most" in parts["compression"]["source"]


def test_a_thermostat_opens_between_50_and_60_degrees(parts: Table) -> None:
    # A trade page: 50-60 °C; one engine: 50 °C
    assert "50-60 °C" in parts["thermostat"]["source"]


@pytest.mark.parametrize("task", ["gear oil", "engine oil"])
def test_a_salt_mooring_is_serviced_up_to_quarterly(base: Table, mooring: Table, task: str) -> None:
    # "Outboard maintenance" (club and insurer's text, Aug 2025): yearly in fresh water, up to
    # quarterly in brackish and salt; 12 / 3 = 4
    assert base[task]["limits"]["months"] == 12
    assert mooring[task]["limits"]["salt"]["months"] == 3


def test_sources_that_disagree_on_the_impeller_stand_side_by_side(base: Table) -> None:
    # 200/12 and 300/36 are its limits; 100/12 (workshop column) and 100/36 (a trade page) are named
    source = base["impeller"]["source"]
    assert "100 h/12 months" in source
    assert "100/36" in source
