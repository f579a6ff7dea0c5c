"""Every call that changes a file, of real commands, meets every fault there is.

See tests/store/faulty: the program is killed or its disk fails at the n-th write, sync,
truncation, deletion, renaming or letting go of a lock; then a plain SQLite connection looks, and
the next commands are typed. Not full, every seventh point is tried.
"""

from __future__ import annotations

import statistics
import sys
import time
from typing import Any

from tests.store.faulty.disk import NONE, Disk, can_fail
from tests.store.faulty.scenes import SCENES, Scene, Stage

SOME = 7
AT_REST = 5  # runs


def run(full: bool) -> list[dict[str, Any]]:
    """A row a command."""
    if not can_fail():
        print("faults: needs Linux and a C compiler; left out", file=sys.stderr)
        return []
    with Disk() as disk:
        return [_row(scene, disk, 1 if full else SOME) for scene in SCENES]


def _row(scene: Scene, disk: Disk, step: int) -> dict[str, Any]:
    stage = Stage(scene, disk)
    points = list(stage.points())[::step]
    acknowledged = 0
    lost: list[str] = []
    wrong: list[str] = []
    took = []
    for at, call, kind in points:
        where = f"{scene.name}: {kind} at call {at} ({call})"
        try:
            said = stage.fail(at, kind)
            acknowledged += said.code == 0 or "stored" in said.out
            took.append(stage.took)
        except Exception as error:
            text = f"{where}: {error}"
            (lost if "lost" in text or "half" in str(error)[:20] else wrong).append(text)
            print(text[:1000], file=sys.stderr)
    return {
        "name": f"faults: {scene.name}", "load": f"{len(stage.said.calls)} calls",
        "faults": len(points), "acknowledged": acknowledged, "lost": len(lost),
        "wrong": len(wrong), "ratio": statistics.median(took) / _at_rest(stage),
    }  # fmt: skip


def _at_rest(stage: Stage) -> float:
    """The median time of the command without a fault."""
    taken = []
    for _ in range(AT_REST):
        stage.afresh()
        begin = time.perf_counter()
        stage.disk.type(stage.point, *stage.scene.words, kind=NONE)
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken)
