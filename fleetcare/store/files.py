"""Writing files so that a reader sees the old one or the new one, never half of either."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.store.schema import APPLICATION_ID


def write_whole(
    path: Path, content: bytes, mode: int = 0o644, half: str = "", shown: str = ""
) -> bool:
    """Write a file in one step; True when it changed. An unchanged file is left untouched.

    `half` begins the name under which it is made, `shown` is what errors call it: a file whose
    name is a secret takes both. Raises UnusableFileError when the place cannot be written, and
    RefusedError when a fleet file stands there, which nothing else may replace.
    """
    try:
        if _is_fleet(path):
            raise RefusedError(f"{shown or path} is a fleet file; choose another name")
        if path.is_file() and path.read_bytes() == content:
            return False
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=half or f".{path.name}.", dir=path.parent)
        made = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
                give_mode(file.fileno(), made, mode)
            made.replace(path)
        except BaseException:
            made.unlink(missing_ok=True)
            raise
        keep_names(path.parent)
    except OSError as error:
        # the error beneath would tell the name
        raise UnusableFileError(f"{shown or path} cannot be written: {error.strerror}") from (
            None if shown else error
        )
    return True


def _is_fleet(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return int.from_bytes(file.read(72)[68:], "big") == APPLICATION_ID


def keep_names(folder: Path) -> None:
    """Have the folder's own list of names on the disk, where a system can be asked for that."""
    if os.name == "nt":
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # a folder may be written and not listed
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def give_mode(handle: int, path: Path, mode: int) -> None:
    """Give an open file its mode, whatever the umask."""
    if hasattr(os, "fchmod"):
        os.fchmod(handle, mode)
    else:
        path.chmod(mode)
