"""What an event of a calendar says, for someone at the boat without a terminal.

In: a row of the due list, and the rule set of its engine. Out: plain text, one line a fact.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from functools import lru_cache

from fleetcare.due.records import OVERDUE, Due
from fleetcare.fleet.days import spoken
from fleetcare.fleet.figures import shown
from fleetcare.fleet.waters import Water
from fleetcare.rules.rule import Access, Limit, Limits, RuleSet
from fleetcare.show.values import percent

BEFORE_ALL = (
    "The engine's own handbook, local codes and licensed practice come before every figure here."
)
OLD_DAYS = 14
NAMED = 5  # engines named in a warning, at most
_WHO = {
    "anyone": "Anyone may do it.",
    "trained": "For someone trained to do it.",
    "workshop": "For a workshop.",
}
_BY = {"hours": ", by hours", "calendar": ", by the calendar"}
_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
_BREAKS = frozenset("\t\n\x0b\x0c\r\x1c\x1d\x1e\x1f\x85\u2028\u2029")
_LOOKS_LIKE_A_BREAK = re.compile(r"\\(?=[nNrR])")
# Turns of writing order, and the byte order mark, which readers take off a text.
_UNSEEN = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")


class Moving(str):
    """A line whose figures move by themselves while nobody writes anything down."""

    __slots__ = ()


def describe(
    row: Due, as_of: date, ruleset: RuleSet | None = None, known_to: int | None = None
) -> str:
    """All that someone at the boat needs: what, why, what it leads to, parts, cautions, logging.

    `known_to` is the day of the engine's last reading or run.
    """
    return "\n".join([*told(row, as_of, ruleset), as_of_line(as_of, known_to)])


def told(row: Due, as_of: date, ruleset: RuleSet | None = None, hold: str = "") -> list[str]:
    """The lines of a job's description, without the day its figures are of; some are `Moving`.

    `hold` is what holds the engine, in words.
    """
    steps = _steps(row.rule.access, ruleset)
    lines = [_what(row)]
    if hold:
        lines.append(f"Held, it must not go out: {hold}.")
    if row.laid_up:
        lines.append("Before launch: the engine is laid up.")
    lines += [*_why(row, as_of), *_leads_to(row), *_put_off(row, as_of), *_work(row, steps)]
    cautions = [*row.rule.cautions, *(caution for step in steps for caution in step.cautions)]
    if cautions:
        lines += ["Take care:", *(f"- {caution}" for caution in dict.fromkeys(cautions))]
    lines.append(BEFORE_ALL)
    lines.append(f"When it is done, log it: {log_command(row.engine, row.task)}")
    return [_plain_line(line) for line in lines]


def describe_early(row: Due, early: date, ruleset: RuleSet | None = None) -> list[str]:
    """The lines of an early notice: from when on it may be due, and what to have by then."""
    lines = [
        _what(row),
        Moving(f"Early notice: 1 time in 10 it is due by {spoken(early)} already."),
    ]
    if row.due_on is not None:
        on = spoken(date.fromordinal(row.due_on))
        lines.append(Moving(f"It is as likely due before as after {on}."))
    lines += [*_leads_to(row), *_parts(row, _steps(row.rule.access, ruleset)), _who(row)]
    lines.append("Its own event, on the day it is due, says why, what to mind and how to log it.")
    return [_plain_line(line) for line in [*lines, BEFORE_ALL]]


def as_of_line(as_of: date, known_to: int | None) -> Moving:
    """Of which day the figures are, and up to when the engine's hours are known."""
    if known_to is None or known_to >= as_of.toordinal():
        return Moving(f"Figures as of {spoken(as_of)}.")
    hours = spoken(date.fromordinal(known_to))
    return Moving(f"Figures as of {spoken(as_of)}; hours known to {hours}.")


def old_figures(engines: Sequence[tuple[str, int | None]]) -> str:
    """The warning for engines whose last reading or run is too long ago; None for never."""
    days = ["never" if day is None else spoken(date.fromordinal(day)) for _, day in engines[:NAMED]]
    named = [f"{plain(name)} ({day})" for (name, _), day in zip(engines, days, strict=False)]
    more = len(engines) - len(named)
    whose = f"{', '.join(named)} and {more} more" if more > 0 else ", ".join(named)
    return (
        f"Figures over {OLD_DAYS} days old; last reading or run: {whose}. Hours run since then "
        f"are not in them: take a reading and log it."
    )


def log_command(engine: str, task: str) -> str:
    """The command that logs the job, as a shell takes it."""
    names = [plain(engine), plain(task)]
    end_of_options = ["--"] if any(name.startswith("-") for name in names) else []
    return " ".join(["fleetcare done", *end_of_options, *(_quoted(name) for name in names)])


def _what(row: Due) -> str:
    return f"{row.rule.title.rstrip('.')}. {row.engine}, {_place(row)}."


def _place(row: Due) -> str:
    return "in store" if row.boat is None else f"on {row.boat}"


def _why(row: Due, as_of: date) -> list[str]:
    lines: list[str] = []
    if row.life is not None:
        least = "" if row.life_used is not None else "at least "
        by = _BY.get(row.governed_by or "", "")
        lines.append(Moving(f"Why: {least}{percent(row.life)} of its life is used{by}."))
        lines.append(f"Limit: {_limit(row)}.")
    if row.opened:
        lines.append(f"Why: {_ISO_DAY.sub(lambda hit: _iso_in_words(hit[0]), row.opened)}.")
    lines.append(Moving(f"{_since(row)}{_likely(row)}."))
    return [*lines, _hours_left(row), *map(Moving, _dates(row, as_of))]


def _hours_left(row: Due) -> str:
    water = Water(row.water).word
    hours = row.hours_left
    if hours is None:
        return f"Water today: {water}."
    side, hours = ("left", hours) if hours >= 0 else ("past the limit", -hours)
    whose = "in the strictest water it met" if row.rule.strictest else f"in today's water, {water}"
    return f"{_hours(hours)} {side} {whose}."


def _since(row: Due) -> str:
    start = spoken(date.fromordinal(row.clock_start))
    if row.last_done_on is not None:
        at = "" if row.last_done_hours is None else f" at {_hours(row.last_done_hours)}"
        begin = f"Last done on {spoken(date.fromordinal(row.last_done_on))}{at}; since then"
    elif row.life_used is not None:
        begin = f"New on {start}; since then"
    else:
        begin = f"No record of when it was last done; since it was first known on {start}"
    unknown = ", and unknown hours before the fleet knew it" if row.unknown_before else ""
    return f"{begin}: {_hours(row.hours_since)}, {counted(row.days_since, 'day')}{unknown}"


def _likely(row: Due) -> str:
    """The hours nobody logged yet; in a line that is always there, since they grow by the day."""
    if not row.likely_hours:
        return ""
    so = ", which makes it due" if row.raised_by_likely_hours else ""
    return f"; some {_hours(row.likely_hours)} more are likely, not logged yet{so}"


def _dates(row: Due, as_of: date) -> list[str]:
    if row.status == OVERDUE:
        since = row.overdue_since
        if since is None:
            return []
        long = as_of.toordinal() - since
        ago = f", {counted(long, 'day')} ago" if long > 0 else ""
        return [f"Overdue since {spoken(date.fromordinal(since))}{ago}."]
    if row.due_on is None:
        return []
    on, early, late = row.due_on, row.due_early or row.due_on, row.due_late
    if on < as_of.toordinal():
        return [f"Due since {spoken(date.fromordinal(on))}."]
    line = f"By these figures it is due on {spoken(date.fromordinal(on))}"
    if early == late:
        return [f"{line}."]
    first = spoken(date.fromordinal(early))
    if late is None:
        return [f"{line}; 9 times in 10 not before {first}."]
    return [f"{line}; 8 times in 10 between {first} and {spoken(date.fromordinal(late))}."]


def _limit(row: Due) -> str:
    """The limits in words: of today's water, or of each where the strictest decides."""
    limits = row.rule.limits or (None, None, None)
    first = row.rule.first
    if first is not None and row.life_used is not None and row.last_done_on is None:
        limits = _first_service(limits, first)
    if row.rule.one_for_all:
        return f"{_limit_words(limits[row.water])} in any water"
    words = [f"{_limit_words(limits[water])} in {water.word} water" for water in Water]
    if not row.rule.strictest:
        return f"{words[row.water]}; use in other waters counts by their limits"
    since = row.clock_start if row.strictest_since is None else row.strictest_since
    return (
        f"{', '.join(words)}; the strictest water, met on "
        f"{spoken(date.fromordinal(since))}, counts for the whole time"
    )


def _first_service(limits: Limits, first: Limits) -> Limits:
    """The limits with those of the first service laid over them, key by key."""
    fresh, brackish, salt = (
        below if above is None
        else above if below is None
        else Limit(
            below.hours if above.hours is None else above.hours,
            *((above.months, above.days) if above.has_calendar else (below.months, below.days)),
        )
        for below, above in zip(limits, first, strict=True)
    )  # fmt: skip
    return fresh, brackish, salt


def _limit_words(limit: Limit | None) -> str:
    if limit is None:
        return "none"
    words = [] if limit.hours is None else [_hours(limit.hours)]
    words += [] if limit.months is None else [counted(limit.months, "month")]
    words += [] if limit.days is None else [counted(limit.days, "day")]
    return " or ".join(words) or "none"


def _leads_to(row: Due) -> list[str]:
    if not row.rule.leads_to:
        return [row.rule.chain] if row.rule.chain else []
    return [f"Skipping it leads to {' and '.join(row.rule.leads_to)}. {row.rule.chain}".rstrip()]


def _put_off(row: Due, as_of: date) -> list[str]:
    if not row.put_off_times:
        return []
    often = "once" if row.put_off_times == 1 else f"{row.put_off_times} times"
    if row.put_off_until is None or row.put_off_until <= as_of.toordinal():
        return [f"It was put off {often} since it was last done."]
    because = f": {row.because.rstrip('.')}" if row.because else ""
    until = spoken(date.fromordinal(row.put_off_until))
    return [f"Put off until {until} ({often} so far){because}."]


def _steps(names: Iterable[str], ruleset: RuleSet | None) -> list[Access]:
    """The access steps of a job and those they include, each once."""
    known = ruleset.access if ruleset else {}
    steps: dict[str, Access] = {}
    wanted = list(names)
    while wanted:
        name = wanted.pop(0)
        if name in known and name not in steps:
            steps[name] = known[name]
            wanted += known[name].includes
    return list(steps.values())


def _parts(row: Due, steps: list[Access]) -> list[str]:
    parts = [*row.rule.parts, *(part for step in steps for part in step.consumes)]
    items = [part.item if part.count == 1 else f"{part.count} x {part.item}" for part in parts]
    return [f"Parts: {', '.join(items)}."] if items else []


def _who(row: Due) -> str:
    return _WHO.get(row.rule.who, f"For: {row.rule.who}.")


def _work(row: Due, steps: list[Access]) -> list[str]:
    lines = _parts(row, steps)
    reach = ", ".join(row.rule.access)
    minutes = sum(step.minutes for step in steps)
    if row.rule.minutes or minutes:
        time = f"Time: {row.rule.minutes} min for the job"
        time += f", {minutes} min to reach it" if minutes else ", to reach it more" if reach else ""
        lines.append(f"{time} ({reach})." if reach else f"{time}.")
    return [*lines, _who(row)]


def _plain_line(line: str) -> str:
    return Moving(plain(line)) if isinstance(line, Moving) else plain(line)


@lru_cache(maxsize=4096)  # most of what events say is the rules', and the same for every engine
def plain(text: str) -> str:
    r"""The text on one line, trimmed, without controls and what else nobody sees.

    A backslash before an n or r becomes a wide one: several calendar programs take `\\n`, which
    is how a feed must write it, for a new line. Names compare the wide one as a plain one.
    """
    if text.isascii() and text.isprintable() and "\\" not in text:
        return text.strip()
    spaced = "".join(" " if char in _BREAKS else char for char in text)
    kept = "".join(
        char
        for char in spaced
        if char not in _UNSEEN and unicodedata.category(char) not in ("Cc", "Cs")
    )
    return _LOOKS_LIKE_A_BREAK.sub("\uff3c", kept).strip()


def _iso_in_words(text: str) -> str:
    try:
        return spoken(date.fromisoformat(text))
    except ValueError:
        return text


def _quoted(name: str) -> str:
    """The name as one word for a shell."""
    if name and all(char.isalnum() or char in "_-." for char in name):
        return name
    if not any(char in '"$`\\!%' for char in name):
        return f'"{name}"'  # understood by every shell
    return "'" + name.replace("'", "'\"'\"'") + "'"


def _hours(hundredths: int | Fraction) -> str:
    return f"{shown(hundredths)} h"


def counted(number: int, thing: str) -> str:
    """The number and the thing, in the plural when it is not one."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
