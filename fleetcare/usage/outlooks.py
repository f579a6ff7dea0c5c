"""What each engine's coming use looks like: from its own past, borrowed while it is new.

A fit that was kept in the fleet file is taken when it stands on the same ground: the same log of
that engine, the same profile (its use's, or what it borrows), the same days on which it will not
run. Made anew it comes out the same to the last digit, so what is kept can never change a date.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple
from zlib import crc32

from fleetcare.fleet.settings import Settings
from fleetcare.rules.words import Use
from fleetcare.usage.components import Carriage
from fleetcare.usage.forecast import (
    Booked,
    Learned,
    Outlook,
    Profile,
    borrowed,
    is_old,
    learn,
    outlook,
    profile_of,
)
from fleetcare.usage.past import blocks_of, known_through
from fleetcare.usage.places import NEVER

if TYPE_CHECKING:
    from fleetcare.fleet.booked import Bookings

FORMAT = 1  # goes up when the model changes, so that no older fit is taken for one of its own
LAUNCH_AFTER = 150  # days laid up where no season says when it will be launched: our choice
BOOKED_AHEAD = 28  # days for which a calendar of bookings is taken to be complete: our choice
MOST_LIKES = 30  # up to so many of its like an engine's own past is taken out of what it borrows


class KeptFit(NamedTuple):
    """A fit as the fleet file keeps it.

    `day` is the last day of the log it was learned from, `ground` what else it stands on.
    """

    day: int
    ground: str
    learned: str
    outlook: bytes


class OthersWantedError(Exception):
    """An engine is too new to be foretold by itself, and the fleet it would borrow from is away."""


class Forecast:
    """The outlooks of the engines of one fleet, made when first asked for.

    `kept` holds the fits whose engines' logs are as they were. `made` gathers those made anew
    that are worth keeping. With bookings nothing is kept: they come from another file. With
    `whole` off the fleet is only a part of one, from which nothing may be borrowed: an engine that
    would is an OthersWantedError.
    """

    def __init__(
        self,
        uses: Mapping[str, Use],
        kept: Mapping[str, KeptFit] | None = None,
        booked: Mapping[str, Booked] | None = None,
        whole: bool = True,
    ) -> None:
        self.uses, self.kept, self.booked, self.whole = uses, kept or {}, booked or {}, whole
        self.made: dict[str, KeptFit] = {}
        self._outlooks: dict[str, Outlook] = {}
        self._learned: dict[str, Learned] = {}
        self._profiles: dict[str, tuple[Profile, str]] = {}
        self._likes: dict[tuple[str, int], list[str]] | None = None
        self._pooled: dict[tuple[str, int], Profile] = {}

    def of(self, carriage: Carriage, engine: str) -> Outlook:
        """What an engine's coming use looks like, from the last day whose hours are known."""
        found = self._outlooks.get(engine)
        if found is None:
            found = self._outlooks[engine] = self._find(carriage, engine)
        return found

    def _find(self, carriage: Carriage, engine: str) -> Outlook:
        profile, ground = self._profile(carriage, engine)
        away, lasting = self._away(carriage, engine)
        booked = self.booked.get(carriage.boat_of(engine) or "")
        kept = self.kept.get(engine) if booked is None else None
        whole = f"{ground} own {away}"
        if kept is not None and kept.ground == whole:
            return Outlook.unpacked(kept.outlook)
        learned = self._learn(carriage, engine)
        if not is_old(learned):
            profile = self._borrowed(carriage, engine, profile)
            whole = f"{ground} {_digest(profile)} {away}"
            if kept is not None and kept.ground == whole:
                return Outlook.unpacked(kept.outlook)
        made = outlook(learned, profile, away, booked)
        if booked is None and lasting:
            day = _last_day(carriage, engine)
            self.made[engine] = KeptFit(day, whole, json.dumps(learned), made.packed())
        return made

    # -- the ground it stands on ----------------------------------------------------------------

    def _use(self, carriage: Carriage, engine: str) -> Use:
        boat = carriage.last_boat_of(engine)
        return self.uses[carriage.fleet.boats[boat].use if boat else "owner"]

    def _profile(self, carriage: Carriage, engine: str) -> tuple[Profile, str]:
        use = self._use(carriage, engine)
        found = self._profiles.get(use.name)
        if found is None:
            profile = profile_of_use(use, carriage.fleet.settings)
            found = self._profiles[use.name] = (profile, f"{FORMAT} {_digest(profile)}")
        return found

    def _away(self, carriage: Carriage, engine: str) -> tuple[tuple[tuple[int, int], ...], bool]:
        """Coming days on which it will not run, and whether they stay so from day to day."""
        idle = carriage.uses[engine].idle
        if not idle or idle[-1][1] != NEVER:
            return (), True
        first = idle[-1][0]
        if carriage.boat_of(engine) is None:
            return ((first, NEVER),), True
        expected = self._launch_after(carriage, engine, first)
        if expected > carriage.as_of:
            return ((first, expected - 1),), True
        return ((first, carriage.as_of),), False  # late for its season: any day now

    def _launch_after(self, carriage: Carriage, engine: str, day: int) -> int:
        """The season's next first day after a lay-up."""
        season = self._use(carriage, engine).season(carriage.fleet.settings)
        if season is None:
            return day + LAUNCH_AFTER
        laid_up = date.fromordinal(day)
        launch = date(laid_up.year, *season[0])
        if launch <= laid_up:
            launch = date(laid_up.year + 1, *season[0])
        return launch.toordinal()

    # -- what it learned, and borrows -----------------------------------------------------------

    def _learn(self, carriage: Carriage, engine: str) -> Learned:
        found = self._learned.get(engine)
        if found is None:
            kept = self.kept.get(engine)
            booked = self.booked.get(carriage.boat_of(engine) or "")
            profile, ground = self._profile(carriage, engine)
            if kept is not None and booked is None and kept.ground.startswith(ground):
                found = _as_learned(kept.learned)
            else:
                use = carriage.uses[engine]
                through = known_through(use)
                blocks = blocks_of(use, carriage.stays[engine], through)
                found = learn(blocks, profile, through, booked)._replace(through=through)
            self._learned[engine] = found
        return found

    def _borrowed(self, carriage: Carriage, engine: str, profile: Profile) -> Profile:
        if not self.whole:
            raise OthersWantedError(engine)
        key = self._kind(carriage, engine)
        likes = self._likes_of(carriage)[key]
        if len(likes) <= MOST_LIKES:
            others = [self._learn(carriage, name) for name in likes if name != engine]
            return borrowed(others, profile)
        if key not in self._pooled:
            self._pooled[key] = borrowed([self._learn(carriage, name) for name in likes], profile)
        return self._pooled[key]

    def _likes_of(self, carriage: Carriage) -> dict[tuple[str, int], list[str]]:
        """Engines by use and water; of one kind in the order of their first names."""
        if self._likes is None:
            self._likes = {}
            first_name = {name: known.first_name for name, known in carriage.known.items()}
            for name in sorted(first_name, key=first_name.__getitem__):
                self._likes.setdefault(self._kind(carriage, name), []).append(name)
        return self._likes

    def _kind(self, carriage: Carriage, engine: str) -> tuple[str, int]:
        water = carriage.uses[engine].home.on(carriage.as_of)
        return self._use(carriage, engine).name, water


def booked_from(bookings: Bookings, as_of: int) -> dict[str, Booked]:
    """By boat, its booked days, where a calendar tells of them without a gap.

    Ahead they are taken to be all for four weeks, since later ones are still to be booked, and
    back as far as the calendar has any. Days nobody could read end what is known.
    """
    found = {}
    for boat, busy in bookings.boats.items():
        days = busy.booked | busy.tentative
        first = min((day for day in days if day <= as_of), default=as_of + 1)
        last = min(bookings.last, as_of + BOOKED_AHEAD)
        for day in sorted(busy.unknown):
            if day <= as_of:
                first = max(first, day + 1)
            else:
                last = min(last, day - 1)
        if last > as_of:
            found[boat] = Booked(days, first, last)
    return found


def profile_of_use(use: Use, settings: Settings) -> Profile:
    """What a use tells of an engine's hours before anything is logged."""
    return profile_of(float(use.hours_a_year), use.season(settings), use.weekdays)


def _as_learned(text: str) -> Learned:
    values: list[Any] = json.loads(text)
    return Learned._make(tuple(item) if isinstance(item, list) else item for item in values)


def _digest(profile: Profile) -> str:
    return f"{crc32(repr(profile).encode()):08x}"


def _last_day(carriage: Carriage, engine: str) -> int:
    """The last day of the log that says anything of an engine's hours."""
    log = carriage.history.of(engine)
    days = [carriage.uses[engine].since, *log.figure_days[-1:], *log.run_days[-1:]]
    days += [day for day, _, _ in log.fuel_runs[-1:]]
    days += [meter.day for meter in log.meters[-1:]]
    days += [day for day, _ in (*log.places[-1:], *log.seasons[-1:])]
    return max(days)
