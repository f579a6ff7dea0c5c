"""A disk that fails where it is told to, and commands typed beside it.

SQLite's own file systems (VFS) would be the usual place to stand in; but the driver that Python
brings cannot be given one, and files written without SQLite (a feed, a copy's new name) would be
left out. So a small library in C is loaded before the C library: it sees every call of the real
program, whatever Python or SQLite is made of. Linux and a C compiler are needed.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
TODAY = "2026-07-18"
NONE, KILL, KILL_HALFWAY, ERROR, GONE, SHORT, FULL, READ_ONLY = range(8)
KINDS: Mapping[str, int] = {
    "killed before": KILL,
    "killed halfway": KILL_HALFWAY,  # half of a write is done; any other call is done whole
    "input/output error": ERROR,  # of that one call
    "disk gone": GONE,  # that call and all after it fail, reading too
    "short write": SHORT,  # half of it, without an error, as the system may at any time
    "disk full": FULL,  # from that call on files may not grow
    "read-only": READ_ONLY,  # from that call on, as a system does that has seen its disk fail
}


def compiler() -> str | None:
    """The C compiler, or None."""
    names = (os.environ.get("CC", ""), "cc", "gcc", "clang")
    return next((found for name in names if name and (found := shutil.which(name))), None)


def can_fail() -> bool:
    """Whether a failing disk can be built here."""
    return sys.platform == "linux" and compiler() is not None


@functools.cache
def library() -> Path:
    """The failing disk, built once for its source."""
    source = HERE / "faulty.c"
    mark = hashlib.sha256(source.read_bytes()).hexdigest()[:16]
    path = Path(tempfile.gettempdir(), f"fleetcare-faulty-{os.getuid()}-{mark}.so")
    if not path.exists():
        made = path.with_suffix(f".{os.getpid()}")
        words = [str(compiler()), "-O1", "-shared", "-fPIC"]
        subprocess.run([*words, "-o", made, source, "-ldl"], check=True)
        made.replace(path)
    return path


@dataclass(frozen=True, slots=True)
class Typed:
    """What a command said, its exit code (below 0: the signal), its calls on the folder's files."""

    out: str
    err: str
    code: int
    calls: tuple[str, ...]


class Disk:
    """Types commands beside the failing disk. Use it in a `with` statement."""

    def __enter__(self) -> Disk:
        # in memory where that can be had: calls are counted all the same, and take no time
        memory = Path("/dev/shm")
        where = memory if os.access(memory, os.W_OK) else None
        self._scratch = tempfile.TemporaryDirectory(prefix="fleetcare-faulty-", dir=where)
        self.scratch = Path(self._scratch.name)
        environ = {**os.environ, "LD_PRELOAD": str(library()), "PYTHONPATH": str(ROOT)}
        for name in ("NO_COLOR", "TERM", "FORCE_COLOR", "COLUMNS"):
            environ.pop(name, None)
        self._driver = subprocess.Popen(
            [sys.executable, "-m", "tests.store.faulty.driver", TODAY],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT, env=environ,
        )  # fmt: skip
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        assert self._driver.stdin is not None
        self._driver.stdin.close()
        self._driver.wait()
        assert self._driver.stdout is not None
        self._driver.stdout.close()
        self._scratch.cleanup()

    def type(self, folder: Path, *words: object, at: int = 0, kind: int = NONE) -> Typed:
        """Type a command in a folder that holds fleet.db; its at-th call there meets the fault."""
        environ = {
            "FLEETCARE_FLEET": "fleet.db", "LOGNAME": "jetty", "TMPDIR": str(folder.parent)
        }  # fmt: skip
        request = {
            "words": [str(word) for word in words], "folder": str(folder.resolve()),
            "environ": environ, "at": at, "kind": kind,
        }  # fmt: skip
        assert self._driver.stdin is not None and self._driver.stdout is not None
        self._driver.stdin.write(json.dumps(request) + "\n")
        self._driver.stdin.flush()
        said = json.loads(self._driver.stdout.readline())
        return Typed(said["out"], said["err"], said["code"], tuple(said["trace"].splitlines()))
