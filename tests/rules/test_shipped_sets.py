"""The shipped files read without a fault, and agree with each other and with the program."""

from __future__ import annotations

import tomllib
from datetime import date

import pytest

from fleetcare.errors import Fault
from fleetcare.fleet.boats import USES
from fleetcare.fleet.settings import Settings
from fleetcare.rules.rule import Limit, RuleSet
from fleetcare.rules.sets import RuleBook, read_set
from fleetcare.rules.shipped import (
    WORD_FILES,
    all_texts,
    examples_folder,
    read_book,
    shipped_folder,
)
from fleetcare.rules.words import (
    NOT_LOOKED_AT,
    WEIGHTS,
    Condition,
    find_condition,
    read_conditions,
    read_uses,
)

SETS = ("small-petrol", "hire", "salt-mooring")


@pytest.fixture(scope="module", name="book")
def shipped_book() -> RuleBook:
    return read_book(None, set(SETS))


def test_three_sets_are_shipped_and_read_without_a_fault(book: RuleBook) -> None:
    assert set(all_texts(None)) == set(SETS) == set(book.sets)
    for name in SETS:
        found = read_set(name, all_texts(None))
        assert found == book.set_of(name)
        assert len(found.rules) >= 30 and found.basis and found.title


def test_every_file_in_the_folder_is_a_set_or_words() -> None:
    stems = {path.stem for path in shipped_folder().glob("*.toml")}
    assert stems <= {*SETS, *WORD_FILES}
    assert (examples_folder() / "ondrel" / "engines.csv").is_file()


@pytest.mark.parametrize("name", SETS)
def test_what_a_file_writes_is_what_its_rules_hold(book: RuleBook, name: str) -> None:
    # Read a second way, with the standard library's TOML reader alone.
    text, _ = all_texts(None)[name]
    for task in tomllib.loads(text)["task"]:
        rule = book.sets[name].rules[task["name"]]
        assert rule.source == task.get("source", rule.source)
        limits = task.get("limits", {})
        for at, water in enumerate(("fresh", "brackish", "salt")):
            given = limits.get(water, limits if "hours" in limits or "months" in limits
                               or "days" in limits else None)  # fmt: skip
            if given is not None:
                assert rule.limits is not None
                hours = given.get("hours")
                assert rule.limits[at] == Limit(
                    None if hours is None else round(hours * 100),
                    given.get("months"),
                    given.get("days"),
                )


def strictest_is_salt(found: RuleSet) -> list[str]:
    """Tasks whose salt limits are easier than their fresh ones."""
    easier = []
    for rule in found.rules.values():
        if rule.limits is None or rule.limits[0] is None:
            continue
        fresh, salt = rule.limits[0], rule.limits[2]
        assert salt is not None
        for key in ("hours", "months", "days"):
            in_fresh, in_salt = getattr(fresh, key), getattr(salt, key)
            if in_fresh is not None and in_salt is not None and in_salt > in_fresh:
                easier.append(f"{rule.name}: {key}")
    return easier


@pytest.mark.parametrize("name", SETS)
def test_salt_is_never_easier_than_fresh(book: RuleBook, name: str) -> None:
    assert strictest_is_salt(book.sets[name]) == []


@pytest.mark.parametrize("name", SETS)
def test_the_first_service_lies_over_the_limits_in_every_shipped_rule(
    book: RuleBook, name: str
) -> None:
    with_first = [rule for rule in book.sets[name].rules.values() if rule.first is not None]
    assert with_first
    for rule in with_first:
        assert rule.limits is not None and rule.first is not None
        for base, first in zip(rule.limits, rule.first, strict=True):
            assert first is not None and first != Limit()
            if base is not None and base.has_calendar:
                assert first.has_calendar
            if base is not None and base.hours is not None:
                assert first.hours is not None and first.hours <= base.hours


@pytest.mark.parametrize("name", ["hire", "salt-mooring"])
def test_a_special_set_never_loosens_the_base_in_salt(book: RuleBook, name: str) -> None:
    base, special = book.sets["small-petrol"].rules, book.sets[name].rules
    assert list(special) == list(base)
    for task, rule in special.items():
        before, after = base[task].limits, rule.limits
        if before is None or before[2] is None:
            continue
        assert after is not None and after[2] is not None, task
        if before[2].hours is not None and after[2].hours is not None:
            assert after[2].hours <= before[2].hours, task
        if before[2].months is not None and after[2].months is not None:
            assert after[2].months <= before[2].months, task


@pytest.mark.parametrize("name", SETS)
def test_every_name_a_rule_uses_is_known(book: RuleBook, name: str) -> None:
    for rule in book.sets[name].rules.values():
        assert set(rule.after) <= set(book.incidents), rule.name
        assert not rule.part or rule.part in book.conditions, rule.name


def test_every_follow_up_is_a_task(book: RuleBook) -> None:
    tasks = set(book.sets["small-petrol"].rules)
    for words in book.conditions.values():
        for condition in words.values():
            assert set(condition.follow_up) <= tasks, condition
    for kind in book.incidents.values():
        assert set(kind.holds_until) <= tasks, kind.name


# --- words ------------------------------------------------------------------------------------


def test_not_looked_at_is_a_word_of_every_part_and_is_not_fine(book: RuleBook) -> None:
    assert book.conditions
    for part, words in book.conditions.items():
        assert words[NOT_LOOKED_AT].weight == "watch", part
        assert words[NOT_LOOKED_AT].follow_up == ()
        assert any(condition.weight == "fine" for condition in words.values()), part
        assert all(condition.weight in WEIGHTS for condition in words.values()), part


def test_what_acts_asks_for_a_job_and_what_stops_says_what_lifts_it(book: RuleBook) -> None:
    for words in book.conditions.values():
        for condition in words.values():
            if condition.weight in ("act", "stop"):
                assert condition.follow_up, condition
            if condition.weight == "stop":
                assert condition.lifts, condition


def test_vanes_that_are_missing_are_counted_and_hold_the_engine(book: RuleBook) -> None:
    found = find_condition(book.conditions, "Impeller  Vanes", "MISSING")
    assert isinstance(found, Condition)
    assert (found.weight, found.count) == ("stop", True)
    assert "water tube" in found.follow_up


def test_a_condition_that_is_not_known_is_refused_with_the_words_there_are(
    book: RuleBook,
) -> None:
    part = find_condition(book.conditions, "impeler vanes", "set")
    assert isinstance(part, Fault)
    assert str(part) == (
        'part "impeler vanes": is not a part conditions are known for. '
        'Did you mean "impeller vanes"?'
    )
    word = find_condition(book.conditions, "swivel", "loose")
    assert isinstance(word, Fault)
    assert 'is not one of the words for "swivel". One of: free one hand, stiff, ' in str(word)
    assert str(word).endswith(", not looked at")


def test_the_uses_are_those_a_boat_can_have(book: RuleBook) -> None:
    assert set(book.uses) == set(USES)
    hours = {name: use.hours_a_year for name, use in book.uses.items()}
    # 20 hours a month: Proficiency in Survival Craft and Rescue Boats, par. 9.9.
    assert hours["hire"] == 12 * 20
    assert hours["hire"] > hours["club"] > hours["owner"] > 0


def test_a_season_lies_in_the_warm_half_of_the_year(book: RuleBook) -> None:
    # Astronomical: midsummer is 21 June in the north, 21 December in the south.
    for use in book.uses.values():
        north = use.season(Settings())
        south = use.season(Settings(hemisphere="southern"))
        assert north is not None and south is not None
        assert north[0] <= (6, 21) <= north[1]
        assert not south[1] < (12, 21) < south[0]
        for month, day in (*north, *south):
            date(2023, month, day)  # a day of every year
        assert use.season(Settings(hemisphere="tropics")) is None


def test_a_fleets_own_season_overrides_every_uses_own(book: RuleBook) -> None:
    own = Settings(hemisphere="tropics", season="04-04/10-11")
    assert {use.season(own) for use in book.uses.values()} == {((4, 4), (10, 11))}


def test_lists_are_read_without_the_words_only_details_need() -> None:
    bare = read_book(None, {"hire", "no such set"}, words=False)
    assert set(bare.sets) == {"hire"}
    assert set(bare.uses) == set(USES)
    assert (bare.conditions, bare.incidents) == ({}, {})


def test_faults_of_the_words_are_told_with_their_place() -> None:
    uses = read_uses(
        {"use": {"hire": {"hours_a_year": 0, "season": {"northern": {"from": "02-30"}}}}}, "u.toml"
    )
    assert isinstance(uses, list)
    assert [str(fault) for fault in uses] == [
        'u.toml: use "hire": season.northern: takes from and to, MM-DD',
        'u.toml: use "hire": hours_a_year: takes a whole number',
    ]
    parts = read_conditions(
        {"part": {"swivel": {"conditions": [{"word": "stiff", "weight": "bad"}]}}}, "c.toml"
    )
    assert isinstance(parts, list)
    assert str(parts[0]) == (
        'c.toml: part "swivel": "stiff": weight is one of fine, watch, act, stop'
    )
