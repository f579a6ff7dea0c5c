"""Headings by their meaning: the small table of words, what a person said, what was kept of it."""

from __future__ import annotations

import re
from collections.abc import Mapping

from fleetcare.errors import RefusedError
from fleetcare.exchange.cell import plain
from fleetcare.exchange.synonyms import ALSO, BY_WORD, FIGURE, MEANINGS
from fleetcare.fleet.names import did_you_mean

_BRACKETS = re.compile(r"[(\[{][^)\]}]*[)\]}]")
_MARKS = re.compile(r"[^\w]+|_+")
LONGEST = 1_000  # letters of a heading in which brackets are looked for
_MINUTES = frozenset(("min", "mins", "minutes", "minuten", "minuti", "minutos"))
_GALLONS = frozenset(("gal", "gals", "gallon", "gallons"))
_LITRES = frozenset(("l", "ltr", "litre", "litres", "liter", "liters", "litri", "litros"))


def key_of(heading: str) -> str:
    """The form in which headings are compared: small letters, words alone."""
    return _MARKS.sub(" ", plain(heading)).strip()


def meaning_of(heading: str, kept: Mapping[str, str]) -> str:
    """What a heading means: as a person said (`kept`, by key), else by the table; or nothing."""
    key = key_of(heading)
    said = kept.get(key)
    if said is not None:
        return said
    bare = key_of(_BRACKETS.sub(" ", plain(heading)[:LONGEST]))
    found = BY_WORD.get(key) or BY_WORD.get(bare, "")
    if found in ("hours", FIGURE) and _MINUTES & set(key.split()):
        return "minutes"
    return found


def fuel_unit(heading: str, unit: str) -> str:
    """The unit of fuel that a heading names, else the fleet's."""
    words = set(key_of(heading).split())
    if words & _GALLONS:
        return "US gallons"
    return "litres" if words & _LITRES else unit


def said_meanings(maps: tuple[tuple[str, str], ...]) -> dict[str, str]:
    """What `--map MEANING=HEADING` says, by the headings' keys; refused when it says nonsense."""
    found: dict[str, str] = {}
    for given, heading in maps:
        word = plain(given)
        meaning = ALSO.get(word, word)
        if meaning not in MEANINGS:
            words = [*MEANINGS, *ALSO]
            near = did_you_mean(word, words) or f"One of {', '.join(MEANINGS)}."
            raise RefusedError(f'--map: "{given}" is no meaning of a column. {near}')
        key = key_of(heading)
        if not key:
            raise RefusedError(f'--map: "{given}={heading}" names no heading')
        if found.setdefault(key, meaning) != meaning:
            raise RefusedError(f'--map: "{heading}" is given two meanings')
    return found
