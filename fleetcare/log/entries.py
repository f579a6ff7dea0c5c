"""The entries of the log: one frozen record per kind of event, and their union.

Figures of the meter and hours are whole hundredths of an hour, fuel whole hundredths of a
litre, days are dates. `number` is the entry's number in the fleet file, 0 before it is stored.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.fleet.waters import Water


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What every entry has: the day it happened, its number, the role that wrote it, a note."""

    on: date
    number: int = 0
    by: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Line):
    """The hour meter's figure."""

    engine: str
    reading: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Line):
    """Hours or fuel used; `hire_time` marks hours from hires out and in."""

    engine: str
    hours: int | None = None
    fuel: int | None = None
    water: Water | None = None
    reading: int | None = None
    hire_time: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Line):
    """A task done, with what was found."""

    engine: str
    task: str
    reading: int | None = None
    part: str = ""
    condition: str = ""
    count: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Line):
    """The condition of a part as someone saw it."""

    engine: str
    part: str
    condition: str
    count: int | None = None
    reading: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Incident(Line):
    """Something that happened to an engine: overheated, ran dry, swamped."""

    engine: str
    kind: str
    reading: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move(Line):
    """A boat has another home water from this day on."""

    boat: str
    water: Water


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount(Line):
    """An engine goes on a boat."""

    engine: str
    boat: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Store(Line):
    """An engine comes off its boat into store."""

    engine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap(Line):
    """Two engines exchange like components at the start of the day."""

    engine: str
    other: str
    component: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterChange(Line):
    """A meter replaced, rolled over, stopped (no new figure) or fitted (no old one)."""

    engine: str
    old: int | None = None
    new: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LayUp(Line):
    """The engine's season ends."""

    engine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Launch(Line):
    """The engine's season begins."""

    engine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOff(Line):
    """A job is put off until a day; the note holds why."""

    engine: str
    task: str
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Retire(Line):
    """An engine, or a boat without one, leaves the fleet; its history stays."""

    engine: str = ""
    boat: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery(Line):
    """Parts that arrived; `cost` in hundredths of the money unit."""

    item: str
    count: int
    cost: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Count(Line):
    """What the shelf really holds of an item."""

    item: str
    count: int


Entry = (
    Reading
    | Run
    | Job
    | Finding
    | Incident
    | Move
    | Mount
    | Store
    | Swap
    | MeterChange
    | LayUp
    | Launch
    | PutOff
    | Retire
    | Delivery
    | Count
)
