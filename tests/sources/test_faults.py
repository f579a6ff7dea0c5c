"""Causes and tests of faults.toml as plain data: sources, names, and figures from outside.

Every share and chance there is a judgement; what a source says is which tests there are, in which
order, and what they point at."""

import tomllib
from decimal import Decimal
from typing import Any

import pytest

from tests.sources.conftest import INTERVALS

Table = dict[str, Any]

FAULTS: Table = tomllib.loads((INTERVALS / "faults.toml").read_text("utf-8"), parse_float=Decimal)
SYMPTOMS: Table = FAULTS["symptom"]
LOOKS = [(name, look) for name, symptom in SYMPTOMS.items() for look in symptom["look"]]
CAUSES = [(name, cause) for name, symptom in SYMPTOMS.items() for cause in symptom["cause"]]

MARKS = ("our judgement", "our design choice", "common practice, no source", "from memory")
# Printed works by the words the file uses for them; intervals/README.md gives each in full
WORKS = (
    "Proficiency in Survival Craft and Rescue Boats",
    "AMSA Marine Notice 12/2017",
    "NIOSH, CO Dangers in Boating",
    "Marine Safety Victoria",
    "USCG Boating Safety Circular 85",
    "Marine Rescue NSW",
    "Yachting Monthly",
    "Boating NZ",
    "Cooling system repair tips",
    "workshop column, Texas saltwater magazine",
    "forum's knowledge page",
    "mechanics' forum threads",
    "a maker's handbook",
    "trade pages",
    "a water-circulation page for small two-strokes",
)


def test_there_are_the_two_symptoms_and_each_has_what_a_trace_needs() -> None:
    assert set(SYMPTOMS) == {"overheating", "stiff-steering"}
    for symptom in SYMPTOMS.values():
        assert symptom["first"] and symptom["other"] > 0


def test_every_cause_test_and_caution_has_a_source_or_says_that_it_has_none() -> None:
    rows = [("cautions", FAULTS["cautions"]), ("record", FAULTS["record"]), *SYMPTOMS.items()]
    rows += [(cause["name"], cause) for _, cause in CAUSES]
    rows += [(look["name"], look) for _, look in LOOKS]
    for name, row in rows:
        assert any(words in row["source"] for words in (*MARKS, *WORKS)), name
        for piece in row["source"].split("; "):
            assert any(words in piece for words in (*MARKS, *WORKS)), (name, piece)


def test_every_share_and_every_chance_says_that_it_is_a_judgement() -> None:
    for _, cause in CAUSES:
        assert "our judgement" in cause["source"], cause["name"]
    for _, look in LOOKS:
        assert "our judgement" in look["source"], look["name"]
    assert "our judgement" in FAULTS["record"]["source"]


@pytest.mark.parametrize(("symptom", "count"), [("overheating", 10), ("stiff-steering", 5)])
def test_the_shares_add_up_to_100_and_other_stands_beside_them(symptom: str, count: int) -> None:
    causes = SYMPTOMS[symptom]["cause"]
    assert len(causes) == count
    assert sum(cause["share"] for cause in causes) == 100


def test_every_row_of_chances_adds_up_to_100_and_rules_nothing_out() -> None:
    for _, look in LOOKS:
        for row in (look["usual"], *look.get("given", {}).values()):
            assert sum(row) == 100 and min(row) >= 1, look["name"]
            assert len(row) == len(look["outcomes"]), look["name"]


def test_every_condition_and_incident_is_one_the_log_takes(
    words: dict[str, Table], incidents: Table
) -> None:
    for _, look in LOOKS:
        for outcome in look["outcomes"]:
            if "found" in outcome:
                part, word = outcome["found"]
                assert word in words[part], (look["name"], outcome["word"])
            assert outcome.get("incident", "overheated") in incidents, look["name"]
    for _, cause in CAUSES:
        for item in cause.get("raised", ()):
            for word in item.get("conditions", ()):
                assert word in words[item["finding"]], cause["name"]
            assert item.get("incident", "overheated") in incidents, cause["name"]


def test_every_job_and_access_step_is_in_the_rules(base: Table, access: Table) -> None:
    for _, cause in CAUSES:
        jobs = [*cause.get("jobs", ()), *cause.get("remedy", ()), *cause.get("needs", ())]
        for item in cause.get("raised", ()):
            jobs += [*item.get("until", ()), *([item["job"]] if "job" in item else [])]
        assert set(jobs) <= set(base), cause["name"]
    for _, look in LOOKS:
        assert set(look.get("access", ())) <= set(access), look["name"]
        assert set(look.get("needs", ())) <= set(base), look["name"]


def test_what_cannot_be_put_right_ashore_says_who_must() -> None:
    for name in ("head cover", "strip"):
        assert next(look for _, look in LOOKS if look["name"] == name)["who"] == "workshop"


def test_a_stop_is_a_whole_sentence_and_says_what_to_do() -> None:
    stops = [outcome for _, look in LOOKS for outcome in look["outcomes"] if "stop" in outcome]
    assert len(stops) == 8
    for outcome in stops:
        assert outcome["stop"].endswith(".") and len(outcome["stop"]) > 40, outcome["word"]


def test_a_pump_is_ruined_in_30_seconds_dry() -> None:
    # "Cooling system repair tips": 30 s or less
    tell_tale = next(look for _, look in LOOKS if look["name"] == "tell-tale")
    none = next(item for item in tell_tale["outcomes"] if item["word"] == "none")
    assert "30 seconds" in none["stop"]
    tank = next(look for _, look in LOOKS if look["name"] == "tank run")
    assert "15 seconds" in tank["cautions"][0] and "30 seconds" in tank["cautions"][0]


def test_a_thermostat_opens_at_50_to_60_degrees() -> None:
    # A trade page: 50-60 °C; 50 °C on one engine
    thermostat = next(look for _, look in LOOKS if look["name"] == "thermostat")
    assert "50-60 °C" in thermostat["asks"]


def test_compressions_differ_by_10_per_cent_at_most() -> None:
    # A forum's knowledge page on compression
    compression = next(look for _, look in LOOKS if look["name"] == "compression")
    assert "10 %" in compression["asks"]


def test_salt_in_the_block_shows_from_the_fifth_year_on() -> None:
    # Workshop column, Texas saltwater magazine: engines of 5 to 7 years
    cause = next(cause for _, cause in CAUSES if cause["name"] == "salted passages")
    assert {"years": 5, "factor": Decimal("1.5")} in cause["raised"]


def test_six_idle_months_weigh_on_the_swivel_and_twelve_on_the_pump() -> None:
    # Marine Rescue NSW, "Give your boat its annual checkup": jammed after 6 months idle;
    # "Cooling system repair tips": a look at the pump after 12
    months = {
        cause["name"]: item["idle_months"]
        for _, cause in CAUSES
        for item in cause.get("raised", ())
        if "idle_months" in item
    }
    assert months["corroded swivel"] == 6
    assert months["worn pump"] == 12
