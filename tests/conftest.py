"""What all tests share: how hypothesis draws, and tools that a machine may not have."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator

import pytest
from hypothesis import HealthCheck, settings

from fleetcare.store import file as store

settings.register_profile(
    "steady", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "roaming", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("steady" if os.environ.get("CI") == "true" else "roaming")


@pytest.fixture(autouse=True, scope="module")
def _files_are_let_go() -> Iterator[None]:
    """A program keeps every fleet file's head open; thousands of tests in one would run out."""
    yield
    for handle in store._OPEN.values():
        os.close(handle)
    store._OPEN.clear()


@pytest.fixture
def tool() -> Callable[[str], str]:
    """The path of a program the test needs; without it the test is left out, and CI fails."""

    def find(name: str) -> str:
        path = shutil.which(name)
        if path is None and os.environ.get("CI") == "true":
            pytest.fail(f"{name} is not installed (tests/debian.txt)")
        if path is None:
            pytest.skip(f"{name} is not installed (tests/debian.txt)")
        return path

    return find
