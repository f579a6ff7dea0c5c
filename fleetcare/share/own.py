"""Who is concerned by what, looked up by boat and by engine.

A fleet may have as many feeds as boats, and each is about a handful of jobs. Looking through all
jobs for every feed would take the square of the fleet.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fleetcare.share.audiences import BOAT, ENGINE, Audience
from fleetcare.show.events import EARLY, JOB, About, Event

Key = tuple[str, str | None]


class Own:
    """The places in a list at which a boat or an engine stands, in their order.

    `apart` are places that everybody must look at. Lists are made when first asked for.
    """

    __slots__ = ("_abouts", "_apart", "_found")

    def __init__(self, abouts: Sequence[About], apart: Iterable[int] = ()) -> None:
        self._abouts, self._apart = abouts, frozenset(apart)
        self._found: dict[Key, list[int]] | None = None

    def places(self, audience: Audience) -> Sequence[int]:
        """Where to look for what concerns an audience; everything it takes is among it."""
        if audience.kind not in (BOAT, ENGINE):
            return range(len(self._abouts))
        if self._found is None:
            self._found = self._sorted_out()
        name = audience.name
        if audience.kind == BOAT:
            name = audience.today or name
        mine = self._found.get((audience.kind, name), [])
        return sorted((*mine, *self._apart)) if self._apart else mine

    def _sorted_out(self) -> dict[Key, list[int]]:
        found: dict[Key, list[int]] = {}
        for at, about in enumerate(self._abouts):
            if at not in self._apart:
                found.setdefault((BOAT, about.boat), []).append(at)
                found.setdefault((ENGINE, about.first_name), []).append(at)
        return found


def own_rows(abouts: Sequence[About]) -> Own:
    """For the rows of the due list."""
    return Own(abouts)


def own_events(events: Sequence[Event]) -> Own:
    """For events; those of days and seasons stand apart, since they name no engine alone."""
    apart = [at for at, event in enumerate(events) if event.kind not in (JOB, EARLY)]
    return Own([event.about for event in events], apart)
