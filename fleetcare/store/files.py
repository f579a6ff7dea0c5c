"""Writing files so that a reader sees the old one or the new one, never half of either."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.store.schema import APPLICATION_ID


def write_whole(
    path: Path, content: bytes, mode: int | None = None, half: str = "", shown: str = ""
) -> bool:
    """Write a file in one step; True when it changed. An unchanged file is left untouched.

    Without a `mode` it keeps the one it has, and a new one gets what the user's umask gives.
    `half` begins the name under which it is made, `shown` is what errors call it: a file whose
    name is a secret takes both. Raises UnusableFileError when the place cannot be written, and
    RefusedError when a fleet file stands there, which nothing else may replace.
    """
    try:
        if _is_fleet(path):
            raise RefusedError(f"{shown or path} is a fleet file; choose another name")
        if path.is_file():
            if mode is not None and path.stat().st_mode & 0o777 & ~mode:
                path.chmod(mode)  # it was for more eyes than it is meant for
            if path.read_bytes() == content:
                return False
            mode = path.stat().st_mode & 0o777 if mode is None else mode
        path.parent.mkdir(parents=True, exist_ok=True)
        made = path.parent / f"{half or f'.{path.name}.'}{secrets.token_hex(6)}"
        try:
            _write(made, content, mode)
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


def write_private(path: Path, content: bytes) -> bool:
    """Write a file that holds all that a fleet file does: a new one is its owner's alone.

    One that is there keeps its mode, which somebody may have chosen. True when it changed.
    """
    return write_whole(path, content, mode=None if path.exists() else 0o600)


def _is_fleet(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return int.from_bytes(file.read(72)[68:], "big") == APPLICATION_ID


def _write(made: Path, content: bytes, mode: int | None) -> None:
    """A new file, on the disk when this returns; with a mode nobody else could ever read it."""
    flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
    handle = os.open(made, flags, 0o666 if mode is None else 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
        if mode is not None:
            give_mode(file.fileno(), made, mode)


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
