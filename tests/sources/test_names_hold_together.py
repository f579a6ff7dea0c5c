"""Every name one file uses exists where it should, and every entry says where it comes from.

The shape of the files is the project's own; what is checked here is that they agree."""

from typing import Any

import pytest

Table = dict[str, Any]

# fmt: off
KEYS = {
    "name", "title", "component", "only", "part", "limits", "first", "mixing", "restarts",
    "leads_to", "chain", "access", "minutes", "who", "parts", "cautions", "source", "each_run",
    "misses", "after", "idle", "season", "soon_again", "unseen",
}
COMPONENTS = {
    "powerhead", "mid-section", "gearcase", "carburettor", "ignition", "fuel pump",
    "lower cowling",
}
# fmt: on
WATERS = {"fresh", "brackish", "salt"}
SETS = ["small-petrol", "hire", "salt-mooring"]
PRECURSORS = {"overheating", "seized swivel"}
# Marks of an entry that has no published source
MARKS = ("common practice, no source", "our design choice", "from memory")
# Printed works by the words the files use for them; README.md gives each in full
WORKS = (
    "Proficiency in Survival Craft and Rescue Boats",
    "US Army TM 55-1930-209-14&P-17",
    "AMSA Marine Notice 12/2017",
    "USCG",
    "NIOSH",
    "Marine Safety Victoria",
    "ANZ Safe Boating Education Group",
    "Marine Rescue NSW",
    "Transport Safety Victoria",
    "46 USC 4312",
    "New York Sea Grant",
    "ABYC",
    "California ARB",
    "Yachting Monthly",
    "Boating NZ",
    "Outboard maintenance (club text, 2025)",
    "Cooling system repair tips",
    "workshop column, Texas saltwater magazine",
    "small-outboard workshop page on gearbox pressure tests",
    "forum's knowledge page",
    "mechanics' forum threads",
    "sailing club's lay-up text",
    "a maker's schedule",
    "makers' schedules",
    "a maker's handbook",
)


def _sourced(entry: Table) -> bool:
    source = entry.get("source", "")
    return any(words in source for words in (*MARKS, *WORKS))


def _water_limits(limits: Table) -> list[Table]:
    return [limits[water] for water in limits] if WATERS & set(limits) else [limits]


@pytest.mark.parametrize("name", SETS)
def test_a_set_is_named_as_its_file(files: Table, name: str) -> None:
    assert files[name]["set"]["name"] == name
    assert set(files[name]["set"]) == {"name", "title", "extends", "basis"}
    assert files[name]["set"]["extends"] == ("" if name == "small-petrol" else "small-petrol")


@pytest.mark.parametrize("name", SETS)
def test_every_task_stands_once_and_has_a_source(files: Table, name: str) -> None:
    names = [task["name"] for task in files[name]["task"]]
    assert len(names) == len(set(names))
    for task in files[name]["task"]:
        assert set(task) <= KEYS, task["name"]
        assert _sourced(task), task["name"]


@pytest.mark.parametrize("name", ["hire", "salt-mooring"])
def test_an_extending_set_only_overlays_tasks_that_exist(
    files: Table, base: Table, name: str
) -> None:
    assert {task["name"] for task in files[name]["task"]} <= set(base)


def test_every_task_of_the_base_is_whole(base: Table) -> None:
    for name, task in base.items():
        assert {"title", "component", "leads_to", "minutes", "who", "source"} <= set(task), name
        assert task["component"] in COMPONENTS, name
        assert task["who"] in {"anyone", "trained", "workshop"}, name
        assert task["minutes"] > 0, name
        assert task["leads_to"], name
        assert task.get("season", "launch") in {"lay-up", "launch"}, name
        assert set(task.get("each_run", ())) <= WATERS, name
        assert "first" not in task or "limits" in task, name


def test_every_component_has_a_task(base: Table) -> None:
    assert {task["component"] for task in base.values()} == COMPONENTS


@pytest.mark.parametrize("name", SETS)
def test_limits_have_hours_and_one_of_months_or_days(files: Table, name: str) -> None:
    for task in files[name]["task"]:
        pairs = [*_water_limits(task.get("limits", {"hours": 1})), task.get("first", {"hours": 1})]
        for pair in pairs:
            assert set(pair) in (
                {"hours"},
                {"months"},
                {"days"},
                {"hours", "months"},
                {"hours", "days"},
            ), task["name"]
            assert all(type(value) is int and value > 0 for value in pair.values()), task["name"]


@pytest.mark.parametrize("name", SETS)
def test_what_is_limited_in_fresh_water_is_limited_in_salt(files: Table, name: str) -> None:
    for task in files[name]["task"]:
        limits = task.get("limits", {})
        if {"fresh", "brackish"} & set(limits):
            assert "salt" in limits, task["name"]


def test_salt_is_never_laxer_than_fresh(base: Table) -> None:
    for name, task in base.items():
        limits = task.get("limits", {})
        if "fresh" in limits:
            fresh, salt = _days_and_hours(limits["fresh"]), _days_and_hours(limits["salt"])
            assert salt[0] <= fresh[0] and salt[1] <= fresh[1], name


def _days_and_hours(pair: Table) -> tuple[float, float]:
    days = pair.get("days", pair.get("months", float("inf")) * 30)
    return days, pair.get("hours", float("inf"))


def test_every_precursor_has_its_chain(base: Table) -> None:
    precursors = {name for name, task in base.items() if PRECURSORS & set(task["leads_to"])}
    assert {
        "impeller",
        "pump look",
        "pump housing",
        "water tube",
        "thermostat",
        "flush",
        "relief valve",
        "passages",
        "swivel grease",
        "anodes",
    } <= precursors
    for name in precursors:
        chain = base[name]["chain"]
        assert "\n" not in chain and len(chain) <= 120, name


def test_what_a_job_restarts_is_a_task(base: Table) -> None:
    for name, task in base.items():
        assert set(task.get("restarts", ())) <= set(base) - {name}, name


def test_an_impeller_job_restarts_what_is_done_with_it(base: Table) -> None:
    # With the leg off for the impeller: housing, tube and splines. Common practice, no source.
    assert {"pump housing", "water tube", "splines"} <= set(base["impeller"]["restarts"])


def test_every_access_step_a_task_needs_is_described(base: Table, access: Table) -> None:
    for name, task in base.items():
        assert set(task.get("access", ())) <= set(access), name
    for name, step in access.items():
        assert set(step) <= {"minutes", "includes", "consumes", "cautions", "source"}, name
        assert set(step.get("includes", ())) <= set(access) - {name}, name
        assert step["minutes"] > 0 and _sourced(step), name


def test_access_minutes_are_those_of_small_engines(access: Table) -> None:
    # All common practice, no source
    assert {name: step["minutes"] for name, step in access.items()} == {
        "cowl off": 2,
        "plugs out": 5,
        "propeller off": 10,
        "gearcase drained": 15,
        "leg off": 25,
        "pump open": 10,
        "thermostat cover off": 15,
        "head cover off": 90,
        "powerhead off": 180,
        "motor off the transom": 10,
        "tilted up": 1,
        "swivel stripped": 240,
    }


def test_a_pump_job_takes_45_to_75_minutes(base: Table, access: Table) -> None:
    # Small outboards, access included: common practice, no source.
    # A dealer's quote for 100 hp is 1.5 h, a cost page's range 1.5-2.5 h.
    task = base["impeller"]
    total = task["minutes"] + sum(access[step]["minutes"] for step in task["access"])
    assert 45 <= total <= 75


def test_powerhead_and_swivel_bring_the_steps_below_them(access: Table) -> None:
    assert "leg off" in access["powerhead off"]["includes"]
    assert "powerhead off" in access["swivel stripped"]["includes"]


def test_parts_of_tasks_have_their_words_and_one_component(base: Table, parts: Table) -> None:
    components: dict[str, set[str]] = {}
    for task in base.values():
        if "part" in task:
            components.setdefault(task["part"], set()).add(task["component"])
    assert set(components) == set(parts)
    assert all(len(found) == 1 for found in components.values())


def test_every_condition_is_weighed_and_sourced(parts: Table, base: Table) -> None:
    for part, table in parts.items():
        words = [entry["word"] for entry in table["conditions"]]
        assert len(words) == len(set(words)) and "not looked at" not in words, part
        assert "fine" in {entry["weight"] for entry in table["conditions"]}, part
        for entry in table["conditions"]:
            assert entry["word"] == entry["word"].lower()
            assert set(entry) <= {
                "word", "weight", "follow_up", "count", "lifts", "source", "proof", "again",
                "undone",
            }  # fmt: skip
            assert entry["weight"] in {"fine", "watch", "act", "stop"}
            assert _sourced(entry) or _sourced(table), part
            assert set(entry.get("follow_up", ())) <= set(base), (part, entry["word"])
        assert set(table.get("twice", {}).get("follow_up", ())) <= set(base), part


def test_every_proof_is_a_finding_of_a_part_whose_job_is_asked_for(
    parts: Table, base: Table
) -> None:
    """Else a hold could wait for what no follow-up brings."""
    words = {
        (part, entry["word"]): entry for part, table in parts.items()
        for entry in table["conditions"]
    }  # fmt: skip
    for (part, word), entry in words.items():
        for group in entry.get("proof", ()):
            assert entry["weight"] == "stop", (part, word)
            proofs = [tuple(item.split(": ")) for item in group]
            asked = {base[task]["part"] for task in entry["follow_up"] if "part" in base[task]}
            for proof in proofs:
                assert words[proof]["weight"] in ("fine", "watch") or words[proof].get("count")
                assert proof[0] in asked, (part, word)


def test_what_acts_asks_for_a_job_and_what_stops_says_what_lifts_it(parts: Table) -> None:
    for part, table in parts.items():
        for entry in table["conditions"]:
            where = (part, entry["word"])
            assert bool(entry.get("follow_up")) == (entry["weight"] in {"act", "stop"}), where
            assert ("lifts" in entry) == (entry["weight"] == "stop"), where


def test_the_weights_say_they_are_ours(parts: Table) -> None:
    for part, table in parts.items():
        assert "weights: our design choice" in table["source"], part


def test_every_task_has_a_trigger(base: Table) -> None:
    for name, task in base.items():
        assert {"limits", "each_run", "after", "idle", "season"} & set(task), name


def test_a_workshops_repair_is_asked_for_by_a_finding_too(base: Table, parts: Table) -> None:
    asked = {
        name
        for table in parts.values()
        for entry in table["conditions"]
        for name in entry.get("follow_up", ())
    }
    assert {"descale", "head gasket", "swivel strip", "gearcase strip"} <= asked


def test_incidents_and_tasks_name_each_other(base: Table, incidents: Table) -> None:
    named = {kind for task in base.values() for kind in task.get("after", ())}
    assert named == set(incidents)
    for kind, incident in incidents.items():
        assert set(incident) == {"title", "holds_until", "caution", "source"}, kind
        assert _sourced(incident), kind
        for task in incident["holds_until"]:
            assert kind in base[task]["after"], (kind, task)


def test_every_use_is_whole_and_sourced(uses: Table) -> None:
    assert set(uses) == {"hire", "club", "owner"}
    for name, use in uses.items():
        assert set(use) == {"title", "hours_a_year", "season", "weekday", "source"}, name
        assert set(use["season"]) == {"northern", "southern"}, name
        assert _sourced(use), name


def test_prices_say_they_are_examples(base: Table) -> None:
    for name, task in base.items():
        if any("price" in part for part in task.get("parts", ())):
            assert "price: an example" in task["source"], name
