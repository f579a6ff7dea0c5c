"""Writing files so that a reader sees the old one or the new one, never half of either."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from fleetcare.errors import UnusableFileError


def write_whole(path: Path, content: bytes, mode: int = 0o644) -> bool:
    """Write a file in one step; True when it changed. An unchanged file is left untouched.

    Raises UnusableFileError when the place cannot be written.
    """
    try:
        if path.is_file() and path.read_bytes() == content:
            return False
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        half = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            half.chmod(mode)
            half.replace(path)
        except BaseException:
            half.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise UnusableFileError(f"{path} cannot be written: {error.strerror}") from error
    return True
