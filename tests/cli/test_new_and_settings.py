"""A fleet file is made, and what holds for the whole fleet is set."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcare.cli.context import Desk
from tests.cli.typed import fleetcare, one_line, refused, written


def test_a_script_gets_the_defaults_and_is_told_them(fleet: Path) -> None:
    said = fleetcare("new")
    assert said.out == f"new fleet at {fleet}: hemisphere northern, rules small-petrol\n"
    assert "fleetcare boat add" in said.err


def test_what_is_given_is_kept(fleet: Path) -> None:
    fleetcare(
        "new", "--hemisphere", "southern", "--rules", "hire", "--season", "10-01/04-30",
        "--fuel-unit", "US gallons", "--by", "jetty",
    )  # fmt: skip
    kept = dict(written(fleet)["setting"])
    assert len(kept.pop("fleet_id")) == 36
    assert kept == {
        "hemisphere": "southern", "rules": "hire", "season": "10-01/04-30",
        "fuel_unit": "US gallons", "by": "jetty",
    }  # fmt: skip


def test_two_fleets_have_different_ids(tmp_path: Path) -> None:
    ids = set()
    for name in ("a.db", "b.db"):
        fleetcare("new", "--fleet", tmp_path / name)
        ids.add(dict(written(tmp_path / name)["setting"])["fleet_id"])
    assert len(ids) == 2


def test_on_a_terminal_it_asks_for_what_was_not_given(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)
    said = fleetcare("new", "--rules", "hire", stdin="southern\n")
    assert "Hemisphere" in said.out
    assert "Rule set" not in said.out
    assert dict(written(fleet)["setting"])["hemisphere"] == "southern"


def test_a_fleet_that_is_there_is_left_alone(small: Path) -> None:
    assert "exists already" in one_line(refused(small, "new"))


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--rules", "hirr"), 'no rule set "hirr". Did you mean "hire"?'),
        (("--season", "13-01/10-11"), "first and last day"),
    ],
)
def test_a_wrong_value_makes_no_file(fleet: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(fleet, "new", *words))
    assert not fleet.exists()


def test_settings_are_shown_with_what_they_mean(small: Path) -> None:
    said = fleetcare("settings").out
    assert "small-petrol" in said
    assert "the rule set of engines that name none" in said
    assert fleetcare("settings", "season").out.count("\n") == 4  # heading, rule, two lines


def test_a_setting_is_set_and_shown(small: Path) -> None:
    assert fleetcare("settings", "season", "04-04/10-11").out == "season = 04-04/10-11\n"
    assert "04-04/10-11" in fleetcare("settings", "season").out


def test_a_dry_run_sets_nothing(small: Path) -> None:
    before = written(small)
    assert fleetcare("settings", "by", "jetty", "-n").out == "would set by = jetty\n"
    assert written(small) == before


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("seson", "x"), 'setting "seson" is not a setting. Did you mean "season"?'),
        (("seson",), 'Did you mean "season"?'),
        (("zzz",), "There are rules, rules_folder, hemisphere"),
        (("hemisphere", "north"), "takes northern, southern or tropics"),
        (("rules", "hir"), 'Did you mean "hire"?'),
        (("season", "02-29/10-01"), "MM-DD/MM-DD"),
    ],
)
def test_a_wrong_setting_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "settings", *words))
