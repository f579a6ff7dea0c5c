"""Types commands beside a failing disk, each in a process of its own that is forked off here.

Started by `disk.py` with the failing disk loaded before the C library. A request is a line of
JSON on stdin, the answer a line on stdout. Everything is imported once, so that a command costs
no more than its own work.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import importlib
import json
import os
import pkgutil
import sys
import tempfile
from pathlib import Path
from typing import Any

import fleetcare
from fleetcare.cli.main import cli


def load_all() -> None:
    """Every module that a command may ask for."""
    for module in pkgutil.walk_packages(fleetcare.__path__, "fleetcare."):
        if module.name != "fleetcare.__main__":
            importlib.import_module(module.name)
    for name in ("sqlite_utils.migrations", "icalendar", "dateutil.relativedelta", "platformdirs"):
        importlib.import_module(name)


def typed(request: dict[str, Any], disk: ctypes.CDLL, scratch: Path) -> dict[str, Any]:
    """What a command said and how it ended, with the calls that it made on the folder's files."""
    names = {name: scratch / name for name in ("out", "err", "trace")}
    files = {
        name: os.open(path, os.O_RDWR | os.O_CREAT | os.O_TRUNC) for name, path in names.items()
    }
    child = os.fork()
    if child == 0:
        _in_child(request, disk, files)
    _, status = os.waitpid(child, 0)
    for file in files.values():
        os.close(file)
    said = {name: path.read_text(encoding="utf-8") for name, path in names.items()}
    return {**said, "code": os.waitstatus_to_exitcode(status)}


def _in_child(request: dict[str, Any], disk: ctypes.CDLL, files: dict[str, int]) -> None:
    code = 99
    try:
        os.dup2(files["out"], 1)
        os.dup2(files["err"], 2)
        os.chdir(request["folder"])
        os.environ.update(request["environ"])
        tempfile.tempdir = request["environ"]["TMPDIR"]  # where a fault of ours would be reported
        disk.faulty_set(
            str(request["folder"]).encode(), request["at"], request["kind"], files["trace"]
        )
        try:
            cli(request["words"], prog_name="fleetcare")
        except SystemExit as ending:
            code = ending.code if isinstance(ending.code, int) else 0
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError):
                stream.flush()
    except BaseException as error:
        os.write(2, f"Traceback: {error!r}".encode())
    finally:
        os._exit(code)


def main() -> None:
    """Answer requests until there are no more."""
    from freezegun import freeze_time

    disk = ctypes.CDLL(os.environ.pop("LD_PRELOAD"))
    today = sys.argv[1]
    load_all()
    gc.freeze()
    with freeze_time(f"{today} 08:00:00"), tempfile.TemporaryDirectory() as scratch:
        for line in sys.stdin:
            print(json.dumps(typed(json.loads(line), disk, Path(scratch))), flush=True)


if __name__ == "__main__":
    main()
