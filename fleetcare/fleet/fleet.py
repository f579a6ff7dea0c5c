"""A fleet: its id, settings, boats and engines, and how they are found by any of their names."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from fleetcare.errors import RefusedError
from fleetcare.fleet.boats import Boat
from fleetcare.fleet.engines import Engine
from fleetcare.fleet.names import did_you_mean, folded
from fleetcare.fleet.settings import Settings


@dataclass(frozen=True, slots=True)
class Fleet:
    """Everything there is, as it stood when each boat and engine was added."""

    id: str
    settings: Settings
    boats: Mapping[str, Boat]
    engines: Mapping[str, Engine]
    _engine_names: dict[str, str] = field(default_factory=dict, repr=False)
    _boat_names: dict[str, str] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        for index, things in ((self._engine_names, self.engines), (self._boat_names, self.boats)):
            for name, thing in things.items():
                for other in (name, *thing.also):
                    index.setdefault(folded(other), name)
            for name in things:  # a name in use now wins over another one's earlier name
                index[folded(name)] = name

    def engine(self, name: str) -> Engine:
        """The engine of that name; refused with the nearest names when there is none."""
        found = self._engine_names.get(folded(name))
        if found is None:
            raise RefusedError(_unknown("engine", name, self.engines))
        return self.engines[found]

    def boat(self, name: str) -> Boat:
        """The boat of that name; refused with the nearest names when there is none."""
        found = self._boat_names.get(folded(name))
        if found is None:
            raise RefusedError(_unknown("boat", name, self.boats))
        return self.boats[found]

    def boats_at(self, place: str) -> frozenset[str]:
        """The boats that lie at a place, however it is written; none for no place."""
        at = folded(place)
        return frozenset(
            name for name, boat in self.boats.items() if at and folded(boat.place) == at
        )

    def only(self, engines: Collection[str]) -> Fleet:
        """The fleet with these engines alone, and all its boats."""
        some = {name: engine for name, engine in self.engines.items() if name in engines}
        return Fleet(self.id, self.settings, self.boats, some)

    def has_engine(self, name: str) -> bool:
        """Whether any engine answers to that name."""
        return folded(name) in self._engine_names

    def has_boat(self, name: str) -> bool:
        """Whether any boat answers to that name."""
        return folded(name) in self._boat_names


def _unknown(kind: str, name: str, things: Mapping[str, Boat] | Mapping[str, Engine]) -> str:
    if not things:
        return f'no {kind} "{name}": the fleet has none yet (fleetcare {kind} add)'
    known = sorted({other for each, thing in things.items() for other in (each, *thing.also)})
    hint = did_you_mean(name, known) or f"fleetcare {kind} list shows them."
    return f'no {kind} "{name}". {hint}'
