"""Rows of the due list in the reader's language: their state, why they have it, when last done."""

from __future__ import annotations

from datetime import date

from fleetcare.due.records import CLEAR, DUE, OVERDUE, Due
from fleetcare.show.words import Words


def state(row: Due, as_of: date, words: Words) -> str:
    """A row's status with its day: overdue since 2 Jun 2025."""
    if row.status == OVERDUE and row.overdue_since:
        day = words.day(date.fromordinal(row.overdue_since), as_of)
        return words("overdue since {day}", day=day)
    if row.raised_by_likely_hours:
        return words("due, take a reading")
    if row.status == DUE and row.due_on:
        return words("due {day}", day=words.day(date.fromordinal(row.due_on), as_of))
    return words(row.status)


def why(row: Due, words: Words) -> str:
    """Why, in a few words: what was run and how long ago, or what opened it."""
    if row.life is None or (row.opened and row.status in (OVERDUE, DUE)):
        return words.again(row.opened)
    text = _since(row, words)
    if row.raised_by_likely_hours:
        more = words.hours(round(row.likely_hours))
        text = words("{so_far}, and likely {hours} h more", so_far=text, hours=more)
    if row.unknown_before:
        text += "; " + words("hours before it was known are unknown")
    return f"{text}; {row.unseen}" if row.unseen else text


def _since(row: Due, words: Words) -> str:
    ran = words.hours(round(row.hours_since))
    if row.life_used is None:
        return words.several(
            "{hours} h, {count} day since known", "{hours} h, {count} days since known",
            row.days_since, hours=ran,
        )  # fmt: skip
    if row.last_done_on:
        return words.several(
            "{hours} h, {count} day since done", "{hours} h, {count} days since done",
            row.days_since, hours=ran,
        )  # fmt: skip
    return words.several(
        "{hours} h, {count} day since new", "{hours} h, {count} days since new",
        row.days_since, hours=ran,
    )  # fmt: skip


def life(row: Due, words: Words) -> str:
    """Life used as per cent; at least so much where nobody knows when it was last done."""
    if row.life is None:
        return ""
    share = words.percent(row.life)
    if row.life_used is None:
        return f"≥\u00a0{share}" if row.life else ""
    return share


def coming(row: Due, as_of: date, words: Words) -> str:
    """When it comes due, or came: the day, and from when to when the forecast says."""
    if row.due_on is None or row.status == OVERDUE:
        return ""
    text = words.day(date.fromordinal(row.due_on), as_of)
    if row.status in (DUE, CLEAR) and row.due_early is not None and row.due_early != row.due_late:
        late = None if row.due_late is None else date.fromordinal(row.due_late)
        text += f" ({words.span(date.fromordinal(row.due_early), late, as_of)})"
    return text


def last_done(row: Due, words: Words) -> str:
    """When it was last done, and at how many hours."""
    if row.last_done_on is None:
        return ""
    day = words.day(date.fromordinal(row.last_done_on))
    if row.last_done_hours is None:
        return day
    return words("{day} at {hours} h", day=day, hours=words.hours(row.last_done_hours, 2))
