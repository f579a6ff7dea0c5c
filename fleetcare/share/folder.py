"""A folder of feeds that any web server can hand out: a file a subscriber, named by its token.

The names are the only place where tokens stand, so no error and no message may hold one. Only
files with the exact form of our names are ever written or removed. A mark in the folder tells
whose it is, so that one fleet cannot remove the files of another.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from fleetcare.errors import RefusedError, UnusableFileError
from fleetcare.share.subscribers import TOKEN_FORM, Subscriber, hash_of
from fleetcare.store.files import keep_names, write_whole

MARK = ".fleetcare-folder"
HALF = ".fleetcare-half-"
_OURS = re.compile(rf"({TOKEN_FORM})\.ics")
_HALF_MADE = re.compile(re.escape(HALF) + r"[A-Za-z0-9_]{8,16}")
_READABLE = 0o644  # by the web server
_HIDDEN = 0o711  # names are found by those who know them, and listed by the owner alone


@dataclass(frozen=True, slots=True)
class Published:
    """What was done to a folder: files written anew, left alone, removed; who has none there."""

    written: int
    unchanged: int
    removed: int
    missing: tuple[str, ...]


def open_folder(folder: Path, fleet_id: str) -> None:
    """Make sure that the folder is there and this fleet's own.

    Raises RefusedError when it is another fleet's, UnusableFileError when it cannot be used.
    """
    mine = hashlib.sha256(b"fleetcare publish folder\n" + fleet_id.encode()).hexdigest() + "\n"
    try:
        if not folder.is_dir():
            folder.mkdir(parents=True, mode=_HIDDEN)
        elif not any(folder.iterdir()):  # nobody's yet, and made as folders usually are
            folder.chmod(folder.stat().st_mode & _HIDDEN)
        mark = folder / MARK
        whose = mark.read_text("utf-8") if mark.exists() else mine
    except (OSError, UnicodeDecodeError) as error:
        raise UnusableFileError(f"{folder} cannot be used to publish: {_why(error)}") from None
    if whose != mine:
        raise RefusedError(f"{folder} holds the feeds of another fleet; choose another folder")
    write_whole(folder / MARK, mine.encode(), mode=_READABLE, half=HALF)


def publish(
    folder: Path, contents: Mapping[str, bytes], everyone: Collection[Subscriber]
) -> Published:
    """Write the file of every subscriber that has one, and remove those of nobody.

    `contents` gives a calendar by the hash of its address. Each file is replaced in one step, and
    left untouched when nothing in it changed. Raises UnusableFileError without naming a token.
    """
    names = {each.hash: each.name for each in everyone}
    written = removed = 0
    found: set[str] = set()
    for token in _tokens(folder):
        hashed = hash_of(token)
        if hashed in names:
            found.add(hashed)
            written += put(folder, token, contents[hashed], names[hashed])
        else:
            removed += _remove(folder, token, "of an address that nobody holds")
    missing = tuple(each.name for each in everyone if each.hash not in found)
    return Published(written, len(found) - written, removed, missing)


def put(folder: Path, token: str, content: bytes, name: str) -> bool:
    """Write one subscriber's file; True when it changed."""
    shown = f'the file of "{name}" in {folder}'
    return write_whole(folder / f"{token}.ics", content, mode=_READABLE, half=HALF, shown=shown)


def is_secret(name: str) -> bool:
    """Whether a file is called by the address of a subscriber."""
    return _OURS.fullmatch(name) is not None


def withdraw(folder: Path, hashed: str, name: str) -> bool:
    """Remove the file of the address with this hash; True when there was one."""
    if not folder.is_dir():
        return False
    gone = [_remove(folder, each, f'of "{name}"') for each in _tokens(folder)
            if hash_of(each) == hashed]  # fmt: skip
    if gone:
        keep_names(folder)
    return any(gone)


def _tokens(folder: Path) -> list[str]:
    """The tokens whose files lie in the folder; what a killed program left half made goes."""
    tokens = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.is_file(follow_symlinks=False):
                    continue
                ours = _OURS.fullmatch(entry.name)
                if ours:
                    tokens.append(ours[1])
                elif _HALF_MADE.fullmatch(entry.name):
                    Path(entry.path).unlink(missing_ok=True)
    except OSError as error:
        raise UnusableFileError(f"{folder} cannot be read: {_why(error)}") from None
    return sorted(tokens)


def _remove(folder: Path, token: str, whose: str) -> bool:
    try:
        (folder / f"{token}.ics").unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise UnusableFileError(
            f"the file {whose} in {folder} could not be removed: {_why(error)}. Until it is, "
            f"whoever has its address can read it"
        ) from None
    return True


def _why(error: Exception) -> str:
    """What went wrong, without the name that an error of the system tells."""
    return error.strerror or "unknown" if isinstance(error, OSError) else "it is not a text"
