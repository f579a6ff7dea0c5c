"""How many small faults in the heart of the program the tests would notice.

`run(full)` puts the faults of tests/trials/mutants.py one at a time into the modules that count
hours, start clocks, use up life, give a status and judge a plan, and runs the tests of these
rooms on each, quickest first: random fleets whose rows the day-by-day oracle worked out
beforehand, cases by hand, then more fleets. Every mutant has a process of its own, forked from one
that has loaded everything but the program, so that a fault costs a tenth of a second or two.

A survivor is explained if tests/trials/survivors.md names it. All are tried by
`python -m tests.trials.trial_mutants`; with names of modules, as due.life, only theirs, and with a
file of lines as it prints them, as survivors.md is, only those.
"""

from __future__ import annotations

import gc
import inspect
import json
import os
import random
import resource
import sys
import tomllib
import traceback
from collections.abc import Iterable, Iterator
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import icalendar  # noqa: F401  # loaded once, before the forks
import pytest

from tests.oracle.oracle import due_rows
from tests.oracle.sample import Drawn, sample
from tests.oracle.strategies import USES
from tests.trials.mutants import ROOT, Mutant, mutants

DUE = (
    "tests/usage/test_meters_by_hand.py",
    "tests/usage/test_sums_by_hand.py",
    "tests/usage/test_components_by_hand.py",
    "tests/due/test_clocks_by_hand.py",
    "tests/due/test_limits_by_hand.py",
    "tests/due/test_rows_by_hand.py",
    "tests/due/test_fields_by_hand.py",
    "tests/due/test_triggers_by_hand.py",
    "tests/due/test_statuses.py",
    "tests/usage/test_components_and_waters.py",
    "tests/due/test_with_a_forecast.py",
    "tests/usage/test_outlooks.py",
    "tests/sources/test_worked_life.py",
    "tests/flags/test_follow_ups.py",
)
PLAN = ("tests/plan/test_evaluate_by_hand.py",)
TESTS = {
    "fleetcare.usage.hours": DUE, "fleetcare.usage.components": DUE, "fleetcare.usage.meter": DUE,
    "fleetcare.due.clock": DUE, "fleetcare.due.life": DUE, "fleetcare.due.rows": DUE,
    "fleetcare.due.triggers": DUE, "fleetcare.plan.evaluate": PLAN,
}  # fmt: skip
FLEETS, FIRST = 360, 40
SECONDS = 12  # of CPU, after which a mutant runs for ever; four times what all tests take
ROOM = 4 << 30
NOT_PUT_IN = 3
SAMPLE, SEED = 60, 11
NO_REASON = "   (no reason given)"
SURVIVORS = Path(__file__).with_name("survivors.md")


def run(full: bool = False) -> dict[str, Any]:
    """Try a sample of the mutants, or all, and count who was noticed."""
    everyone = [mutant for module in TESTS for mutant in mutants(module)]
    chosen = everyone if full else random.Random(SEED).sample(everyone, SAMPLE)
    survivors = [mutant.name for mutant, alive in tried(chosen, Bench()) if alive]
    reasons = explained()
    wrong = [name for name in survivors if name not in reasons]
    noticed = len(chosen) - len(survivors)
    return {
        "name": "small faults in the arithmetic",
        "load": f"{len(TESTS)} modules, {len(everyone):,} places, {len(chosen):,} tried, "
        f"{100 * noticed // len(chosen)} % noticed",
        "faults": len(chosen),
        "acknowledged": noticed,
        "lost": 0,
        "wrong": len(wrong),
        "ratio": None,
        "survivors": wrong,
    }


def explained() -> frozenset[str]:
    """The names of the survivors that survivors.md gives a reason for."""
    return names_in(SURVIVORS)


def names_in(path: Path) -> frozenset[str]:
    """The names of mutants in a file's lines that begin with a dash."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return frozenset(
        line.removeprefix("- ").removesuffix(NO_REASON) for line in lines if line.startswith("- ")
    )


def tried(chosen: Iterable[Mutant], bench: Bench) -> Iterator[tuple[Mutant, bool]]:
    """Each mutant, and whether it lives on; a module that fails unchanged is an error."""
    sound: set[str] = set()
    for mutant in chosen:
        if mutant.module not in sound:
            sound.add(mutant.module)
            if not bench.lives(mutant.module, None):
                raise RuntimeError(f"the tests of {mutant.module} fail without any fault")
        yield mutant, bench.lives(mutant.module, mutant)


class Bench:
    """The fleets with what their rows must be, and the forks that try a module on them.

    The program is loaded once, and run in forks alone, so that nothing it remembers is old.
    """

    def __init__(self, fleets: int = FLEETS) -> None:
        self.fleets = [(drawn, _by_the_oracle(drawn)) for drawn in sample(fleets)]
        _forget_the_program()
        for name in (*TESTS, "fleetcare.show.values", "tests.built"):
            import_module(name)
        gc.collect()
        gc.freeze()

    def lives(self, module: str, mutant: Mutant | None) -> bool:
        """Whether all tests pass with a mutant in a module's place, or with the module itself."""
        sys.stdout.flush()
        child = os.fork()
        if not child:
            self._try(module, mutant)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        if code == NOT_PUT_IN:
            raise RuntimeError(f"{mutant and mutant.name} could not be put in")
        return code == 0

    def _try(self, module: str, mutant: Mutant | None) -> None:
        """In the child: run everything until something fails, and be gone."""
        status = 1
        gc.disable()
        try:
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
            resource.setrlimit(resource.RLIMIT_AS, (ROOM, ROOM))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            if not os.environ.get("SHOW_MUTANT"):
                quiet = os.open(os.devnull, os.O_WRONLY)
                os.dup2(quiet, 1)
                os.dup2(quiet, 2)
            status = NOT_PUT_IN
            if mutant is not None:
                _put_in(mutant)
            status = 1
            due = TESTS[module] is DUE
            good = (not due or self._agree(0, FIRST)) and _pass(TESTS[module])
            status = 0 if good and (not due or self._agree(FIRST, FLEETS)) else 1
        except BaseException:  # whatever a fault leads to, it is noticed
            traceback.print_exc()
        finally:
            os._exit(status)

    def _agree(self, first: int, last: int) -> bool:
        """Whether some of the fleets have the rows that the oracle gave them."""
        from fleetcare.show.values import due_values
        from tests.built import rows_of

        for (tables, texts, as_of), expected in self.fleets[first:last]:
            rows = [due_values(row, held=False) for row in rows_of(tables, texts, USES, as_of)]
            rows.sort(key=lambda row: (row["engine"], row["task"]))
            kept = [
                {key: row[key] for key in wanted}
                for row, wanted in zip(rows, expected, strict=True)
            ]
            if kept != expected:
                return False
        return True


class _Faulty(MetaPathFinder, Loader):
    """Gives one module other code than its file has."""

    def __init__(self, module: str, code: CodeType) -> None:
        self.module, self.code = module, code

    def find_spec(self, name: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if name != self.module:
            return None
        spec = PathFinder.find_spec(name, path)
        assert spec is not None
        spec.loader = self
        return spec

    def create_module(self, spec: ModuleSpec) -> None:
        return None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.code, module.__dict__)


def _put_in(mutant: Mutant) -> None:
    """Let the program run with a fault, from here on."""
    if not mutant.inside:  # others may hold what the module says: everything is loaded anew
        _forget_the_program()
        sys.meta_path.insert(0, _Faulty(mutant.module, mutant.code))
        return
    module = sys.modules[mutant.module]
    faulty: dict[str, Any] = {**module.__dict__}
    exec(mutant.code, faulty)
    for name, old in vars(module).items():
        if getattr(old, "__module__", "") == mutant.module:
            _take_code(old, faulty[name])


def _take_code(old: Any, new: Any) -> None:
    """Give functions, and those of a class, the code of their namesakes."""
    if isinstance(old, type):
        for name, value in vars(old).items():
            if name in vars(new) and name != "__dict__":
                _take_code(value, vars(new)[name])
        return
    if isinstance(old, property):
        old, new = old.fget, new.fget
    if isinstance(old, staticmethod):
        old, new = old.__func__, new.__func__
    old, new = inspect.unwrap(old), inspect.unwrap(new)
    if isinstance(old, FunctionType) and old.__code__ != new.__code__:
        old.__code__, old.__defaults__ = new.__code__, new.__defaults__
    elif isinstance(old, FunctionType):
        old.__defaults__ = new.__defaults__


def _by_the_oracle(drawn: Drawn) -> list[dict[str, Any]]:
    tables, texts, as_of = drawn
    sets = {name: tomllib.loads(text) for name, text in texts.items()}
    return due_rows(tables, sets, USES, as_of)


def _is_ours(name: str) -> bool:
    """Whether a module is the program's, or one that holds some of it; the oracle holds none."""
    kept = ("tests.oracle", "tests.trials")
    return name.startswith("fleetcare") or (name.startswith("tests.") and not name.startswith(kept))


def _forget_the_program() -> None:
    for name in [name for name in sys.modules if _is_ours(name)]:
        del sys.modules[name]


def _pass(files: tuple[str, ...]) -> bool:
    there = [str(ROOT / name) for name in files]
    plain = ["-x", "-q", "--no-header", "-p", "no:cacheprovider", "-p", "no:xdist", "--tb=no"]
    if os.environ.get("SHOW_MUTANT"):
        plain[-1] = "--tb=short"
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return pytest.main([*plain, *there]) == 0


def main(words: list[str]) -> None:
    """Print every survivor as it is found, and the counts of each module."""
    reasons = explained()
    files = [Path(word) for word in words if Path(word).is_file()]
    named = frozenset[str]().union(*map(names_in, files))
    modules = [word for word in words if Path(word) not in files]
    bench = Bench()
    for module in TESTS:
        if modules and module.split(".", 1)[1] not in modules:
            continue
        chosen = [one for one in mutants(module) if not files or one.name in named]
        alive = []
        for mutant, lives in tried(chosen, bench):
            if lives:
                alive.append(mutant.name)
                print(f"- {mutant.name}{'' if mutant.name in reasons else NO_REASON}", flush=True)
        count = {
            "module": module,
            "mutants": len(chosen),
            "killed": len(chosen) - len(alive),
            "explained": len(reasons.intersection(alive)),
            "unexplained": len(set(alive) - reasons),
        }
        print(json.dumps(count), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
