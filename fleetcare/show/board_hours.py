"""Hours by month and water: a bar a month, in the share that each water had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.show.board_facts import Facts
from fleetcare.show.board_ink import Ink, decimal, text
from fleetcare.usage.hours import NO_HOURS, EngineUse, Mix, minus, plus
from fleetcare.usage.meter import Hours

MONTHS = 13  # so that this month stands beside the same one a year before


@dataclass(frozen=True, slots=True)
class Month:
    """What the fleet ran in a month, or in as much of it as has been: hundredths by water."""

    first: date
    mix: Mix

    @property
    def hours(self) -> Hours:
        """In all waters, without the likely hours."""
        return self.mix[0] + self.mix[1] + self.mix[2]


def months_of(uses: Sequence[EngineUse], as_of: int) -> list[Month]:
    """The last months with this one, from the first in which one of these engines was known."""
    if not uses:
        return []
    since, last = min(use.since for use in uses), as_of
    found: list[Month] = []
    through = _ran_by(uses, last, as_of)
    while len(found) < MONTHS and last >= since:
        first = date.fromordinal(last).replace(day=1)
        last = first.toordinal() - 1
        before = _ran_by(uses, last, as_of)
        found.append(Month(first, minus(through, before)))
        through = before
    return found[::-1]


def _ran_by(uses: Sequence[EngineUse], day: int, as_of: int) -> Mix:
    """What the engines had run by the close of a day, since each was known."""
    total = NO_HOURS
    for use in uses:
        if use.since <= day:
            total = plus(total, use.mix_to(day, as_of))
    return total


def hours_part(facts: Facts, ink: Ink) -> str:
    """A table of months with a bar each; a water that nobody ran in has no column."""
    words = ink.words
    uses = [use for engine, use in facts.carriage.uses.items() if facts.shows(engine)]
    months = months_of(uses, facts.today)
    most = max((month.hours for month in months), default=0)
    if not most:
        return (
            f"<p>{text(words('No hours are known of the last {count} months.', count=MONTHS))}</p>"
        )
    wet = [water for water in range(3) if any(month.mix[water] for month in months)]
    head = "".join(f'<th scope=col class="num w{water}">{text(ink.water(water))}' for water in wet)
    rows = [_row(month, wet, most, ink) for month in reversed(months)]
    return (
        f"<table class=hours><thead><tr><th scope=col>{text(words('month'))}"
        f"<th scope=col><span class=unseen>{text(words('drawn'))}</span>{head}"
        f"<th scope=col class=num>{text(words('hours'))}</thead><tbody>{''.join(rows)}</table>"
    )


def _row(month: Month, wet: list[int], most: Hours, ink: Ink) -> str:
    drawn, at = "", 0
    for water in wet:
        width = _hundredths_of_a_percent(month.mix[water], most)
        if width:
            drawn += f"<rect class=w{water} x={decimal(at, 2)}% width={decimal(width, 2)}% />"
        at += width
    cells = "".join(f"<td class=num>{ink.figure(month.mix[water], 1)}" for water in wet)
    return (
        f"<tr><th scope=row>{text(_name(month.first, ink))}<td><svg>{drawn}</svg>{cells}"
        f"<td class=num>{ink.figure(month.hours, 1)}"
    )


def _hundredths_of_a_percent(part: Hours, whole: Hours) -> int:
    return round(Fraction(part) * 10_000 / whole)


def _name(first: date, ink: Ink) -> str:
    words = ink.words
    names = (
        words("Jan"), words("Feb"), words("Mar"), words("Apr"), words("May"), words("Jun"),
        words("Jul"), words("Aug"), words("Sep"), words("Oct"), words("Nov"), words("Dec"),
    )  # fmt: skip
    return f"{names[first.month - 1]} {first.year}"
