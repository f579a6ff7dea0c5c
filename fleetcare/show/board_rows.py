"""The rows of the board's engines: a bar of life used on one scale, its whisker, its figures.

The scale runs from nothing to `SCALE` limits; a bar that goes on is cut off there, and marked.
Along it the way from the bar's end to the limit is the way from today to the middle day, so the
whisker shows on the same measure between which days the limit may be reached.
"""

from __future__ import annotations

from fractions import Fraction

from fleetcare.due.records import CLEAR, DUE, NO_RECORD, OVERDUE, Due
from fleetcare.show.board_ink import Ink, decimal, millionths, name, text
from fleetcare.show.values import percent

SCALE = 2  # limits that the scale holds
BEYOND = 110  # per cent of the scale at which a whisker ends that goes on
_CLASSES = {OVERDUE: "o", NO_RECORD: "n", DUE: "d", CLEAR: "c"}
CUT = "<use href=#cut x=100% />"


def bar(row: Due, as_of: int) -> str:
    """The drawing of a row; nothing where there is no life to draw."""
    life = row.life
    if life is None:
        return ""
    drawn = f"<rect width={decimal(millionths(life) * 100 // SCALE, 6)}% />"
    span = whisker(row, as_of)
    if span is not None:
        begin, end = (decimal(round(point * 100), 2) for point in span)
        drawn += f"<line x1={begin}% x2={end}% />"
    return f"<svg>{drawn}{CUT if life > SCALE else ''}</svg>"


def whisker(row: Due, as_of: int) -> tuple[float, float] | None:
    """Where the early and the late day lie on the scale, in per cent of it, or None.

    None where all days are one, or the limit is reached. Where the middle day is here already,
    a day counts as the whole way to the limit. A late day beyond the forecast runs off the scale.
    """
    life, early, on, late = row.life_used, row.due_early, row.due_on, row.due_late
    if life is None or early is None or on is None or early == late or life >= 1:
        return None
    used = float(life)
    a_day = (1 - used) / max(1, on - as_of)
    begin = max(used, 1 - a_day * (on - early))
    end = BEYOND if late is None else min(BEYOND, (1 + a_day * (late - on)) * 100 / SCALE)
    return begin * 100 / SCALE, float(end)


def state(row: Due, ink: Ink) -> str:
    """The status as a word on its colour, and its day."""
    words = ink.words
    chip = ink.chip(row.status)
    if row.status == OVERDUE and row.overdue_since:
        return f"{chip} {text(words('since {day}', day=ink.day(row.overdue_since)))}"
    if row.raised_by_likely_hours:
        return f"{chip} {text(words('take a reading'))}"
    if row.status == DUE and row.due_on:
        return f"{chip} {text(ink.day(row.due_on))}"
    return chip


def listed_row(row: Due, ink: Ink) -> str:
    """A row that asks for something, with every figure of the due list."""
    kind = _CLASSES[row.status]
    return (
        f"<li class={kind}><b>{name(row.rule.name)}<i>{text(row.rule.title)}</i></b>"
        f"{bar(row, ink.as_of.toordinal())}<p>{_life(row)}{state(row, ink)}</p>"
        f"<small>{_details(row, ink)}</small>"
    )


def clear_row(row: Due, ink: Ink) -> str:
    """A row that asks for nothing, in as little room as its figures take."""
    drawn = bar(row, ink.as_of.toordinal()) or "<svg></svg>"
    return f"<li>{text(row.rule.name)}{drawn}{_in_brief(row, ink)}"


def _life(row: Due) -> str:
    """Life used; at least how much, where there is no record."""
    life = row.life
    if life is None:
        return "<em></em>"
    return f"<em>{'≥' if row.life_used is None else ''}{share(life)}</em>"


def share(life: Fraction) -> str:
    """Life as per cent, kept on one line."""
    return percent(life).replace(" ", "\N{NO-BREAK SPACE}")


def _in_brief(row: Due, ink: Ink) -> str:
    words = ink.words
    told = []
    if row.life is not None:
        told.append(share(row.life))
    told += _days(row, ink)
    told.append(words("{hours} h, {days} d", hours=ink.hours(row.hours_since), days=row.days_since))
    told += _put_off(row, ink)
    return text("; ".join(told))


def _details(row: Due, ink: Ink) -> str:
    """Everything else the due list knows of a row, in words."""
    words = ink.words
    told = [ink.with_days(row.opened)] if row.opened else []
    told.append(_since(row, ink))
    if row.unknown_before:
        told.append(words("hours before it was known are unknown"))
    if row.unseen:
        told.append(row.unseen)
    if row.governed_by is not None:
        told.append(words("by hours") if row.governed_by == "hours" else words("by time"))
    told.append(_left(row.hours_left, row.water, ink))
    if row.likely_hours:
        told.append(words("likely {hours} h more", hours=ink.hours(row.likely_hours)))
    told += _days(row, ink)
    told += _put_off(row, ink)
    rest = text("; ".join(told))
    if not row.rule.leads_to:
        return rest
    leads = text(words("leads to {harms}", harms=", ".join(map(ink.harm, row.rule.leads_to))))
    return f"<strong>{leads}</strong>; {rest}" if row.is_precursor else f"{leads}; {rest}"


def _since(row: Due, ink: Ink) -> str:
    words = ink.words
    hours, days = ink.hours(row.hours_since), row.days_since
    if row.last_done_on is not None:
        day = ink.day(row.last_done_on)
        if row.last_done_hours is None:
            return words(
                "{hours} h and {days} days since done, {day}", hours=hours, days=days, day=day
            )
        return words(
            "{hours} h and {days} days since done, {day} at {figure} h",
            hours=hours, days=days, day=day, figure=ink.hours(row.last_done_hours),
        )  # fmt: skip
    if row.life_used is None:
        return words("{hours} h and {days} days since known", hours=hours, days=days)
    return words("{hours} h and {days} days since new", hours=hours, days=days)


def _left(hours: int | Fraction | None, water: int, ink: Ink) -> str:
    words, there = ink.words, ink.water(water)
    if hours is None:
        return words("in {water} water", water=there)
    if hours < 0:
        return words("{hours} h over in {water} water", hours=ink.hours(hours), water=there)
    return words("{hours} h left in {water} water", hours=ink.hours(hours), water=there)


def _days(row: Due, ink: Ink) -> list[str]:
    """The middle day, and between which days it lies; nothing where there is none."""
    words, early, on, late = ink.words, row.due_early, row.due_on, row.due_late
    if on is None:
        return [] if early is None else [words("due from {early} on", early=ink.day(early))]
    if early == on == late:
        return [words("due {day}", day=ink.day(on))]
    begin = ink.beside(on if early is None else early, on)
    if late is None:
        return [words("due {day} ({early} or later)", day=ink.day(on), early=begin)]
    end = ink.beside(late, on)
    return [words("due {day} ({early} to {late})", day=ink.day(on), early=begin, late=end)]


def _put_off(row: Due, ink: Ink) -> list[str]:
    words, times = ink.words, row.put_off_times
    if row.put_off_until is None:
        if not times:
            return []
        return [words.several("put off once before", "put off {count} times before", times)]
    until = ink.day(row.put_off_until)
    said = words.several("put off to {day}", "put off to {day}, {count} times", times, day=until)
    return [f"{said}: {row.because or ''}"]
