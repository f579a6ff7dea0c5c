"""What planning costs and how good plans are: `report()`.

Fleets as tests/plan/instances.py makes them: n engines with ten jobs each over 120 days, places
of at most 150 engines. Every line is a process of its own, so that its peak memory is its own.
"""

from __future__ import annotations

import json
import subprocess
import sys

SIZES = (10, 60, 150, 1000)

ONE = """
import json, resource, sys, time
from fleetcare.plan.baselines import greedy, one_job_one_visit
from fleetcare.plan.evaluate import breaks, evaluate
from fleetcare.plan.solve import solve
from tests.plan.instances import fleet
engines, exact, effort = int(sys.argv[1]), sys.argv[2] == "exact", int(sys.argv[3])
problem = fleet(engines, 1, most=150)
wall, cpu = time.perf_counter(), time.process_time()
found = solve(problem, effort, exact)
wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
score = evaluate(problem, found.answer)
peak = next(l for l in open("/proc/self/status") if l.startswith("VmHWM")).split()[1]
print(json.dumps({
    "key": score.key, "least": found.least_late, "bound": found.bound, "cpu": cpu, "wall": wall,
    "peak": int(peak), "broken": len(breaks(problem, found.answer)), "by": found.made_by,
    "greedy": evaluate(problem, greedy(problem)).key,
    "apart": evaluate(problem, one_job_one_visit(problem)).key,
}))
"""


def measure(engines: int, way: str, effort: int = 1) -> dict[str, object]:
    """One plan in a process of its own; `way` is exact or search."""
    words = [sys.executable, "-c", ONE, str(engines), way, str(effort)]
    done = subprocess.run(words, check=True, capture_output=True, text=True)
    found = json.loads(done.stdout)
    assert isinstance(found, dict)
    return found


def line(engines: int, way: str, found: dict[str, object]) -> str:
    """One plan as a line."""
    late, days, left_out, cost = found["key"]  # type: ignore[misc]
    bound = found["bound"]
    gap = (
        "no bound" if bound is None else f"bound {bound:,}, gap {100 * (cost - bound) / cost:.2f} %"
    )  # type: ignore[has-type, operator]
    least = "not proved" if found["least"] is None else f"least {found['least']}"
    return (
        f"{engines:5} engines, {way:6}: late {late} ({least}), {days} days, {left_out} left out, "  # type: ignore[has-type]
        f"cost {cost:,}, {gap}, {found['cpu']:.1f} s CPU, {found['wall']:.1f} s, "  # type: ignore[has-type]
        f"{int(str(found['peak'])) // 1024} MiB, {found['broken']} limits broken"
    )


def report(sizes: tuple[int, ...] = SIZES) -> None:
    """Print a line for each size, with the extra and without, and what plans save."""
    for engines in sizes:
        for way in ("exact", "search"):
            found = measure(engines, way)
            print(line(engines, way, found), flush=True)
        print(f"      greedy {found['greedy']}, each job a visit {found['apart']}", flush=True)


if __name__ == "__main__":
    report(tuple(int(word) for word in sys.argv[1:]) or SIZES)
