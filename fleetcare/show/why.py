"""The working of a row as text."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fleetcare.due.records import Due
from fleetcare.due.working import Share, Working
from fleetcare.fleet.figures import shown
from fleetcare.log.entries import Entry
from fleetcare.show.log_text import entry_words
from fleetcare.show.table import NO_BREAK, wrapped
from fleetcare.show.values import UNKNOWN_WHEN, hours, iso, percent, reason

FIRST_ENTRIES, LAST_ENTRIES = 5, 15


def why_text(
    row: Due,
    work: Working,
    entries: Iterable[tuple[int, Entry]],
    as_of: date,
    whole: bool = False,
    width: int = 80,
) -> str:
    """Everything a mechanic needs to check the row with a pencil."""
    lines = [f"{row.engine}: {row.task}, {row.status} on {as_of}", f"  {work.rule.title}"]
    lines += _start(row, work)
    lines += _carried(work)
    lines += _sum(work)
    because = reason(row).removeprefix(f"{UNKNOWN_WHEN}; ")
    because = because[:1].upper() + because[1:]
    lines.append(f"Status: {row.status}. {because}." if because else f"Status: {row.status}.")
    if row.due_on is not None:
        late = f", overdue since {iso(row.overdue_since)}" if row.overdue_since else ""
        lines.append(f"Due on {iso(row.due_on)}{late}.{_foreseen(row)}")
    if work.rule.leads_to:
        lines.append(f"Leads to {', '.join(work.rule.leads_to)}: {work.rule.chain}".rstrip(": "))
    lines.append(
        f"Rule: set {work.ruleset.name} ({work.ruleset.where}). Source: {work.rule.source}"
    )
    lines += _entries(list(entries), whole)
    return "\n".join(wrapped(line.replace(" %", f"{NO_BREAK}%"), width) for line in lines)


def _start(row: Due, work: Working) -> list[str]:
    clock = work.clock
    if clock.job is not None:
        figure = "" if clock.job.reading is None else f" at {shown(clock.job.reading)} h"
        entry = f" (entry {clock.job.number})" if clock.job.number else ""
        lines = [f"Clock: from {iso(clock.start)}, done on {clock.job_engine}{figure}{entry}."]
        if clock.job.reading is None and not clock.unknown_before:
            lines.append("  No reading was given, so the day's own hours count after the job.")
        if clock.unknown_before:
            lines.append("  Hours before the fleet knew the engine are unknown and not counted.")
        return lines
    if clock.new:
        kind = "first-service limits hold" if work.first_service else "the limits hold"
        return [f"Clock: from {iso(clock.start)}, when it was new; {kind}."]
    if work.rule.limits is None:
        return [f"No job is on record; known since {iso(clock.start)}."]
    return [
        f"Clock: none; no job is on record. Known since {iso(clock.start)}, so what follows "
        f"is the least it can have used."
    ]


def _carried(work: Working) -> list[str]:
    lines = []
    if len(work.engines) > 1:
        for engine, first, last in work.engines:
            lines.append(
                f"  The {work.rule.component} was under {engine} {first} to {last or 'now'}."
            )
    for day, value in work.readings:
        lines.append(f"  Engine hours at the close of {day}: {shown(value)}")
    return lines


def _foreseen(row: Due) -> str:
    """What the forecast adds: the early and the late day, what likely ran since the reading."""
    if row.due_early == row.due_late or row.due_early is None:
        return ""
    last = f"by {iso(row.due_late)} in nine" if row.due_late else "perhaps not in ten years"
    text = f" The forecast of use: by {iso(row.due_early)} in one case of ten, {last}."
    if row.known_through is not None and row.likely_since_read:
        likely = shown(row.likely_since_read, 1)
        text += f" Its hours are known to {iso(row.known_through)}; {likely} h likely since."
    return text


def _sum(work: Working) -> list[str]:
    if not work.shares:
        return []
    lines = []
    if work.strictest is not None:
        lines.append(f"  The strictest water seen counts for all of it: {work.strictest.word}.")
    lines += [line for share in work.shares for line in _share(share)]
    total = max(work.by_hours, work.by_calendar)
    lines.append(
        f"  By hours {_exact(work.by_hours)}; by calendar {_exact(work.by_calendar)}; "
        f"life used is the larger, {percent(total)}."
    )
    return lines


def _exact(value: object) -> str:
    from fractions import Fraction

    fraction = Fraction(str(value))
    text = f"{float(fraction):.4f}"
    return text if fraction.denominator > 9999 else f"{fraction} = {text}"


def _share(share: Share) -> list[str]:
    lines = []
    if share.hours_limit:
        lines.append(
            f"  {share.water}: {hours(share.hours)} h of {shown(share.hours_limit)} h "
            f"= {_exact(share.hours_share)}"
        )
    elif share.hours:
        lines.append(f"  {share.water}: {hours(share.hours)} h, no limit in hours")
    if share.likely:
        lines.append(f"  {share.water}: {hours(share.likely)} likely hours more, not counted")
    if share.days_limit:
        months = "month" if share.months == 1 else "months"
        span = f"{share.months} {months} = " if share.months else ""
        lines.append(
            f"  {share.water}: {share.days} days of {span}{share.days_limit} days "
            f"= {_exact(share.days_share)}"
        )
    elif share.days:
        lines.append(f"  {share.water}: {share.days} days, no limit in time")
    return lines


def _entries(entries: list[tuple[int, Entry]], whole: bool) -> list[str]:
    if not entries:
        return ["No entry since the clock started."]
    lines = [f"Entries that count ({len(entries)}):"]
    told = [f"  {entry.on}  {number:>5}  {entry_words(entry)}" for number, entry in entries]
    between = len(told) - FIRST_ENTRIES - LAST_ENTRIES
    if not whole and between > 0:
        told[FIRST_ENTRIES:-LAST_ENTRIES] = [f"  {between} between these (--all shows them)"]
    return lines + told
