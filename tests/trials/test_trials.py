"""The command that runs the trials: its table, its exit code, and a little of many hands."""

from __future__ import annotations

import importlib
import inspect
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.small_file import add, make, reads
from tests.trials import __main__ as trials
from tests.trials.trial_many_hands import Crew, Tally, lost_and_wrong, work

ROOT = Path(__file__).parent.parent.parent
GOOD = {"name": "one", "load": "2 hands", "faults": 3, "acknowledged": 40, "lost": 0, "wrong": 0,
        "ratio": 1.26}  # fmt: skip


@pytest.fixture
def only(monkeypatch: pytest.MonkeyPatch) -> list[trials.Row]:
    """The rows of the only trial there is."""
    rows: list[trials.Row] = []
    monkeypatch.setattr(trials, "names", lambda: ["one"])
    monkeypatch.setattr(trials, "rows_of", lambda name, full, minutes: rows)
    return rows


@pytest.mark.parametrize(
    ("row", "code"), [({}, 0), ({"lost": 1}, 1), ({"wrong": 2}, 1), ({"ratio": None}, 0)]
)
def test_the_exit_code_says_whether_anything_was_lost_or_wrong(
    only: list[trials.Row], row: trials.Row, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    only.append({**GOOD, **row})
    assert trials.main([]) == code
    head, line = capsys.readouterr().out.splitlines()
    assert head.split() == list(trials.HEAD)
    assert line.split()[:2] == ["one", "2"]
    assert line.endswith("1.3") == ("ratio" not in row)


def test_a_trial_that_breaks_off_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(full: bool) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("tests.trials.trial_flips.run", breaks)
    assert trials.rows_of("flips", False, None)[0]["wrong"] == 1


def test_every_trial_is_found_and_an_unknown_one_is_told() -> None:
    assert {"faults", "flips", "full_disk", "many_hands", "tables"} <= set(trials.names())
    for name in trials.names():
        run = importlib.import_module(f"tests.trials.trial_{name}").run
        assert next(iter(inspect.signature(run).parameters)) == "full", name
    done = subprocess.run(
        [sys.executable, "-m", "tests.trials", "regatta"], cwd=ROOT, capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "no trial regatta; there are " in done.stderr


def test_a_few_hands_at_once_lose_nothing() -> None:
    found = work(60, hands=2, commands=8, kills=False)
    assert (found["lost"], found["wrong"], found["faults"]) == (0, 0, 0), found
    assert found["acknowledged"] > 3
    assert found["load"].startswith("2 programs, 16 commands ")


def test_what_hands_were_promised_and_is_not_there_is_counted_as_lost(tmp_path: Path) -> None:
    path = tmp_path / "fleet.db"
    with make(path) as file:
        add(file, reads(2, 101), reads(3, 102))
    crew = Crew(path, 0)
    told = {"word": "reading", "code": 0, "took": 0.1, "wrong": "", "notes": []}
    crew.tally = Tally([{**told, "numbers": [1]}, {**told, "numbers": [2]}])
    assert lost_and_wrong(path, crew) == ([], [])
    crew.tally.commands.append({**told, "numbers": [3], "notes": ["hand 1"]})
    assert lost_and_wrong(path, crew)[0] == [
        "entry 3, a reading, is not there", '"hand 1" is there 0 times'
    ]  # fmt: skip
    crew.tally.commands[-1] = {**told, "numbers": [2], "took": 21.0, "wrong": "stale"}
    lost, wrong = lost_and_wrong(path, crew)
    assert lost == ["one number was told to two commands"]
    assert wrong == ["stale", "reading took 21.0 s"]
