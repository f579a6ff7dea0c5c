"""Whom a feed is for: the words that name an audience, and which events it takes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from fleetcare.errors import RefusedError
from fleetcare.fleet.boats import USES
from fleetcare.fleet.fleet import Fleet
from fleetcare.fleet.names import did_you_mean, folded, tidy
from fleetcare.show.events import EARLY, JOB, SERVICE_DAY, About, Event

FLEET, BOAT, ENGINE, USE, TASK = "fleet", "boat", "engine", "use", "task"
PLACE = "place"  # all boats that lie at one
HARMS = "hot-or-stiff"  # what leads to overheating or a seized swivel
SERVICE_DAYS = "service-days"
ALONE = (FLEET, HARMS, SERVICE_DAYS)
WITH_NAME = (BOAT, ENGINE, PLACE, USE, TASK)
WHOLE_DAY = About()  # of a service day as the workshop sees it, whichever boats come in
KINDS = "fleet, boat NAME, engine NAME, place NAME, use hire, hot-or-stiff, service-days, task NAME"


@dataclass(frozen=True, slots=True)
class Audience:
    """A kind of feed and, for five of them, whose.

    `name` is the one an engine was first known by, or a boat had when the feed was made; `today`
    is the boat's name now. `boats` are those that lie at a place.
    """

    kind: str
    name: str = ""
    today: str = field(default="", compare=False)
    boats: frozenset[str] = field(default=frozenset(), compare=False)

    @property
    def kept(self) -> str:
        """The text under which it is kept."""
        return f"{self.kind} {self.name}" if self.name else self.kind

    def takes(self, about: About) -> bool:
        """Whether a job of this kind is in the feed."""
        if self.kind == BOAT:
            return about.boat is not None and about.boat == (self.today or self.name)
        if self.kind == PLACE:
            return about.boat in self.boats
        given = {ENGINE: about.first_name, USE: about.use, TASK: about.task}
        if self.kind in given:
            return given[self.kind] == self.name
        return self.kind == FLEET or (self.kind == HARMS and about.harms)

    def takes_event(self, event: Event, uses: Collection[str]) -> bool:
        """Whether the feed shows an event; `uses` are those of the engines it concerns."""
        if event.kind in (JOB, EARLY):
            return self.takes(event.about)
        if event.kind == SERVICE_DAY:
            if event.about == WHOLE_DAY:
                return self.kind in (FLEET, SERVICE_DAYS)
            return self.kind in (BOAT, ENGINE, PLACE, USE) and self.takes(event.about)
        return self.kind in (FLEET, BOAT, ENGINE, PLACE, USE) and event.about.use in uses


def from_kept(text: str, fleet: Fleet) -> Audience:
    """The audience out of the text under which it is kept."""
    kind, _, name = text.partition(" ")
    if kind == PLACE:
        return Audience(kind, name, boats=fleet.boats_at(name))
    is_known = kind == BOAT and fleet.has_boat(name)
    return Audience(kind, name, fleet.boat(name).name if is_known else "")


def read_audience(words: str, fleet: Fleet, tasks: Collection[str]) -> Audience:
    """The audience that was typed; refused with the nearest names when there is none."""
    kind, _, name = tidy(words).partition(" ")
    kind = folded(kind)
    if kind not in (*ALONE, *WITH_NAME):
        hint = did_you_mean(kind, (*ALONE, *WITH_NAME))
        raise RefusedError(f'no audience "{words}". {f"{hint} " if hint else ""}One of: {KINDS}')
    if kind in ALONE:
        if name:
            raise RefusedError(f'the audience "{kind}" takes no name, and "{name}" is one')
        return Audience(kind)
    if not name:
        raise RefusedError(f'the audience "{kind}" takes a name: --of {kind} NAME')
    known = _known(kind, name, fleet, tasks)
    return Audience(kind, known, boats=fleet.boats_at(known) if kind == PLACE else frozenset())


def _known(kind: str, name: str, fleet: Fleet, tasks: Collection[str]) -> str:
    if kind == ENGINE:
        return fleet.engine(name).first_name
    if kind == BOAT:
        return fleet.boat(name).name
    known: Sequence[str] = USES if kind == USE else sorted(tasks)
    if kind == PLACE:
        known = sorted({boat.place for boat in fleet.boats.values() if boat.place})
    for each in known:
        if folded(each) == folded(name):
            return each
    listed = {
        USE: f"One of: {', '.join(USES)}", PLACE: "fleetcare boat list shows them."
    }.get(kind, "fleetcare due --all lists them.")  # fmt: skip
    raise RefusedError(f'no {kind} "{name}". {did_you_mean(name, known) or listed}')


def shown(audience: Audience, fleet: Fleet) -> str:
    """The audience in words, with the names of today."""
    name = _name_today(audience, fleet)
    return f"{audience.kind} {name}" if name else audience.kind


def feed_name(audience: Audience, fleet: Fleet) -> str:
    """What calendars call a feed: the fleet's own name for them, and whose it is."""
    whole = fleet.settings.calendar_name or "Outboard jobs"
    part = {
        FLEET: "",
        HARMS: "what leads to overheating or a seized swivel",
        SERVICE_DAYS: "service days",
        USE: f"{audience.name} boats",
    }.get(audience.kind, _name_today(audience, fleet))
    return f"{whole}: {part}" if part else whole


def _name_today(audience: Audience, fleet: Fleet) -> str:
    if audience.kind == ENGINE:
        for engine in fleet.engines.values():
            if engine.first_name == audience.name:
                return engine.name
    return audience.today or audience.name
