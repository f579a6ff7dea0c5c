"""The board: one page that needs nothing beside it, no network, no other file.

What runs and how it looks is named by its hash in the page's own policy, so nothing that a person
wrote into the fleet can run. It reads whole with scripts off; with them it is searched, filtered
and sorted in the page.
"""

from __future__ import annotations

import base64
import hashlib
import json

from markupsafe import Markup

from fleetcare.show.board_days import days_part, readings_part
from fleetcare.show.board_engines import engines_part, harms_of
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_found import found_part
from fleetcare.show.board_hours import hours_part
from fleetcare.show.board_ink import Ink
from fleetcare.show.board_top import chains_part, held_part
from fleetcare.show.board_wear import plots
from fleetcare.show.pages import environment, page
from fleetcare.show.words import ENGLISH, Words


def board(facts: Facts, words: Words = ENGLISH) -> str:
    """The page; the same facts give the same bytes."""
    ink = ink_of(facts, words)
    style, script = _source("hand.css") + _source("board.css"), _source("board.js")
    return page(
        "board.html", words,
        style=Markup(style), script=Markup(script),
        style_hash=_hash(style), script_hash=_hash(script),
        title=", ".join(filter(None, (facts.fleet.settings.calendar_name, facts.place))),
        iso=facts.as_of.isoformat(), day=ink.weekday(facts.today, with_year=True),
        long_day=words.day(facts.as_of),
        harms=[(ink.harm(harm), json.dumps(tasks)) for harm, tasks in harms_of(facts).items()],
        count=len(facts.by_engine), held_count=len(facts.held & facts.by_engine.keys()),
        leads_count=sum(row.is_precursor for row in facts.rows),
        parts={name: Markup(part) for name, part in _parts(facts, ink).items()},
    )  # fmt: skip


def ink_of(facts: Facts, words: Words) -> Ink:
    """What the page is written with: sections are numbered in the order of the worst engine."""
    places = {engine: number for number, engine in enumerate(facts.by_engine, 1)}
    boats = {engine: facts.carriage.boat_of(engine) for engine in places}
    return Ink(words, facts.as_of, places, boats)


def _parts(facts: Facts, ink: Ink) -> dict[str, str]:
    """The parts of the page, every text in them escaped where it was put in."""
    return {
        "held": held_part(facts, ink),
        "chains": chains_part(facts, ink),
        "engines": engines_part(facts, ink),
        "days": days_part(facts, ink),
        "readings": readings_part(facts, ink),
        "hours": hours_part(facts, ink),
        "found": found_part(facts, ink),
        "plots": plots(facts),
    }


def _source(name: str) -> str:
    """A file that lies with the templates, as it is."""
    engine = environment()
    assert engine.loader is not None
    return engine.loader.get_source(engine, name)[0]


def _hash(content: str) -> str:
    """A hash as a page's policy names it."""
    return "sha256-" + base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
