"""Screens looked at by eye and kept byte for byte.

They are renewed only by FLEETCARE_RENEW_GOLDEN=1, and looked at again then.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.cli.typed import TODAY, fleetcare, widest

GOLDEN = Path(__file__).parent / "golden"
SCREENS = {
    "morning": ("morning", "--as-of", TODAY),
    "due": ("due", "--as-of", TODAY),
    "due-overheating": ("due", "--as-of", TODAY, "--leads-to", "overheating"),
    "why-swivel": ("why", "OB-21", "swivel grease", "--as-of", TODAY),
    "why-gearcase": ("why", "OB-19", "impeller", "--as-of", TODAY),
    "why-flush": ("why", "OB-12", "flush", "--as-of", TODAY),
    "history": ("history", "OB-14"),
}


@pytest.mark.parametrize("name", SCREENS)
def test_the_screen_is_as_it_was_when_it_was_looked_at(name: str, ondrel: Path) -> None:
    said = fleetcare(*SCREENS[name])
    assert said.err == ""
    assert widest(said.lines) <= 80
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("FLEETCARE_RENEW_GOLDEN") == "1":
        path.write_bytes(said.out.encode("utf-8"))
    assert said.out.encode("utf-8") == path.read_bytes()
