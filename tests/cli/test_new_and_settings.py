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


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Desk, "is_terminal", lambda self: True)


@pytest.mark.usefixtures("asked")
def test_on_a_terminal_it_asks_for_what_was_not_given(fleet: Path) -> None:
    said = fleetcare("new", "--rules", "hire", stdin="southern\n\n")
    assert "Hemisphere" in said.out
    assert "Rule set" not in said.out
    assert dict(written(fleet)["setting"])["hemisphere"] == "southern"
    assert "fleetcare boat add" in said.err


# Settings; Lapwing with Plover; Dunlin, its engine named by Enter, without a meter; Reed with none.
BOATS = "\n".join([
    "northern", "small-petrol",
    "Lapwing", "hire", "fresh", "Plover", "6", "250.5",
    "Dunlin", "", "salt", "", "", "",
    "Reed", "owner", "", "-",
    "", "",
])  # fmt: skip


@pytest.mark.usefixtures("asked")
def test_on_a_terminal_it_asks_for_boats_their_use_water_and_engine(fleet: Path) -> None:
    said = fleetcare("new", stdin=BOATS)
    boats = [item[1:4] for item in written(fleet)["boat"]]
    assert boats == [("Lapwing", "hire", 0), ("Dunlin", "hire", 2), ("Reed", "owner", 2)]
    engines = fleetcare("engine", "list").out
    assert "Plover  Lapwing" in engines
    assert "Dunlin  Dunlin" in engines  # Enter takes the boat's name, and no meter
    assert "no meter" in engines
    assert "Reed" not in engines  # - for none
    assert said.out.count("added boat ") == 3
    assert said.out.count("added engine ") == 2


@pytest.mark.usefixtures("asked")
def test_it_says_in_words_what_each_use_assumes_and_what_a_wrong_one_costs(fleet: Path) -> None:
    words = " ".join(fleetcare("new", stdin=BOATS, code=0).out.split())
    # hours a year: intervals/uses.toml
    for text in ("hire: about 240 hours a year, 1 Apr to 31 Oct", "club: about 100 hours a year",
                 "owner: about 35 hours a year"):  # fmt: skip
        assert words.count(text) == 1
    assert "a wrong one halves how often the dates of the first season hold" in words


@pytest.mark.usefixtures("asked")
def test_a_boat_or_figure_that_cannot_be_is_asked_for_again(fleet: Path) -> None:
    answers = (
        "northern\nsmall-petrol\nTeal\nfishing\nhire\nsalt\nSmew\nsix\n1\n6\n10\n"
        "teal\nhire\nsalt\n-\n\n"
    )
    said = fleetcare("new", stdin=answers)
    assert "takes a number" in said.err
    assert "exists already" in said.err
    assert [item[1] for item in written(fleet)["boat"]] == ["Teal"]
    assert [item[1] for item in written(fleet)["engine"]] == ["Smew"]


@pytest.mark.usefixtures("asked")
def test_boats_added_before_an_interruption_are_kept(fleet: Path) -> None:
    fleetcare("new", stdin="northern\nsmall-petrol\nTeal\nhire\nsalt\n-\nSmew\nhire\n", code=130)
    assert [item[1] for item in written(fleet)["boat"]] == ["Teal"]


def test_a_script_names_its_boats_and_is_told_what_was_assumed(fleet: Path) -> None:
    said = fleetcare(
        "new", "--boat", "Lapwing,club,Fresh", "--boat", "Teal", "--boat", "Reed,owner"
    )
    assert said.lines[1:] == [
        "added boat Lapwing: club, fresh water",
        "added boat Teal: hire, salt water (use and water assumed)",
        "added boat Reed: owner, salt water (water assumed)",
    ]
    assert "Assumed hire: about 240 hours a year, 1 Apr to 31 Oct." in said.err
    assert [item[1:4] for item in written(fleet)["boat"]] == [
        ("Lapwing", "club", 0), ("Teal", "hire", 2), ("Reed", "owner", 2),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("--boat", "Teal,hir"), 'no use "hir". Did you mean "hire"?'),
        (("--boat", "Teal,hire,see"), 'no water "see". There are fresh, brackish, salt.'),
        (("--boat", ",hire"), "--boat takes NAME,USE,WATER"),
        (("--boat", "Teal,hire,salt,x"), "--boat takes NAME,USE,WATER"),
        (("--boat", "Teal", "--boat", "teal,club"), 'boat "teal" is given twice'),
        (("--boat", "x" * 81), "is longer than 80 characters"),
    ],
)
def test_a_wrong_boat_makes_no_file(fleet: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(fleet, "new", *words))
    assert not fleet.exists()


def test_a_boat_added_without_a_use_says_which_was_assumed(small: Path) -> None:
    said = fleetcare("boat", "add", "Reed", "--water", "fresh")
    assert said.out == (
        "added boat Reed: hire (assumed: --use hire, club or owner says it), fresh water\n"
    )
    assert said.err == "Assumed hire: about 240 hours a year, 1 Apr to 31 Oct.\n"


@pytest.mark.usefixtures("asked")
def test_a_boat_added_on_a_terminal_is_asked_for_its_use(small: Path) -> None:
    said = fleetcare("boat", "add", "Reed", "--water", "fresh", stdin="club\n")
    assert "owner: about 35 hours a year" in said.out
    assert said.lines[-1] == "added boat Reed: club, fresh water"


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
    assert "the rule set of engines that name none" in " ".join(said.split())
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
