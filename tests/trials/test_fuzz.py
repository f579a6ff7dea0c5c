"""The fuzzing of readers finds what is planted, and never passes because it could not run."""

from __future__ import annotations

import importlib.util
from typing import Any

import pytest

from tests.trials import trial_fuzz
from tests.trials.__main__ import main

needs_atheris = pytest.mark.skipif(
    importlib.util.find_spec("atheris") is None, reason="atheris is not installed"
)


def test_without_the_fuzzer_the_trial_breaks_off(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "atheris" else found(name)
    )
    (row,) = trial_fuzz.run(full=False)
    assert (row["wrong"], "atheris is not installed" in row["load"]) == (1, True)
    assert main(["fuzz"]) == 1
    assert "broke off: atheris is not installed" in capsys.readouterr().out


def test_a_reader_that_does_not_start_is_wrong(capfd: pytest.CaptureFixture[str]) -> None:
    row = trial_fuzz.fuzzed("nosuch", 5)
    assert (row["wrong"], row["acknowledged"], row["faults"]) == (1, 0, 0)
    assert "fuzz: nosuch: ended with" in capfd.readouterr().err


@needs_atheris
def test_a_planted_fault_behind_three_branches_is_found(capfd: pytest.CaptureFixture[str]) -> None:
    row: dict[str, Any] = trial_fuzz.fuzzed("planted", 200_000)
    assert row["wrong"] == 1
    said = capfd.readouterr().err
    assert "ZeroDivisionError" in said
    assert "b'oar" in said


@needs_atheris
@pytest.mark.parametrize("name", ["rules", "lines"])
def test_a_reader_bears_a_few_inputs(name: str) -> None:
    row = trial_fuzz.fuzzed(name, 300)
    assert row["wrong"] == 0
    assert row["faults"] == row["acknowledged"] >= 300  # it may round up
