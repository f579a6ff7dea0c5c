"""The speed lines: `python -m tests.benchmarks`. Ratios of times measured in this one run.

With `forecast` the trial of the forecast alone, on the fresh fleets; with `forecast tuning` on
those that its constants were chosen on. With `feeds`, `board`, `plan`, `savings`, `scale` or
`serving` what that costs, and what plans save.
"""

from __future__ import annotations

import functools
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from fleetcare.cli.context import Desk, no_collecting
from fleetcare.cli.looking import view
from fleetcare.show.values import as_json, due_rows
from fleetcare.store.file import connect
from tests.benchmarks.fleets import build

RAW = "select engine, day, event, reading, hours, water from log"


def cpu(work: Callable[[], object], times: int = 3) -> float:
    """The least CPU time of several runs, in seconds."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def raw_read(path: Path) -> int:
    connection = connect(path, "ro")
    rows = [tuple(row) for row in connection.execute(RAW)]
    connection.close()
    return len(rows)


def due_json(path: Path, as_of: date) -> int:
    """What `fleetcare due --format json` does, between reading its options and printing."""
    with no_collecting():
        seen = view(Desk(fleet=str(path)), as_of, words=False)
        return len(as_json(due_rows(seen.rows, seen.held), as_of))


def command(*words: str) -> float:
    """The median wall time of a whole process over eleven runs, in seconds.

    A first run is not counted; it leaves the compiled modules that an installed program has.
    """
    environ = {key: os.environ[key] for key in os.environ if key != "PYTHONDONTWRITEBYTECODE"}
    taken = []
    for _ in range(12):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *words], check=False, capture_output=True, env=environ)
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken[1:])


# The high-water mark of this very program; getrusage would carry over its parent's.
PEAK = "print(next(l for l in open('/proc/self/status') if l.startswith('VmHWM')).split()[1])"


def peak_of(*lines: str) -> int:
    """Peak memory in KiB of a process that runs these lines after its imports."""
    code = "\n".join(("from pathlib import Path", "from datetime import date",
                      "from tests.benchmarks.__main__ import due_json", *lines, PEAK))  # fmt: skip
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return int(done.stdout)


def exponent(small: float, large: float, factor: float) -> float:
    return math.log(large / small) / math.log(factor)


def main(words: list[str]) -> None:
    from tests.benchmarks import held
    from tests.benchmarks.trials import report

    if words[:1] == ["forecast"]:
        report.main(*words[1:2])
        print(held.report())
        return
    if words and words[0] in MORE:
        print(MORE[words[0]]())
        return
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        _large(place)
        _growth(place)
        _start(place)
    _salvage()
    report.line()


def _feeds() -> str:
    from tests.benchmarks import feeds

    return feeds.report()


def _board() -> str:
    from tests.benchmarks import board

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "board.db"
        return board.report(path, build(path, 1000, 1))


def _plan() -> str:
    from tests.benchmarks import plan

    plan.report()
    return ""


def _savings() -> str:
    from tests.benchmarks import plan_savings

    return plan_savings.report()


def _scale() -> str:
    from tests.benchmarks import scale

    return scale.report()


def _serving() -> str:
    from tests.benchmarks import serving

    return serving.report()


MORE: dict[str, Callable[[], str]] = {
    "feeds": _feeds,
    "board": _board,
    "plan": _plan,
    "savings": _savings,
    "scale": _scale,
    "serving": _serving,
}


def _large(place: Path) -> None:
    path = place / "large.db"
    as_of = build(path, 1000, 5)
    rows = raw_read(path)
    raw = cpu(lambda: raw_read(path))
    forget_fits(path)
    cold = cpu(lambda: due_json(path, as_of), 1)
    kept = cpu(lambda: due_json(path, as_of))
    print(f"due, 1,000 engines x 12 tasks x 5 years ({rows:,} rows): raw {raw:.2f} s CPU")
    print(f"  with kept fits {kept:.2f} s, ratio {kept / raw:.2f} (at most 3)")
    print(f"  with every fit made anew {cold:.2f} s, ratio {cold / raw:.1f} (at most 40)")


def _salvage() -> None:
    """One sound engine from thirty, against scipy's assignment, which knows no shared access."""
    import random

    from fleetcare.repair.salvage import best_builds
    from tests.repair.salvage_cases import assigned, bench

    dice = random.Random(30)
    cases = [bench(dice, 30, 7, shared=False) for _ in range(10)]
    ours = cpu(lambda: [best_builds(case, 1) for case in cases])
    theirs = cpu(lambda: [assigned(case, 1) for case in cases])
    print(
        f"one sound engine from 30: {ours * 100:.1f} ms, {ours / theirs:.1f} times scipy's "
        "assignment on the same table (at most 10)"
    )


def forget_fits(path: Path) -> None:
    connection = connect(path, "rw")
    connection.execute("delete from fit")
    connection.close()


def _growth(place: Path) -> None:
    """One year of weekly entries for ever more engines: time and memory must grow as they do."""
    measured = []
    for engines in (100, 1000, 10000):
        path = place / f"growth{engines}.db"
        as_of = build(path, engines, 1)
        taken = cpu(functools.partial(due_json, path, as_of), 2)
        memory = peak_of(f"due_json(Path({str(path)!r}), date.fromisoformat({str(as_of)!r}))")
        measured.append((engines, taken, memory))
    base = peak_of()
    (_, t1, m1), (_, t2, m2), (_, t3, m3) = measured
    whole, last = exponent(t1, t3, 100), exponent(t2, t3, 10)
    print(f"growth 100, 1,000, 10,000 engines: {t1:.2f}, {t2:.2f}, {t3:.2f} s CPU")
    print(f"  exponent {whole:.2f}, in the last decade {last:.2f} (at most 1.1)")
    small, middle, large = m1 - base, m2 - base, m3 - base
    grown = exponent(middle, large, 10)
    print(
        f"  memory above the interpreter's {base >> 10} MiB: {small >> 10}, {middle >> 10}, "
        f"{large >> 10} MiB, exponent in the last decade {grown:.2f} (at most 1.1)"
    )


def _start(place: Path) -> None:
    path = place / "ten.db"
    as_of = build(path, 10, 1)
    click = command("-c", "import click")
    help_ = command("-m", "fleetcare", "--help")
    due = command("-m", "fleetcare", "due", "--fleet", str(path), "--as-of", as_of.isoformat())
    print(f"import click {click * 1e3:.0f} ms; --help {help_ * 1e3:.0f} ms, ratio "
          f"{help_ / click:.2f} (at most 1.5); due on 10 engines {due * 1e3:.0f} ms, ratio "
          f"{due / click:.2f} (at most 3)")  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1:])
