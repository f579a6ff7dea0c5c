"""What to have ready, as text for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcare.plan.ready import Ready
from fleetcare.show.parts_words import clean, fits
from fleetcare.show.table import table, wrapped

MOST = 8


def ready_lines(items: Sequence[Ready], money: str, width: int, whole: bool) -> list[str]:
    """Items to have beyond what is surely used, the likeliest first; none, no lines."""
    wanted = [item for item in items if item.buy or (whole and item.have)]
    if not wanted:
        return []
    listed = wanted if whole else wanted[:MOST]
    rows = [
        [clean(item.item), str(item.have), str(item.spare), chance_words(item), called_words(item)]
        for item in listed
    ]
    head = ("Have ready", "No.", "Spare", "Chance", "If")
    text = table(head, rows, width, (4, 0), right=(1, 2, 3))
    if not fits(text, width):
        text = "\n".join(
            wrapped(f"{item}: have {count} ready, {spare} spare; {chance}; {why}", width)
            for item, count, spare, chance, why in rows
        )
    lines = ["", text]
    if len(listed) < len(wanted):
        lines.append(f"{len(wanted) - len(listed)} more (--all).")
    notes = ["Spare: on the shelf beyond the jobs' own."]
    if any(item.learned < 0.5 for item in listed):
        notes.append("~: mostly our judgement, few findings stand behind it.")
    guessed = [item for item in listed if item.guessed]
    if guessed:
        notes.append(f"Without a price, taken as {guessed[0].price:.0f}: the dearest known.")
    notes.append("Listed where the chance times what the wait costs is above the price.")
    return [*lines, wrapped(" ".join(notes), width)]


def chance_words(item: Ready) -> str:
    """The chance in per cent, marked where it is mostly judgement."""
    share = 100 * item.chance
    told = "<1 %" if share < 1 else f"{min(99, round(share))} %"
    return told if item.learned >= 0.5 else f"~{told}"


def called_words(item: Ready) -> str:
    """What would call for it: the likeliest, and how many others."""
    first = clean(item.called[0].what)
    more = len(item.called) - 1
    return first if not more else f"{first}, or {more} others"
