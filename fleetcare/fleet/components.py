"""The parts of an engine that can move to another one, and so carry their own history."""

from __future__ import annotations

from typing import NamedTuple

COMPONENTS: tuple[str, ...] = (
    "powerhead",
    "mid-section",
    "gearcase",
    "carburettor",
    "ignition",
    "fuel pump",
    "lower cowling",
)


class Component(NamedTuple):
    """A component by the first name of the engine it came with, and its kind."""

    engine: str
    kind: str
