"""The small faults themselves: all different, all told in the list of survivors by their names."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.trials.mutants import ROOT, mutants
from tests.trials.trial_mutants import NO_REASON, TESTS, explained, names_in

TRY = """
from tests.trials.trial_mutants import Bench, mutants
bench = Bench(8)
alive = bench.lives("fleetcare.due.life", None)
some = [one for one in mutants("fleetcare.due.life") if one.name.startswith("due/life is_past")]
some += [one for one in mutants("fleetcare.due.life") if one.name.startswith("due/life module")]
some += [one for one in mutants("fleetcare.due.life") if "Life.at: `calendar >= hours`" in one.name]
print(alive, [(one.inside, bench.lives(one.module, one)) for one in some])
"""


def test_every_fault_has_a_name_of_its_own_and_another_code() -> None:
    for module in TESTS:
        found = mutants(module)
        assert len({one.name for one in found}) == len(found) > 50, module
        path = ROOT / (module.replace(".", "/") + ".py")
        sound = compile(path.read_text(encoding="utf-8"), str(path), "exec")
        assert all(one.code != sound for one in found), module


def test_every_survivor_that_is_explained_is_a_fault_of_today() -> None:
    names = {one.name for module in TESTS for one in mutants(module)}
    told = explained()
    assert told and told <= names, sorted(told - names)


def test_names_are_read_from_the_lines_that_the_trial_prints(tmp_path: Path) -> None:
    file = tmp_path / "some.md"
    file.write_text(f"A reason.\n\n- f: `a` -> `b`\n- g: `c` -> `d`{NO_REASON}\n", "utf-8")
    assert names_in(file) == {"f: `a` -> `b`", "g: `c` -> `d`"}


def test_a_fault_is_noticed_and_one_that_changes_nothing_is_not() -> None:
    """In a program of its own, since trying forgets everything that is loaded."""
    done = subprocess.run(
        [sys.executable, "-c", TRY], cwd=ROOT, capture_output=True, text=True, check=True
    )
    alive, _, verdicts = done.stdout.strip().partition(" ")
    assert alive == "True"
    # at the limit is not past it; 0 and 1 are not 1 and 2; of two equals either may be given
    assert verdicts == "[(True, False), (False, False), (False, False), (True, True)]"
