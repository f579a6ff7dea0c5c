"""What the board shows, out of the fleet file, and the page made of it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from fleetcare.cli.context import Desk

if TYPE_CHECKING:
    from fleetcare.cli.looking import View
    from fleetcare.plan.records import Plan
    from fleetcare.repair.wear import Point, Wear
    from fleetcare.show.board_facts import Facts
    from fleetcare.store.fleet_file import FleetFile

CURVE_POINTS = 20  # enough for a small drawing, at a third of the time


def page_of(
    desk: Desk, as_of: date, language: str | None = None, place: str | None = None
) -> bytes:
    """The board's page as bytes, in the language asked for, else the fleet's."""
    from fleetcare.cli.naming import words_of
    from fleetcare.show.board import board

    facts = facts_of(desk, as_of, place)
    return board(facts, words_of(facts.fleet, language)).encode()


def facts_of(desk: Desk, as_of: date, place: str | None = None) -> Facts:
    """Everything that the board shows, as of a day, of one place if it is named."""
    from fleetcare.cli.looking import view_of
    from fleetcare.flags.morning import morning
    from fleetcare.show.board_facts import Facts
    from fleetcare.usage.components import Carriage

    with desk.open() as file:
        boats, only = _at(file, place)
        seen = view_of(file, desk, as_of, words=False, every_job=True, only=only)
        plan = _kept_plan(file)
    verdicts = morning(seen.rows, seen.flags, seen.fleet, seen.history, as_of)
    fleet = seen.fleet if only is None else seen.fleet.only(seen.history.engines)
    facts = Facts(
        fleet=fleet, history=seen.history, book=seen.book,
        carriage=Carriage(fleet, seen.history, as_of.toordinal()),
        as_of=as_of, rows=tuple(seen.rows), flags=seen.flags, held=seen.held,
        verdicts=tuple(verdicts), plan=plan, wears=_wears(seen, as_of),
    )  # fmt: skip
    return facts if boats is None else _of_place(facts, boats)


def _at(file: FleetFile, place: str | None) -> tuple[frozenset[str] | None, Collection[str] | None]:
    """The boats that lie at a place, and in a large fleet whom alone to read for them."""
    from fleetcare.cli.naming import boats_at
    from fleetcare.show.board_facts import LARGE

    if place is None:
        return None, None
    fleet = file.fleet()
    boats = boats_at(fleet, place)
    return boats, file.engines_of(boats) if len(fleet.engines) > LARGE else None


def _of_place(facts: Facts, boats: frozenset[str]) -> Facts:
    """What of it concerns the boats that lie at a place."""
    from fleetcare.plan.telling import only_engines

    there = frozenset(
        engine for engine in facts.carriage.known if facts.carriage.boat_of(engine) in boats
    )
    return replace(
        facts,
        rows=tuple(row for row in facts.rows if row.engine in there),
        flags={engine: flag for engine, flag in facts.flags.items() if engine in there},
        held=facts.held & there,
        verdicts=tuple(item for item in facts.verdicts if item.boat in boats),
        plan=None if facts.plan is None else only_engines(facts.plan, there),
        place=facts.fleet.boats[min(boats)].place,
        there=there,
    )


def _kept_plan(file: FleetFile) -> Plan | None:
    """The plan that is kept; none when there is none, or one of another form."""
    from fleetcare.plan.kept import from_text
    from fleetcare.store.plans import fetch_plan

    with file.reading():
        kept = fetch_plan(file.connection)
    try:
        return None if kept is None else from_text(kept[1])
    except ValueError:
        return None


def _wears(seen: View, as_of: date) -> tuple[tuple[Wear, tuple[Point, ...]], ...]:
    """The groups of parts of which enough was found to say something, with their curves.

    None in a large fleet, where a drawing or more at each engine would outweigh all the rest.
    """
    from fleetcare.repair.costs import Rates
    from fleetcare.repair.findings import lives_of_parts
    from fleetcare.repair.wear import ENOUGH, curve, judged
    from fleetcare.show.board_facts import LARGE

    looks = any(log.seen for log in seen.history.engines.values())
    if not looks or len(seen.fleet.engines) > LARGE:
        return ()
    found = lives_of_parts(seen.fleet, seen.history, seen.book, as_of.toordinal())
    enough = [lives for lives in found if len(lives.lives) >= ENOUGH or lives.worn]
    judgements = [judged(lives, seen.book, Rates()) for lives in enough]
    return tuple((item, tuple(curve(item, CURVE_POINTS))) for item in judgements)
