"""Every engine's section: its bars on the common scale, its clear jobs folded, its history."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.repair.findings import Group
from fleetcare.repair.wear import Wear
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_history import Scale, history_of, scale_of
from fleetcare.show.board_ink import HELD, Ink, folded, name, text
from fleetcare.show.board_rows import clear_row, listed_row
from fleetcare.show.board_wear import Curve, by_group, wears_of


def engines_part(facts: Facts, ink: Ink) -> str:
    """The sections, the worst engine first."""
    scale, groups = scale_of(facts), by_group(facts)
    return "".join(
        [
            _section(engine, rows, facts, ink, scale, groups)
            for engine, rows in facts.by_engine.items()
        ]
    )


def harms_of(facts: Facts) -> dict[str, list[str]]:
    """What jobs lead to, each with the jobs that do, in the order in which it is first met."""
    found: dict[str, dict[str, None]] = {}
    for row in facts.rows:
        for harm in row.rule.leads_to:
            found.setdefault(harm, {})[row.rule.name] = None
    return {harm: list(tasks) for harm, tasks in found.items()}


def _section(
    engine: str, rows: Sequence[Due], facts: Facts, ink: Ink, scale: Scale,
    groups: Mapping[Group, tuple[int, Wear, Curve]],
) -> str:  # fmt: skip
    words = ink.words
    asking = [listed_row(row, ink) for row in rows if row.status != CLEAR]
    clear = [clear_row(row, ink) for row in rows if row.status == CLEAR]
    body = f"<ol>{''.join(asking)}</ol>" if asking else ""
    if clear:
        summary = text(words("{count} clear", count=len(clear)))
        body += folded(summary, f"<ol>{''.join(clear)}</ol>", "clears")
    if not rows:
        body += f"<p>{text(words('No job is listed of it.'))}</p>"
    past = history_of(engine, facts, scale, ink) + wears_of(engine, rows, facts, groups, ink)
    body += folded(text(words("history")), past, "past")
    return f"{_head(engine, rows, facts, ink)}{body}</article>"


def _head(engine: str, rows: Sequence[Due], facts: Facts, ink: Ink) -> str:
    """The name, where it is, and how it stands; with what the page sorts and filters by."""
    boat = facts.carriage.boat_of(engine)
    place = facts.fleet.boats[boat].place if boat is not None else ""
    life = max((row.life or 0 for row in rows), default=0)
    due = min((row.due_on for row in rows if row.due_on is not None), default=None)
    marks = f"id=e{ink.places[engine]} data-u={float(life):.3f}"
    marks += f" data-d={due}" if due is not None else ""
    marks += " data-h" if engine in facts.held else ""
    where = [f"<bdi class=b>{text(boat)}</bdi>" if boat is not None else _ashore(ink)]
    if place:
        where.append(f"<bdi class=p>{text(place)}</bdi>")
    if rows:
        where.append(text(ink.water(rows[0].water)))
        if rows[0].laid_up:
            where.append(text(ink.words("laid up")))
    also = facts.fleet.engines[engine].also
    if also:
        names = ", ".join(name(other) for other in also)
        where.append(f"{text(ink.words('also called'))} {names}")
    return (
        f"<article {marks}><header><h3>{name(engine)}</h3><p>{', '.join(where)}</p>"
        f"<p class=how>{_how(engine, rows, facts, ink)}</p></header>"
    )


def _ashore(ink: Ink) -> str:
    return text(ink.words("in store"))


def _how(engine: str, rows: Sequence[Due], facts: Facts, ink: Ink) -> str:
    """Held or not, how many rows ask for something, and how old its hours are."""
    words = ink.words
    count = Counter(row.status for row in rows)
    told = []
    if count[OVERDUE]:
        told.append(words("{count} overdue", count=count[OVERDUE]))
    if count[NO_RECORD]:
        told.append(words("{count} no record", count=count[NO_RECORD]))
    if count[DUE]:
        told.append(words("{count} due", count=count[DUE]))
    known = max((row.known_through for row in rows if row.known_through), default=None)
    if known is not None and known < facts.today:
        told.append(words("hours known to {day}", day=ink.day(known)))
    held = f"{ink.chip(HELD)} " if engine in facts.held else ""
    return f"{held}{text(', '.join(told))}"
