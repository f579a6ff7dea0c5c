"""The words around the rules: uses, conditions of parts, incidents, read from TOML."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from fleetcare.errors import Fault
from fleetcare.fleet.names import did_you_mean, folded
from fleetcare.fleet.settings import Settings, month_day, season_of

WEIGHTS: tuple[str, ...] = ("fine", "watch", "act", "stop")
NOT_LOOKED_AT = "not looked at"
EVEN_WEEK: tuple[float, ...] = (1 / 7,) * 7


class Use(NamedTuple):
    """What a boat is used for: the hours such a one runs in a year, its season by hemisphere.

    `weekdays` are the days' shares of a week's hours, Monday first.
    """

    name: str
    title: str
    hours_a_year: Fraction
    seasons: Mapping[str, tuple[tuple[int, int], tuple[int, int]]]
    source: str
    weekdays: tuple[float, ...] = EVEN_WEEK

    def season(self, settings: Settings) -> tuple[tuple[int, int], tuple[int, int]] | None:
        """First and last (month, day) of the season; None where it lasts all year."""
        own = season_of(settings.season) if settings.season else None
        return own or self.seasons.get(settings.hemisphere)


Proof = tuple[tuple[str, str], ...]  # parts and words, any of which proves it


class Twice(NamedTuple):
    """What a condition met again within so many days holds the engine for."""

    days: int
    follow_up: tuple[str, ...]
    lifts: str


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition of a part: its weight, the jobs it asks for, what lifts a hold it brings.

    `proof` are groups of findings: of each, one must be seen. With `again` a job that found it
    does not answer it; with `undone` that job does not count as done at all.
    """

    part: str
    word: str
    weight: str
    follow_up: tuple[str, ...] = ()
    count: bool = False
    lifts: str = ""
    source: str = ""
    proof: tuple[Proof, ...] = ()
    again: bool = False
    undone: bool = False
    twice: Twice | None = None


class IncidentKind(NamedTuple):
    """Something that can happen to an engine, and the jobs without which it must not go out."""

    name: str
    title: str
    holds_until: tuple[str, ...] = ()
    caution: str = ""
    source: str = ""


def read_uses(data: Mapping[str, Any], where: str) -> dict[str, Use] | list[Fault]:
    """The uses of boats out of parsed TOML."""
    uses: dict[str, Use] = {}
    faults: list[Fault] = []
    for name, row in data.get("use", {}).items():
        seasons = {}
        for hemisphere, days in row.get("season", {}).items():
            begin, end = month_day(str(days.get("from"))), month_day(str(days.get("to")))
            if begin and end:
                seasons[hemisphere] = (begin, end)
            else:
                faults.append(
                    Fault(f'{where}: use "{name}": season.{hemisphere}', "takes from and to, MM-DD")
                )
        hours = row.get("hours_a_year")
        if not isinstance(hours, int) or hours <= 0:
            faults.append(Fault(f'{where}: use "{name}": hours_a_year', "takes a whole number"))
            continue
        week = row.get("weekday", EVEN_WEEK)
        if not _is_week(week):
            faults.append(
                Fault(f'{where}: use "{name}": weekday', "takes seven shares, Monday first, sum 1")
            )
            continue
        uses[name] = Use(
            name, row.get("title", name), Fraction(hours), seasons, row.get("source", ""),
            tuple(map(float, week)),
        )  # fmt: skip
    return faults or uses


def _is_week(shares: Any) -> bool:
    return (
        isinstance(shares, list | tuple)
        and len(shares) == 7
        and all(isinstance(share, int | float | Decimal) and share >= 0 for share in shares)
        and abs(sum(shares) - 1) < 0.001
    )


def read_conditions(
    data: Mapping[str, Any], where: str
) -> dict[str, dict[str, Condition]] | list[Fault]:
    """The condition words of each part; "not looked at" is a word of every part."""
    parts: dict[str, dict[str, Condition]] = {}
    faults: list[Fault] = []
    for part, row in data.get("part", {}).items():
        words: dict[str, Condition] = {}
        twice = row.get("twice")
        again = Twice(twice["days"], tuple(twice["follow_up"]), twice["lifts"]) if twice else None
        for item in row.get("conditions", []):
            place = f'{where}: part "{part}": "{item.get("word")}"'
            if item.get("weight") not in WEIGHTS:
                faults.append(Fault(place, "weight is one of " + ", ".join(WEIGHTS)))
                continue
            words[item["word"]] = Condition(
                part,
                item["word"],
                item["weight"],
                tuple(item.get("follow_up", ())),
                bool(item.get("count", False)),
                item.get("lifts", ""),
                item.get("source", row.get("source", "")),
                tuple(_proof(group) for group in item.get("proof", ())),
                bool(item.get("again", False)),
                bool(item.get("undone", False)),
                again if item["weight"] == "act" else None,
            )
        words[NOT_LOOKED_AT] = Condition(part, NOT_LOOKED_AT, "watch", source="our design choice")
        parts[part] = words
    return faults or parts


def _proof(group: Iterable[str]) -> Proof:
    """The findings that prove one thing, each written as part: word."""
    pairs = (item.partition(": ") for item in group)
    return tuple((part, word) for part, _, word in pairs)


def read_incidents(data: Mapping[str, Any], where: str) -> dict[str, IncidentKind] | list[Fault]:
    """The kinds of incident out of parsed TOML."""
    return {
        name: IncidentKind(
            name,
            row.get("title", name),
            tuple(row.get("holds_until", ())),
            row.get("caution", ""),
            row.get("source", ""),
        )
        for name, row in data.get("incident", {}).items()
    }


def find_condition(
    conditions: Mapping[str, Mapping[str, Condition]], part: str, word: str
) -> Condition | Fault:
    """The condition a part and a word name, or what is wrong with them."""
    parts = {folded(name): name for name in conditions}
    if folded(part) not in parts:
        near = did_you_mean(part, conditions)
        return Fault(f'part "{part}"', "is not a part conditions are known for", near)
    name = parts[folded(part)]
    words = {folded(known): known for known in conditions[name]}
    if folded(word) not in words:
        known = ", ".join(conditions[name])
        return Fault(
            f'condition "{word}"', f'is not one of the words for "{name}"', f"One of: {known}"
        )
    return conditions[name][words[folded(word)]]
