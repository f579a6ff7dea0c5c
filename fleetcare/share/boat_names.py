"""Boats named in a text: any of their names, as whole words, in capitals or not."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fleetcare.fleet.names import folded

if TYPE_CHECKING:
    from fleetcare.fleet.fleet import Fleet


class BoatNames:
    """The names of a fleet's boats, ready to be looked for."""

    def __init__(self, fleet: Fleet) -> None:
        self._boat = {folded(boat.name): boat.name for boat in fleet.boats.values()}
        for boat in fleet.boats.values():
            for other in boat.also:
                self._boat.setdefault(folded(other), boat.name)
        names = sorted(self._boat, key=len, reverse=True)  # the longest that fits is the one meant
        self._any = re.compile(rf"(?<!\w)(?=({'|'.join(map(re.escape, names))})(?!\w))")

    def in_text(self, text: str) -> tuple[str, ...]:
        """Every boat that a text names, in the order of the text.

        A name inside a longer one is not meant: "Lark Two" does not name the boat Lark.
        """
        found: list[str] = []
        for line in text.split("\n") if self._boat else ():
            end = 0
            for hit in self._any.finditer(folded(line)):
                if hit.end(1) > end:  # else it lies inside the one before
                    found.append(self._boat[hit[1]])
                    end = hit.end(1)
        return tuple(dict.fromkeys(found))
