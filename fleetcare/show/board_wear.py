"""How long parts last, by what was found: each group's curve is drawn once, and shown at engines.

At an engine stands the same curve with a mark at the life its own part has used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleetcare.due.records import Due
from fleetcare.repair.findings import Group
from fleetcare.repair.wear import Point, Wear
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_ink import Ink, decimal, text
from fleetcare.show.wear_plot import at

WIDE, HIGH = 300, 90
FLOOR = 76  # of the curve; what was found stands below
Curve = tuple[Point, ...]


def plots(facts: Facts) -> str:
    """Every group's drawing as a symbol, numbered as in `wears`."""
    return "".join(
        f'<symbol id=w{number} viewBox="0 0 {WIDE} {HIGH}">{_drawn(item, curve)}</symbol>'
        for number, (item, curve) in enumerate(facts.wears)
    )


def by_group(facts: Facts) -> Mapping[Group, tuple[int, Wear, Curve]]:
    """The groups by what they are, with their numbers."""
    return {
        item.lives.group: (number, item, curve) for number, (item, curve) in enumerate(facts.wears)
    }


def wears_of(
    engine: str, rows: Sequence[Due], facts: Facts,
    groups: Mapping[Group, tuple[int, Wear, Curve]], ink: Ink,
) -> str:  # fmt: skip
    """The curves that an engine's jobs have, each with the life its own part has used."""
    if not groups:
        return ""
    ruleset = facts.fleet.engines[engine].rules or facts.fleet.settings.rules
    boat = facts.carriage.last_boat_of(engine)
    use = facts.fleet.boats[boat].use if boat else "owner"
    out = ""
    for row in rows:
        known = groups.get(Group(ruleset, row.rule.name, row.water, use))
        if known is not None and row.life_used is not None:
            out += _figure(row, *known, ink)
    return f"<div class=wears>{out}</div>" if out else ""


def _figure(row: Due, number: int, item: Wear, curve: Curve, ink: Ink) -> str:
    words, to = ink.words, curve[-1].age
    used = float(row.life or 0)
    here = at(curve, used)
    said = words(
        "{job}: of 100 such parts {count} are still good at this life ({low} to {high}); "
        "{found} looked at, {worn} worn out",
        job=row.rule.name, count=_of_100(here.middle), low=_of_100(here.low),
        high=_of_100(here.high), found=len(item.lives.lives), worn=item.lives.worn,
    )  # fmt: skip
    x = decimal(round(WIDE * min(1.0, used / to) * 10), 1)
    mark = f"<path class=m d=M{x},0V{FLOOR} />"
    return (
        f'<figure><svg class=wear viewBox="0 0 {WIDE} {HIGH}" aria-hidden=true>'
        f"<use href=#w{number} />{mark}</svg><figcaption>{text(said)}</figcaption></figure>"
    )


def _of_100(share: float) -> int:
    return round(share * 100)


def _drawn(item: Wear, curve: Curve) -> str:
    """The band, the curve, the limit, and below them what was found: fine, or worn out."""
    to = curve[-1].age
    upper = [_point(point.age, point.high, to) for point in curve]
    lower = [_point(point.age, point.low, to) for point in reversed(curve)]
    middle = [_point(point.age, point.middle, to) for point in curve]
    fine = {_x(life.fine, to) for life in item.lives.lives if life.worn is None}
    worn = {_x(life.worn, to) for life in item.lives.lives if life.worn is not None}
    out = (
        f'<path class=a d="M0,{FLOOR}H{WIDE}"/>'
        f'<polygon class=b points="{" ".join(upper + lower)}"/>'
        f'<polyline points="{" ".join(middle)}"/>'
        f'<path class=l d="M{_x(1.0, to)},0V{FLOOR}"/>'
    )
    for kind, places in (("g", fine), ("x", worn)):
        if places:
            marks = "".join(f"M{x},{FLOOR + 2}v10" for x in sorted(places))
            out += f'<path class={kind} d="{marks}"/>'
    return out


def _x(age: float, to: float) -> int:
    return round(WIDE * min(1.0, age / to))


def _point(age: float, share: float, to: float) -> str:
    return f"{_x(age, to)},{round(FLOOR - (FLOOR - 4) * share)}"
