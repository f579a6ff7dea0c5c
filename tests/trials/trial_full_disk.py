"""A disk that really is full: a small file system in memory, filled by entries, then given room.

Root on Linux only, since it mounts one; elsewhere left out and said so. Each size is a row: entries
are stored until the disk says no, everything acknowledged must be there, and once a file is taken
off the disk the next command goes on.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.store.faulty.disk import Disk, Typed, can_fail
from tests.store.faulty.scenes import SMALL, prepared, state

SIZES = (300, 340, 420)  # KiB
FILLER = 24  # KiB, taken off the disk at the end
MOST = 3000


def run(full: bool) -> list[dict[str, Any]]:
    """A row for each size of the disk."""
    if not can_fail() or os.geteuid() != 0:
        print("full disk: needs root on Linux and a C compiler; left out", file=sys.stderr)
        return []
    with Disk() as disk:
        return [_row(disk, size) for size in (SIZES if full else SIZES[:1])]


@contextmanager
def small_disk(size: int) -> Iterator[Path]:
    """A file system of so many KiB."""
    with tempfile.TemporaryDirectory(prefix="fleetcare-full-") as name:
        words = ["mount", "-t", "tmpfs", "-o", f"size={size}k", "tmpfs", name]
        subprocess.run(words, check=True)
        try:
            yield Path(name)
        finally:
            subprocess.run(["umount", name], check=True)


def _row(disk: Disk, size: int) -> dict[str, Any]:
    with small_disk(size) as folder:
        (folder / "fleet.db").write_bytes((prepared(disk, SMALL) / "fleet.db").read_bytes())
        (folder / "filler").write_bytes(bytes(FILLER * 1024))
        start = len(_log(folder))
        stored, wrong = 0, []
        for number in range(MOST):
            said = disk.type(folder, *_entry(number))
            if said.code:
                break
            stored += 1
        wrong += _told(said)
        lost = abs(len(_log(folder)) - start - stored)
        for words in (("backup", "copy.db"), ("export", "tables"), ("feed", "write", "f.ics")):
            wrong += _told(disk.type(folder, *words), may_work=True)
        lost += abs(len(_log(folder)) - start - stored)
        wrong += [
            path.name for path in folder.iterdir() if path.name.endswith((".half", "-journal"))
        ]
        (folder / "filler").unlink()
        after = disk.type(folder, *_entry(MOST))
        wrong += [str(after)] if after.code else []
        wrong += [str(check)] if (check := disk.type(folder, "check")).code else []
    for line in wrong:
        print(line, file=sys.stderr)
    return {
        "name": f"full disk: {size} KiB", "load": "entries until it is full, then copies and feeds",
        "faults": 4, "acknowledged": stored, "lost": lost, "wrong": len(wrong), "ratio": None,
    }  # fmt: skip


def _entry(number: int) -> tuple[str, ...]:
    note = f"{number} " + "x" * 900
    return ("incident", "Knot", "grounded", "--on", "2026-07-01", "--note", note)


def _log(folder: Path) -> list[tuple[object, ...]]:
    found = state(folder / "fleet.db")
    assert found is not None
    return found["log"]


def _told(said: Typed, may_work: bool = False) -> list[str]:
    """What is wrong with how a full disk was told of."""
    if said.code == 0 and may_work:
        return []
    words = ("disk is full", "disk full", "No space left", "the disk fails")
    is_told = said.code == 4 and any(word in said.err for word in words)
    return [] if is_told and "Traceback" not in said.err else [str(said)]
