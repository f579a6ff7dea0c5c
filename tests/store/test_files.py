"""Files beside the database: the old one or the new one, and who may read them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcare.errors import UnusableFileError
from fleetcare.store.files import write_whole


@pytest.fixture
def umask() -> Iterator[None]:
    before = os.umask(0o022)
    yield
    os.umask(before)


def mode(path: Path) -> int:
    return path.stat().st_mode & 0o777


def test_a_file_is_written_or_left_untouched(tmp_path: Path) -> None:
    path = tmp_path / "new" / "page.html"
    assert write_whole(path, b"one")
    first = path.stat()
    assert not write_whole(path, b"one")
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (first.st_ino, first.st_mtime_ns)
    assert write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.parametrize(("mask", "wanted"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664)])
def test_a_new_file_gets_what_the_users_umask_gives(
    tmp_path: Path, umask: None, mask: int, wanted: int
) -> None:
    os.umask(mask)
    write_whole(tmp_path / "page.html", b"one")
    assert mode(tmp_path / "page.html") == wanted


@pytest.mark.parametrize("kept", [0o600, 0o640, 0o666])
def test_a_file_that_is_there_keeps_its_mode(tmp_path: Path, umask: None, kept: int) -> None:
    path = tmp_path / "page.html"
    path.write_bytes(b"one")
    path.chmod(kept)
    write_whole(path, b"two")
    assert mode(path) == kept


@pytest.mark.parametrize("mask", [0, 0o022, 0o777])
@pytest.mark.parametrize("there", [None, b"one", b"secret"])
def test_a_secret_is_for_its_owner_alone_whatever_was_there(
    tmp_path: Path, umask: None, mask: int, there: bytes | None
) -> None:
    path = tmp_path / "address.svg"
    if there is not None:
        path.write_bytes(there)
        path.chmod(0o644)
    os.umask(mask)
    assert write_whole(path, b"secret", mode=0o600) == (there != b"secret")
    assert mode(path) == 0o600


def test_a_failure_leaves_the_old_file_and_nothing_half(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "page.html"
    path.write_bytes(b"old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UnusableFileError, match="cannot be written: No space left on device"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_secret_name_is_in_no_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(UnusableFileError) as caught:
        write_whole(tmp_path / "file" / "token.ics", b"x", half=".half", shown="Ina's file")
    assert str(caught.value).startswith("Ina's file cannot be written: ")
    assert "token" not in str(caught.value)
    assert caught.value.__cause__ is None
