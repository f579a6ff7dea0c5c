"""What every part of the board is written with: escaped text, days, links to an engine's section.

Pieces are put together as strings, since a template's loop over thousands of rows takes longer
than working the rows out. Whatever a person wrote goes through `text` or `name`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import lru_cache
from html import escape

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE
from fleetcare.fleet.figures import shown
from fleetcare.show.words import Words

HELD = "held"
MOST = 24  # rows of a list before the rest is folded
_ISO = re.compile(r"\b(?:19|20|21)\d\d-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])\b")
KINDS: Mapping[str, str] = {
    OVERDUE: "overdue", NO_RECORD: "no-record", DUE: "due", CLEAR: "clear", HELD: "held"
}  # fmt: skip


@lru_cache(maxsize=8192)  # names of jobs come again by the thousand
def text(value: str) -> str:
    """A text as it may stand in a page, in an element or a quoted attribute."""
    return escape(value, quote=True)


def name(value: str) -> str:
    """A name, kept from turning the direction of what stands beside it."""
    return f"<bdi>{text(value)}</bdi>"


def decimal(value: int, places: int) -> str:
    """A whole number of the last place as a decimal, without needless zeros."""
    whole, rest = divmod(value, 10**places)
    return f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".") if rest else str(whole)


def millionths(share: Fraction) -> int:
    """A share in millionths, rounded half up, as the due list's JSON has it."""
    return (2 * share.numerator * 1_000_000 + share.denominator) // (2 * share.denominator)


@dataclass(slots=True)
class Ink:
    """The reader's words, the day looked at, and where each engine's section stands."""

    words: Words
    as_of: date
    places: Mapping[str, int]
    boats: Mapping[str, str | None] = field(default_factory=dict)
    _days: dict[int, str] = field(default_factory=dict)
    _beside: dict[tuple[int, int], str] = field(default_factory=dict)

    def day(self, day: int) -> str:
        """A day as people say it, with the year when it is another one."""
        said = self._days.get(day)
        if said is None:
            said = self._days[day] = self.words.day(date.fromordinal(day), self.as_of)
        return said

    def beside(self, day: int, other: int) -> str:
        """A day that stands beside another one: with its year only where that is another."""
        near = date.fromordinal(other)
        said = self._beside.get((day, near.year))
        if said is None:
            said = self.words.day(date.fromordinal(day), near)
            self._beside[day, near.year] = said
        return said

    def weekday(self, day: int, with_year: bool = False) -> str:
        """A day with its day of the week, which is how people plan."""
        words = self.words
        names = (
            words("Mon {day}"), words("Tue {day}"), words("Wed {day}"), words("Thu {day}"),
            words("Fri {day}"), words("Sat {day}"), words("Sun {day}"),
        )  # fmt: skip
        said = self.words.day(date.fromordinal(day)) if with_year else self.day(day)
        return names[(day - 1) % 7].replace("{day}", said)

    def with_days(self, told: str) -> str:
        """A text of another room in the reader's language, its days as people say them."""
        said = self.words.again(told, self.as_of)
        return _ISO.sub(lambda hit: self.day(date.fromisoformat(hit[0]).toordinal()), said)

    def hours(self, value: int | Fraction) -> str:
        """Hundredths of an hour as a number without its sign, rounded as the JSON has it."""
        if not isinstance(value, int):
            value = (2 * value.numerator + value.denominator) // (2 * value.denominator)
        return self.figure(abs(value), 2)

    def figure(self, value: int | Fraction, decimals: int) -> str:
        """Hundredths as a number with the reader's decimal sign, without one for thousands."""
        return shown(value, decimals).replace(".", self.words.point)

    def engine(self, engine: str) -> str:
        """A link to an engine's section; the name alone where it has none."""
        place = self.places.get(engine)
        return name(engine) if place is None else f"<a href=#e{place}>{name(engine)}</a>"

    def with_boat(self, engine: str) -> str:
        """An engine's link, and the boat it is on."""
        boat = self.boats.get(engine)
        return self.engine(engine) if boat is None else f"{self.engine(engine)}, {name(boat)}"

    def status(self, status: str) -> str:
        """The word of a status."""
        words = self.words
        return {
            OVERDUE: words("overdue"), NO_RECORD: words("no record"), DUE: words("due"),
            CLEAR: words("clear"), HELD: words("held"),
        }[status]  # fmt: skip

    def chip(self, status: str) -> str:
        """The word of a status on its colour and pattern."""
        return f"<span class={KINDS[status]}>{text(self.status(status))}</span>"

    def water(self, water: int) -> str:
        """The word of a water."""
        words = self.words
        return (words("fresh"), words("brackish"), words("salt"))[water]

    def harm(self, harm: str) -> str:
        """What a job leads to when it is skipped; the reader's word for the two worst."""
        words = self.words
        known = {
            "overheating": words("overheating"), "seized swivel": words("seized swivel")
        }  # fmt: skip
        return known.get(harm, harm)


def listed(items: Iterable[str], kind: str = "") -> str:
    """A list out of finished pieces of HTML; closing tags that HTML does without are left out."""
    rows = "".join([f"<li>{item}" for item in items])
    return f'<ul class="{kind}">{rows}</ul>' if kind else f"<ul>{rows}</ul>"


def folded(summary: str, body: str, kind: str = "fold") -> str:
    """A part that opens when it is asked for, with scripts or without."""
    return f"<details class={kind}><summary>{summary}</summary>{body}</details>"


def shortened(items: Sequence[str], kind: str, ink: Ink, most: int = MOST) -> str:
    """A list, of which the end is folded where it is long."""
    if len(items) <= most * 3 // 2:
        return listed(items, kind)
    rest = ink.words("{count} more", count=len(items) - most)
    return listed(items[:most], kind) + folded(text(rest), listed(items[most:], kind))
