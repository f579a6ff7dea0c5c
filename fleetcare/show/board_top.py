"""The first two parts of the board: what must not go out and why, and what it leads to."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.due.records import OVERDUE, Due
from fleetcare.flags.morning import GO, GO_BUT, HELD, laid_up_boats, presses
from fleetcare.flags.standing import Standing
from fleetcare.fleet.names import natural
from fleetcare.rules.rule import PRECURSOR_HARMS, Rule
from fleetcare.show.board_facts import Facts
from fleetcare.show.board_ink import MOST, Ink, folded, listed, name, shortened, text
from fleetcare.show.board_rows import share, state


def held_part(facts: Facts, ink: Ink) -> str:
    """Every engine that is held, with why and what lifts it; then which boats go."""
    order = {engine: at for at, engine in enumerate(facts.by_engine)}
    held = sorted(facts.held & order.keys(), key=lambda engine: order[engine])
    words = ink.words
    if held:
        out = listed([_held(engine, facts, ink) for engine in held], "holds")
    else:
        out = f"<p class=big>{text(words('No engine is held.'))}</p>"
    return out + _going(facts, ink)


def _held(engine: str, facts: Facts, ink: Ink) -> str:
    words = ink.words
    boat = facts.carriage.boat_of(engine)
    where = name(boat) if boat is not None else text(words("in store"))
    flag = facts.flags.get(engine)
    stands = [item for item in flag.standing if item.holds] if flag is not None else []
    why = "; ".join(f"{ink.with_days(item.what)}, {ink.day(item.day)}" for item in stands)
    out = f"<p class=big>{ink.chip(HELD)} <b>{where}</b> {ink.engine(engine)}</p>"
    out += f"<p class=why>{text(why)}</p>"
    wanted = dict.fromkeys(task for item in stands for task in item.wanted)
    if wanted:
        out += f"<p><b>{text(words('First:'))}</b> {text(', '.join(wanted))}</p>"
    seen = dict.fromkeys(item.proof or item.lifts for item in stands if item.proof or item.lifts)
    if seen:
        out += f"<p><b>{text(words('Then to be seen:'))}</b> {text('; '.join(seen))}</p>"
    return out


def _going(facts: Facts, ink: Ink) -> str:
    """The boats that go but for something, with the worst of it, and those that just go."""
    words = ink.words
    but = [item for item in facts.verdicts if item.verdict == GO_BUT]
    go = sorted((item.boat for item in facts.verdicts if item.verdict == GO), key=natural)
    if not facts.verdicts:
        none = words("No boat has an engine that is mounted and not laid up.")
        return f"<p>{text(none)}</p>{_laid_up(facts, ink)}"
    out = ""
    if but:
        told = [_but(item.boat, item.engine, facts, ink) for item in but]
        out += f"<h3><span class=due>{text(words('go, but …'))}</span> {len(but)}</h3>"
        out += shortened(told, "buts", ink)
    if go:
        names = ", ".join(name(boat) for boat in go)
        out += f"<h3><span class=clear>{text(words('go'))}</span> {len(go)}</h3>"
        out += f"<p>{names}</p>" if len(go) <= 4 * MOST else folded(text(words("names")), names)
    return out + _laid_up(facts, ink)


def _laid_up(facts: Facts, ink: Ink) -> str:
    """The boats of which nobody says whether they may go."""
    boats = laid_up_boats(facts.rows, facts.verdicts)
    if not boats:
        return ""
    names, words = ", ".join(name(boat) for boat in boats), ink.words
    out = f"<h3>{text(words('laid up'))} {len(boats)}</h3>"
    out += f"<p>{names}</p>" if len(boats) <= 4 * MOST else folded(text(words("names")), names)
    return out


def _but(boat: str, engine: str, facts: Facts, ink: Ink) -> str:
    """A boat that goes, the worst that waits on its engine, and how much more the morning says."""
    rows = [row for row in facts.by_engine[engine] if presses(row, facts.as_of)]
    flag = facts.flags.get(engine)
    found = [item for item in flag.standing if not item.holds] if flag is not None else []
    out = f"<b>{name(boat)}</b> {ink.engine(engine)}"
    if rows:
        out += f": {name(rows[0].rule.name)} {state(rows[0], ink)}"
    elif found:
        out += f": {text(ink.with_days(found[0].what))}, {text(ink.day(found[0].day))}"
    if len(rows) + len(found) > 1:
        more = ink.words("and {count} more", count=len(rows) + len(found) - 1)
        out += f" {text(more)}"
    return out


def chains_part(facts: Facts, ink: Ink) -> str:
    """Jobs that are overdue or without record and lead to the worst, each with its chain once."""
    rows = [row for row in facts.rows if row.is_precursor]
    if not rows:
        none = ink.words("Nothing that is overdue leads to overheating or a seized swivel.")
        return f"<p>{text(none)}</p>"
    out = ""
    for harm in PRECURSOR_HARMS:
        mine = [row for row in rows if harm in row.rule.leads_to]
        if mine:
            out += f"<h3>{text(ink.harm(harm))}</h3>"
            out += "".join(_chain(group, facts, ink) for group in _by_rule(mine))
    return out


def _by_rule(rows: Sequence[Due]) -> list[list[Due]]:
    """Rows of one job and chain together, overdue ones first, by the most life used."""
    found: dict[tuple[str, str], list[Due]] = {}
    for row in sorted(rows, key=lambda row: (row.status != OVERDUE, -(row.life or 0))):
        found.setdefault((row.rule.name, row.rule.chain), []).append(row)
    return list(found.values())


def _chain(rows: Sequence[Due], facts: Facts, ink: Ink) -> str:
    """One job: the chain in steps, then whose it is."""
    rule = rows[0].rule
    out = f"<h4>{name(rule.name)}</h4>"
    if rule.chain:
        steps = [text(step) for step in rule.chain.split("; ")]
        out += f"<ol class=chain>{''.join([f'<li>{step}' for step in steps])}</ol>"
    items = [_precursor(row, facts, ink) for row in rows]
    return out + shortened(items, "whose", ink, MOST // 2)


def _precursor(row: Due, facts: Facts, ink: Ink) -> str:
    out = f"{ink.with_boat(row.engine)}: {state(row, ink)}"
    if row.life is not None:
        out += f" <em>{'≥' if row.life_used is None else ''}{share(row.life)}</em>"
    also = [
        f"{ink.with_days(item.what)}, {ink.day(item.day)}"
        for item in facts.flags[row.engine].standing
        if _concerns(item, row.rule)
    ]
    return f"{out}; {text('; '.join(also))}" if also else out


def _concerns(item: Standing, rule: Rule) -> bool:
    """Whether what stands on an engine was found on the part that a rule is about."""
    return rule.name in item.wanted or (bool(item.component) and item.component == rule.component)
