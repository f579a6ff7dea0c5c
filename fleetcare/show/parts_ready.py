"""What to have ready, as text for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.ready import Ready
from fleetcare.show.parts_words import clean, fits
from fleetcare.show.table import table, wrapped

MOST = 8
HALF = 0.5  # of a chance, the share from findings or the log below which it is our judgement


def ready_lines(items: Sequence[Ready], width: int, whole: bool) -> list[str]:
    """Items to have beyond what is surely used, the likeliest first; none, no lines.

    What rests on our judgement alone is only counted, unless all is asked for.
    """
    wanted = [item for item in items if item.buy or (whole and item.have)]
    known = [item for item in wanted if whole or item.learned >= HALF]
    judged = len(wanted) - len(known)
    lines: list[str] = []
    if known:
        listed = known if whole else known[:MOST]
        lines += ["", _table(listed, width)]
        if len(listed) < len(known):
            lines.append(f"{len(known) - len(listed)} more (--all).")
        lines.append(wrapped(" ".join(_notes(listed)), width))
    if judged:
        count = "1 item" if judged == 1 else f"{judged} items"
        text = f"Perhaps to have ready, by our judgement more than by findings: {count} (--all)."
        lines += [*([] if known else [""]), wrapped(text, width)]
    return lines


def _table(items: Sequence[Ready], width: int) -> str:
    rows = [
        [clean(item.item), _have(item), str(item.spare), chance_words(item), called_words(item)]
        for item in items
    ]
    head = ("Have ready", "No.", "Spare", "Chance", "If")
    text = table(head, rows, width, (4, 0), right=(1, 2, 3))
    if fits(text, width):
        return text
    return "\n".join(
        wrapped(f"{item}: have {count} ready, {spare} spare; {chance}; {why}", width)
        for item, count, spare, chance, why in rows
    )


def _have(item: Ready) -> str:
    """How many, and where an order costs something at how many left to fetch more."""
    later = item.reorder < item.have - 1
    return f"{item.have} (at {item.reorder})" if later else str(item.have)


def _notes(items: Sequence[Ready]) -> list[str]:
    notes = ["Spare: on the shelf beyond the jobs' own."]
    if any(item.reorder < item.have - 1 for item in items):
        notes.append("(at 1): fetch more when 1 is left, an order having its cost.")
    if any(item.learned < HALF for item in items):
        notes.append("~: mostly our judgement, few findings stand behind it.")
    guessed = [item for item in items if item.guessed]
    if guessed:
        notes.append(f"Without a price, taken as {guessed[0].price:.0f}: the dearest known.")
    notes.append("Listed where the chance times what the wait costs is above the price.")
    return notes


def chance_words(item: Ready) -> str:
    """The chance in per cent, marked where it is mostly judgement."""
    share = 100 * item.chance
    told = "<1 %" if share < 1 else f"{min(99, round(share))} %"
    return told if item.learned >= HALF else f"~{told}"


def called_words(item: Ready) -> str:
    """What would call for it: the likeliest, and how many others."""
    first = clean(item.called[0].what)
    more = len(item.called) - 1
    others = "1 other" if more == 1 else f"{more} others"
    return f"{first}, or {others}" if more else first
