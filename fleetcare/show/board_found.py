"""What was found and what happened lately, and whether it still waits."""

from __future__ import annotations

from typing import NamedTuple

from fleetcare.flags.standing import Standing
from fleetcare.fleet.names import natural
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_ink import HELD, Ink, name, shortened, text

BACK = 90  # days that are looked back on; what still stands is shown however old it is


class Found(NamedTuple):
    """One finding or incident: its day, its engine, what it was, what it asks for still."""

    day: int
    engine: str
    what: str
    weight: str
    by: str
    stands: Standing | None


def found_of(facts: Facts) -> list[Found]:
    """What was found not fine, and what happened: first what stands, then the newest."""
    first = facts.today - BACK
    found: list[Found] = []
    for engine in facts.by_engine:
        flag = facts.flags.get(engine)
        standing = flag.standing if flag is not None else ()
        log = facts.history.of(engine)
        told = {(item.day, item.what) for item in standing}
        found += [Found(item.day, engine, item.what, "", item.by, item) for item in standing]
        for seen in log.seen:
            condition = facts.book.conditions.get(seen.part, {}).get(seen.condition)
            pieces = f" ({seen.pieces})" if seen.pieces else ""
            what = f"{seen.part} {seen.condition}{pieces}"
            weight = condition.weight if condition is not None else ""
            if weight != "fine" and seen.day >= first and (seen.day, what) not in told:
                found.append(Found(seen.day, engine, what, weight, seen.by, None))
        found += [
            Found(day, engine, kind, "", "", None)
            for day, kind in log.incidents
            if day >= first and (day, kind) not in told
        ]
    return sorted(found, key=_place)


def _place(item: Found) -> tuple[object, ...]:
    stands = item.stands
    rank = 2 if stands is None else 0 if stands.holds else 1
    return (rank, -item.day, natural(item.engine), item.what)


def found_part(facts: Facts, ink: Ink) -> str:
    """The list, what still stands on top."""
    found = found_of(facts)
    if not found:
        none = ink.words("Nothing was found that is not fine in the last {days} days.", days=BACK)
        return f"<p>{text(none)}</p>"
    return shortened([_line(item, ink) for item in found], "found", ink)


def _line(item: Found, ink: Ink) -> str:
    what = name(ink.with_days(item.what))
    out = f"<b>{text(ink.day(item.day))}</b> {ink.with_boat(item.engine)}: {what}"
    if item.by:
        out += f" ({name(item.by)})"
    return f"{out} {_answer(item, ink)}"


def _answer(item: Found, ink: Ink) -> str:
    """What it asks for still, or that it was answered."""
    words, stands = ink.words, item.stands
    if stands is not None:
        chip = ink.chip(HELD) if stands.holds else f"<b>{text(words('wanted'))}</b>"
        rest = [*stands.wanted, *([stands.proof] if stands.proof else [])]
        return f"{chip} {text(', '.join(rest))}" if rest else chip
    if item.weight == "watch":
        return f"<i>{text(words('to be watched'))}</i>"
    if item.weight in ("act", "stop"):
        return f"<i>{text(words('answered since'))}</i>"
    return ""
