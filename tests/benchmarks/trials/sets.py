"""The sets of engines that the forecast is judged on, and which seeds are for what."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import lru_cache

from fleetcare.rules.shipped import shipped_folder
from fleetcare.usage.forecast import Profile, borrowed, learn, profile_of
from tests.benchmarks.trials.aircraft import aircraft
from tests.benchmarks.trials.people import FIRST, fleet
from tests.benchmarks.trials.series import Series, origins

USES = ("hire", "club", "owner")
TUNING = range(1, 9)
FRESH = range(9001, 9013)
LEFT = {"hire": (10.0, 150.0), "club": (10.0, 100.0), "owner": (5.0, 50.0),
        "aircraft": (5.0, 50.0)}  # fmt: skip
LAST_ORIGIN = 365 * 6  # three years of truth remain after it

Engines = list[tuple[Series, list[int]]]


@lru_cache
def profile(use: str) -> Profile:
    """The shipped profile of a use, in the north."""
    data = tomllib.loads((shipped_folder() / "uses.toml").read_text(encoding="utf-8"))["use"][use]
    season = data["season"]["northern"]
    first, last = (_month_day(season[end]) for end in ("from", "to"))
    return profile_of(float(data["hours_a_year"]), (first, last), data["weekday"])


def _month_day(text: str) -> tuple[int, int]:
    month, day = text.split("-")
    return int(month), int(day)


def boats(use: str, seeds: Sequence[int]) -> list[list[Series]]:
    """The boats of each fleet."""
    return [
        [
            Series(boat.first.toordinal(), boat.hours, boat.read, f"{use} {seed}", use,
                   frozenset(boat.booked))
            for boat in fleet(use, seed)
        ]
        for seed in seeds
    ]  # fmt: skip


def known(fleets: Sequence[Sequence[Series]], apart: int = 45) -> Engines:
    """Engines with more than a year's log, from two years into the world on."""
    out: Engines = []
    for series in (one for boats_of_it in fleets for one in boats_of_it):
        behind = series.first - FIRST.toordinal()
        begin = max(400, 365 * 2 - behind)
        out.append((series, origins(series, begin, LAST_ORIGIN - behind, apart)))
    return out


def new(fleets: Sequence[Sequence[Series]]) -> Engines:
    """Engines that came later than the first day, in their first two hundred days."""
    return [
        (series, origins(series, 0, 200, 14))
        for its_boats in fleets
        for series in its_boats
        if series.first > FIRST.toordinal()
    ]


class Borrowing:
    """What a new engine borrows of its fleet, from what was known on the day."""

    def __init__(self, fleets: Sequence[Sequence[Series]]) -> None:
        self.fleets = {its_boats[0].unit: its_boats for its_boats in fleets}

    def __call__(self, series: Series, at: int) -> Profile:
        own = profile(series.use)
        day = series.first + at
        likes = []
        for other in self.fleets[series.unit]:
            read = [index for index in other.read if other.first + index <= day]
            if other is not series and read:
                likes.append(learn(other.blocks(read[-1]), own, other.first - 1))
        return borrowed(likes, own)


def planes(part: int) -> tuple[Engines, dict[int, Profile]]:
    """Every fourth aircraft, and the fleet's flat profile by the day of the origin."""
    chosen = aircraft()[part::4]
    days = [index for index in chosen[0].read if 118 <= index < 335][::2]
    level = {}
    for at in days:
        flown = sum(series.total(0, at + 1) for series in chosen)
        level[at] = profile_of(flown / len(chosen) / (at + 1) * 365.25, None, [1.0] * 7)
    return [(series, days) for series in chosen], level
