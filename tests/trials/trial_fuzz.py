"""Readers fuzzed with inputs that are led by the branches they reach (atheris, libFuzzer).

    python -m tests.trials fuzz

Each reader (rule files, tables, calendars, typed words, whole command lines) runs in a process of
its own with bounded memory, a bounded number of inputs and the same first number each time; one
input may take no longer than half a minute. Every input that ends in an answer or an error of ours
was acknowledged; an exception of any other kind, an undocumented exit code, a traceback, too much
memory or time is wrong, and what led to it is printed. Full, ten times as many inputs.
"""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
RUNS = {"rules": 5_000, "tables": 10_000, "bookings": 8_000, "words": 20_000, "lines": 2_000}
LONGEST = {"rules": 4_096, "tables": 1_024, "bookings": 2_048, "words": 200, "lines": 200}
MOST_MB, SECONDS = 1_024, 30  # one input's
MORE = 10


def run(full: bool) -> list[dict[str, Any]]:
    """A row a reader."""
    if importlib.util.find_spec("atheris") is None:
        print("fuzz: atheris is not installed", file=sys.stderr)
        return [{"name": "fuzz", "load": "broke off: atheris is not installed", "wrong": 1}]
    return [fuzzed(name, runs * (MORE if full else 1)) for name, runs in RUNS.items()]


def fuzzed(name: str, runs: int, environ: Mapping[str, str] = os.environ) -> dict[str, Any]:
    """The row of one reader."""
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-m", "tests.trials.fuzz_child", name, f"-runs={runs}", "-seed=1",
             f"-rss_limit_mb={MOST_MB}", f"-timeout={SECONDS}", f"-max_len={LONGEST.get(name, 9)}",
             f"-artifact_prefix={folder}/found-", "-print_final_stats=1"],
            cwd=folder, capture_output=True, check=False,
            env={**environ, "PYTHONPATH": f"{ROOT}:{environ.get('PYTHONPATH', '')}",
                 "PYTHONHASHSEED": "0"},
        )  # fmt: skip
        said = (done.stdout + done.stderr).decode("utf-8", "replace")
        found = {path.name: path.read_bytes() for path in sorted(Path(folder).glob("found-*"))}
    tried = int((re.findall(r"number_of_executed_units: (\d+)", said) or ["0"])[-1])
    is_wrong = done.returncode != 0 or tried < runs
    if is_wrong:
        print(f"fuzz: {name}: ended with {done.returncode}\n{_told(said)}", file=sys.stderr)
        for kind, content in found.items():
            print(f"{kind}: {content!r}", file=sys.stderr)
    return {
        "name": f"fuzz: {name}", "load": f"{runs} inputs", "faults": tried,
        "acknowledged": max(tried - is_wrong, 0), "lost": 0, "wrong": int(is_wrong), "ratio": None,
    }  # fmt: skip


def _told(said: str) -> str:
    """What is worth reading of all that was said."""
    lines = [line for line in said.splitlines() if "Instrumenting" not in line]
    start = next((at for at, line in enumerate(lines) if "Uncaught Python exception" in line), 0)
    return "\n".join(lines[start : start + 60] if start else lines[-30:])[:6_000]
