"""How the dates have held, for the terminal and as values."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from fleetcare.due.held import ENOUGH, Group, Judgement, Looked, Losses, Shares, groups
from fleetcare.fleet.days import MONTHS
from fleetcare.show.lists import NARROW
from fleetcare.show.table import laid_out, table, wrapped
from fleetcare.show.values import hours, iso

AIM = 80  # per cent of the dates that should lie between early and late
HEAD = (
    "looked_on", "engine", "boat", "use", "age", "component", "task", "title", "governed_by",
    "clock_start", "hours_left", "due_early", "due_on", "due_late", "came_on", "known_to",
    "verdict", "held", "off_days",
)  # fmt: skip
NAMES = {"all": "all", "first year": "in its first year", "after it": "after that"}


def held_values(item: Looked) -> dict[str, Any]:
    """One date looked at. `held` is 1, 0, a half at an end of the span, null while open."""
    return {
        "looked_on": iso(item.looked_on),
        "engine": item.engine,
        "boat": item.boat,
        "use": item.use,
        "age": "first year" if item.in_first_year else "after",
        "component": item.rule.component,
        "task": item.rule.name,
        "title": item.rule.title,
        "governed_by": item.governed_by,
        "clock_start": iso(item.clock_start),
        "hours_left": hours(item.hours_left),
        "due_early": iso(item.early),
        "due_on": iso(item.on),
        "due_late": iso(item.late),
        "came_on": iso(item.came_on),
        "known_to": iso(item.known_to),
        "verdict": item.verdict,
        "held": item.shares[0] if item.counts else None,
        "off_days": None if item.came_on is None else item.off,
    }


def held_rows(dates: Sequence[Looked]) -> list[dict[str, Any]]:
    """A row for every date looked at, by day."""
    return [held_values(item) for item in dates]


def held_more(seen: Judgement) -> dict[str, Any]:
    """What stands beside the rows: the figures, and what was left out."""
    return {
        "aim": AIM / 100,
        "enough": ENOUGH,
        "from": iso(seen.first),
        "to": iso(seen.last),
        "every_months": seen.every,
        "figures": [_group_values(group) for group in groups(seen)],
        "left_out": {
            "calendar": seen.left_out.by_calendar,
            "used_up": seen.left_out.used_up,
            "beyond_ten_years": seen.left_out.beyond,
        },
    }


def _group_values(group: Group) -> dict[str, Any]:
    part = group.shares
    return {
        "by": group.by,
        "of": group.name,
        "dates": part.dates,
        "clocks": part.clocks,
        "open": part.open,
        "held": part.held,
        "earlier": part.earlier,
        "later": part.later,
        "off_days": part.off,
        "late_by_days": part.late_by,
        "losses": [
            {
                "days": loss.days,
                "against": loss.against,
                "looks": loss.looks,
                "below": None if loss.below is None else round(loss.below, 4),
            }
            for loss in group.losses
        ],
    }


# -- text ----------------------------------------------------------------------------------------


def held_text(seen: Judgement, width: int) -> str:
    """The verdict first, the figures, then what they leave out."""
    found = groups(seen)
    whole = found[-1].shares
    lines = [wrapped(verdict_line(whole), width)]
    if whole.dates:
        lines += ["", *_figures(found, width)]
    lines.append("")
    lines += [wrapped(line, width) for line in (*_hours(found), *_notes(seen, whole))]
    return "\n".join(lines).rstrip("\n")


def verdict_line(whole: Shares) -> str:
    """How many dates held, in one sentence."""
    held, earlier, later = whole.whole()
    if not whole.dates:
        return "No date to tell of yet: none that hours decide has both been said and gone by."
    if not whole.are_enough:
        dates = "1 date" if whole.dates == 1 else f"{whole.dates} dates"
        return (
            f"Too few dates to tell: of {dates}, {held} held, {earlier} came earlier, "
            f"{later} later."
        )
    return (
        f"Of {whole.dates:,} dates, {held:,} held ({_percent(whole.held, whole.dates)}), "
        f"{earlier:,} came earlier, {later:,} later."
    )


def _figures(found: Sequence[Group], width: int) -> list[str]:
    """The table, or on a phone a line for each of its rows."""
    cells = [_cells(group) for group in found if group.shares.dates]
    text = table(
        ("Engines", "Dates", "Held", "Earlier", "Later", "Middle day off by"), cells, width, (),
        right=range(1, 6),
    )  # fmt: skip
    if width >= NARROW and all(len(laid_out(line)) <= width for line in text.splitlines()):
        return text.splitlines()
    lines = []
    for name, dates, held, earlier, later, off in cells:
        told = f"{held} held, {earlier} earlier, {later} later, " if held else ""
        lines.append(wrapped(f"{name}: {told}{dates} dates, middle day off by {off}", width))
    return lines


def _cells(group: Group) -> list[str]:
    part = group.shares
    shares = ["", "", ""]
    if part.are_enough:
        shares = [_percent(count, part.dates) for count in (part.held, part.earlier, part.later)]
    off = "" if part.off is None else _days(part.off)
    return [NAMES.get(group.name, group.name), f"{part.dates:,}", *shares, off]


def _hours(found: Sequence[Group]) -> list[str]:
    """How hours over the next weeks compare with plain forecasts, a line a horizon."""
    lines = []
    losses = found[-1].losses
    for days in dict.fromkeys(loss.days for loss in losses):
        told = [
            _loss(loss) for loss in losses
            if loss.days == days and loss.below is not None and loss.looks >= ENOUGH
        ]  # fmt: skip
        if told:
            lines.append(f"Hours of the next {days} days: pinball loss {', '.join(told)}.")
    return lines


def _loss(loss: Losses) -> str:
    below = round((loss.below or 0.0) * 100)
    words = f"{below} % below" if below >= 0 else f"{-below} % above"
    return f"{words} that of the {loss.against} ({loss.looks:,} looks)"


def _notes(seen: Judgement, whole: Shares) -> list[str]:
    notes = []
    if seen.first is not None and seen.last is not None:
        months = "month" if seen.every == 1 else f"{seen.every} months"
        notes.append(
            f"Looked at each engine every {months}, {_month(seen.first)} to {_month(seen.last)}, "
            "with the log as it stood then and today's rules."
        )
    if whole.dates:
        notes.append(
            f"Held: the hours ran out between the early and the late day ({AIM} % should); on one "
            f"of the two it counts half. The {whole.dates:,} dates are of {_clocks(whole.clocks)} "
            "from job to job; months of one run, and jobs done together, stand or fall together, "
            "so they tell less than their number. A day between two readings is known only as if "
            "hours were run evenly."
        )
    if any(0 < group.shares.dates < ENOUGH for group in groups(seen)) and whole.are_enough:
        notes.append(f"No shares below {ENOUGH} dates.")
    left = [
        (whole.open, "open, their late day not yet behind the last figures"),
        (seen.left_out.by_calendar, "decided by the calendar"),
        (seen.left_out.used_up, "used up already on the day"),
        (seen.left_out.beyond, "out of sight, beyond ten years"),
    ]
    told = [f"{count:,} {words}" for count, words in left if count]
    if told:
        notes.append(f"Left out: {'; '.join(told)}.")
    return notes


def _clocks(count: int) -> str:
    return "1 run" if count == 1 else f"{count:,} runs"


def _month(day: int) -> str:
    on = date.fromordinal(day)
    return f"{MONTHS[on.month - 1]} {on.year}"


def _percent(count: float, of: int) -> str:
    return f"{int(count * 100 / of + 0.5)} %"


def _days(value: float) -> str:
    text = f"{value:g}"
    return "1 day" if text == "1" else f"{text} days"
