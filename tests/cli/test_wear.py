"""fleetcare wear, typed: the list, one job, the files it writes and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from fleetcare.cli.context import Desk
from fleetcare.rules.sets import read_set
from fleetcare.rules.shipped import all_texts
from tests.cli.typed import TODAY, fleetcare, one_line, refused, rows, widest


@pytest.fixture
def cracked(small: Path) -> Path:
    """Plover's impeller, new at 250 h in March, found cracked at 340."""
    fleetcare("done", "Plover", "impeller", "--found", "cracked", "--reading", 340,
              "--on", "2026-06-01")  # fmt: skip
    return small


def test_nothing_found_yet_says_so_and_how(small: Path) -> None:
    said = fleetcare("wear").out
    assert said.startswith("Nothing was found yet")
    assert "--found CONDITION" in said
    assert rows("wear") == []


def test_the_list_of_the_hire_fleet_fits_80_columns_and_40(
    ondrel: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = fleetcare("wear", "--as-of", TODAY)
    assert said.lines[0].startswith("Job ")
    assert widest(said.lines) <= 80
    assert "have too few findings (--all shows them)" in said.out
    monkeypatch.setattr(Desk, "width", lambda self: 40)
    assert widest(fleetcare("wear", "--as-of", TODAY).lines) <= 40
    assert widest(fleetcare("wear", "impeller", "--as-of", TODAY).lines) <= 40


def test_a_list_and_json_say_the_same(ondrel: Path) -> None:
    table = fleetcare("wear", "--as-of", TODAY, "--water", "fresh").out
    found = rows("wear", "--as-of", TODAY, "--water", "fresh")
    assert {row["water"] for row in found} == {"fresh"}
    for row in found:
        if row["verdict"] != "too few findings":
            assert row["task"].split()[0] in table
    assert fleetcare("wear", "--as-of", TODAY, "--format", "csv").lines[0].startswith("task,part")


def test_one_job_is_told_in_full_with_its_curve(cracked: Path) -> None:
    said = " ".join(fleetcare("wear", "impeller").out.split())
    assert "1 finding of impeller vanes, each of a life of its own: 0 fine, 1 worn out." in said
    assert "150 h, not 300 h" in said
    assert "Plover: cracked at 90 h, worn out; not looked at before" in said
    out = json.loads(fleetcare("wear", "impeller", "--format", "json").out)
    (row,) = out["rows"]
    assert (row["findings"], row["worn"], row["shorter_limit"]) == (1, 1, 150.0)
    assert row["curve"][0] == {"age": 0.0, "low": 1.0, "good": 1.0, "high": 1.0}
    assert out["rates_are_judgement"] is True


def test_rates_and_costs_may_be_given(cracked: Path) -> None:
    typed = ("--planned-cost", 60, "--failure-cost", 600)
    (row,) = rows("wear", "impeller", *typed)
    assert (row["planned_cost"], row["failure_cost"]) == (60, 600)
    out = json.loads(
        fleetcare("wear", "--hourly-rate", 60, "--boat-day", 0, "--format", "json").out
    )
    assert (out["rates_are_judgement"], out["rows"][0]["planned_cost"]) == (False, 95.0)


def test_the_curve_is_drawn_into_a_file(cracked: Path) -> None:
    said = fleetcare("wear", "impeller", "--svg", "impeller.svg")
    assert said.err == "wrote impeller.svg\n"
    drawn = Path("impeller.svg").read_bytes()
    ElementTree.fromstring(drawn)
    fleetcare("wear", "impeller", "--svg", "again.svg")
    assert Path("again.svg").read_bytes() == drawn


def test_the_shorter_limits_are_written_as_a_rule_set_of_ones_own(cracked: Path) -> None:
    said = fleetcare("wear", "--write", "ours.toml")
    assert said.lines[-1] == "wrote ours.toml: 1 shorter limits over small-petrol"
    text = Path("ours.toml").read_text("utf-8")
    ours = read_set("ours", {**all_texts(None), "ours": (text, "ours.toml")})
    fresh = (ours.rules["impeller"].limits or (None,))[0]
    assert fresh is not None and fresh.hours == 15_000
    assert "1 worn out" in ours.rules["impeller"].source
    assert fleetcare("rules", "test", "ours.toml").lines[0].startswith("ours.toml is good")


def test_a_file_that_is_there_is_never_written_over(cracked: Path) -> None:
    Path("ours.toml").write_text("mine", encoding="utf-8")
    assert "is there already" in one_line(refused(cracked, "wear", "--write", "ours.toml"))
    assert Path("ours.toml").read_text("utf-8") == "mine"


def test_nothing_shorter_writes_nothing(ondrel: Path) -> None:
    said = fleetcare("wear", "--as-of", TODAY, "--write", "ours.toml")
    assert said.lines[-1] == "No limit needs to be shorter; ours.toml was not written."
    assert not Path("ours.toml").exists()


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("impellr",), 'Did you mean "impeller" or'),
        (("pump look",), "has no limit that a part's life is held against"),
        (("flush",), "has no limit that a part's life is held against"),
        (("--svg", "x.svg"), "of which job?"),
        (("--failure-cost", "9"), "of which job?"),
        (("--write", "ours.txt"), "must end in .toml"),
        (("--write", "hire.toml"), "is a shipped rule set"),
        (("--write", "a  b.toml"), "cannot be called"),
    ],
)
def test_what_makes_no_sense_is_refused(small: Path, words: tuple[str, ...], hint: str) -> None:
    assert hint in one_line(refused(small, "wear", *words))


def test_every_fine_finding_is_told_when_asked(ondrel: Path) -> None:
    short = fleetcare("wear", "impeller", "--as-of", TODAY).out
    whole = fleetcare("wear", "impeller", "--as-of", TODAY, "--all").out
    assert "more were fine, younger" in short
    assert len(whole) > len(short)
    assert "younger" not in whole
