"""Boats, and what they are used for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.waters import Water

USES: tuple[str, ...] = ("hire", "club", "owner")


@dataclass(frozen=True, slots=True)
class Boat:
    """A hull: its use, the water it lies in on `since` (moves follow in the log), its place."""

    name: str
    use: str
    water: Water
    since: date
    place: str = ""
    also: tuple[str, ...] = ()
