"""An engine's history on a time line, and its last events in words.

Drawn are, over the same days for every engine: the hours run, with a tick for each reading; a
strip where it was laid up or in store; jobs as ticks below, findings and incidents as ticks above,
and a line from top to bottom for each swap, change of meter and mounting.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from fleetcare.log.history import EngineLog, Meter, Postponed
from fleetcare.show.board_facts import LARGE, Facts
from fleetcare.show.board_ink import Ink, text
from fleetcare.usage.hours import EngineUse
from fleetcare.usage.meter import Hours

WIDE, HIGH = 600, 60  # of the drawing; it is stretched to the room there is
BASE, TOP = 50, 10  # of the line of hours
Event = tuple[int, Callable[[], str]]


@dataclass(frozen=True, slots=True)
class Scale:
    """The days drawn and the hours that reach the top, the same for every engine."""

    first: int
    last: int
    most: float
    events: int
    points: int

    def x(self, day: int) -> int:
        """Across."""
        return round(WIDE * (day - self.first) / max(1, self.last - self.first))

    def y(self, hours: float) -> int:
        """Down."""
        return round(BASE - (BASE - TOP) * min(1.0, hours / self.most))


def scale_of(facts: Facts) -> Scale:
    """Two years back, or one for a large fleet, but not before anything was known."""
    large = len(facts.by_engine) > LARGE
    uses = [facts.carriage.uses[engine] for engine in facts.by_engine]
    since = min((use.since for use in uses), default=facts.today)
    first = max(facts.today - (365 if large else 730), since)
    most = max((float(_ran(use, first, facts.today, facts.today)) for use in uses), default=0.0)
    return Scale(first, facts.today, most or 1.0, *((4, 30) if large else (14, 100)))


def _ran(use: EngineUse, first: int, day: int, known: int) -> Hours:
    return use.hours_to(day, known) - use.hours_to(first, known)


def history_of(engine: str, facts: Facts, scale: Scale, ink: Ink) -> str:
    """The time line and the last events of one engine."""
    words = ink.words
    log, use = facts.history.of(engine), facts.carriage.uses[engine]
    job_days = sorted({mark.day for marks in log.jobs.values() for mark in marks}, reverse=True)
    events: list[Event] = _jobs(log, job_days[: scale.events], ink)
    events += _events(engine, facts, ink)
    told = _last(events, scale.events)
    ran = _ran(use, scale.first, scale.last, scale.last)
    said = words(
        "{hours} h run from {first} to {last}",
        hours=ink.figure(ran, 1), first=ink.day(scale.first), last=ink.day(scale.last),
    )  # fmt: skip
    lines = "".join([f"<li><b>{text(ink.day(day))}</b> {text(what)}" for day, what in told])
    more = len(events) + max(0, len(job_days) - scale.events) - scale.events
    if more > 0:
        lines += f"<li>{text(words('and {count} earlier', count=more))}"
    drawn = _drawn(log, use, job_days, scale, facts)
    return f"<p>{text(said)}</p>{drawn}<ul class=log>{lines}</ul>"


def _last(events: list[Event], most: int) -> list[tuple[int, str]]:
    """The last events in words; those of one day in the same order however they were entered."""
    days = sorted((day for day, _ in events), reverse=True)
    first = days[most - 1] if len(days) >= most else 0
    said = [(day, say()) for day, say in events if day >= first]
    return sorted(said, key=lambda event: (-event[0], event[1]))[:most]


def _drawn(log: EngineLog, use: EngineUse, job_days: list[int], scale: Scale, facts: Facts) -> str:
    """The drawing; what it shows stands beside it in words."""
    out = ""
    for begin, end in use.idle:
        if end >= scale.first and begin <= scale.last:
            x = scale.x(max(begin, scale.first))
            out += f"<path class=q d=M{x},{BASE}H{scale.x(min(end, scale.last))} />"
    out += f"<polyline points='{_hours_line(log, use, scale)}'/>"
    out += _marks("j", job_days, scale, HIGH)
    found = {seen.day for seen in log.seen if _tells(seen.part, seen.condition, facts)}
    out += _marks("f", [*found, *(day for day, _ in log.incidents)], scale, 0)
    swaps = [
        swap.day for swap in facts.history.swaps if use.engine.name in (swap.engine, swap.other)
    ]
    steps = [*swaps, *(meter.day for meter in log.meters), *(day for day, _ in log.places)]
    out += _steps(steps, scale)
    return f'<svg class=line viewBox="0 0 {WIDE} {HIGH}" preserveAspectRatio=none>{out}</svg>'


def _tells(part: str, condition: str, facts: Facts) -> bool:
    known = facts.book.conditions.get(part, {}).get(condition)
    return known is None or known.weight not in ("fine",)


def _hours_line(log: EngineLog, use: EngineUse, scale: Scale) -> str:
    """The line of hours: a corner for each reading, or for each month where they are many."""
    days = [day for day in use.closes.days if scale.first < day < scale.last]
    if len(days) > scale.points:
        days = list({day // 30: day for day in days}.values())
    elif not days:
        days = list(range(scale.first + 30, scale.last, 30))
    begin = use.hours_to(scale.first, scale.last)
    points = []
    for day in [scale.first, *days, scale.last]:
        ran = float(use.hours_to(day, scale.last) - begin)
        points.append(f"{scale.x(day)},{scale.y(ran)}")
    return " ".join(points)


def _marks(kind: str, days: Iterable[int], scale: Scale, y: int) -> str:
    """Marks of one kind as the corners of one path; those that fall on one place are one."""
    places = sorted({scale.x(day) for day in days if scale.first <= day <= scale.last})
    if not places:
        return ""
    steps = ",".join([str(x - before) for before, x in pairwise(places)]) or "0"
    return f"<path class={kind} d=m{places[0]},{y}h{steps} />"


def _steps(days: Iterable[int], scale: Scale) -> str:
    """A line from top to bottom for each day on which something was exchanged."""
    places = sorted({scale.x(day) for day in days if scale.first <= day <= scale.last})
    if not places:
        return ""
    return f"<path class=s d={''.join([f'M{x},0V{HIGH}' for x in places])} />"


# ---- in words


def _jobs(log: EngineLog, days: list[int], ink: Ink) -> list[Event]:
    """What was done on each of the last days with a job; `days` begin with the last."""
    by_day: dict[int, list[str]] = {day: [] for day in days}
    for task, marks in log.jobs.items():
        for mark in reversed(marks):
            if mark.day < days[-1]:
                break
            if task not in by_day[mark.day]:
                by_day[mark.day].append(task)
    return [(day, partial(_done, tasks, ink)) for day, tasks in by_day.items()]


def _done(tasks: list[str], ink: Ink) -> str:
    return ink.words("done: {jobs}", jobs=", ".join(sorted(tasks)))


def _events(engine: str, facts: Facts, ink: Ink) -> Iterator[Event]:
    """What happened beside jobs: the day, and what says it; few of them are ever said."""
    log = facts.history.of(engine)
    for seen in log.seen:
        if _tells(seen.part, seen.condition, facts):
            yield seen.day, partial(_found, f"{seen.part} {seen.condition}", ink)
    for day, kind in log.incidents:
        yield day, partial(str, kind)
    for swap in facts.history.swaps:
        if engine in (swap.engine, swap.other):
            other = swap.other if swap.engine == engine else swap.engine
            yield swap.day, partial(_swap, swap.component, other, ink)
    for meter in log.meters:
        yield meter.day, partial(_meter, meter, ink)
    if log.figure_days:
        yield log.figure_days[-1], partial(_reading, log.figures[-1], ink)
    yield from _whereabouts(log, ink)


def _whereabouts(log: EngineLog, ink: Ink) -> Iterator[Event]:
    for day, boat in log.places:
        yield day, partial(_place, boat, ink)
    for day, mark in log.seasons:
        yield day, partial(_season, mark, ink)
    for item in log.put_offs:
        yield item.day, partial(_put_off, item, ink)


def _found(what: str, ink: Ink) -> str:
    return ink.words("found: {what}", what=what)


def _swap(component: str, other: str, ink: Ink) -> str:
    return ink.words("{component} exchanged with {engine}", component=component, engine=other)


def _reading(figure: int, ink: Ink) -> str:
    return ink.words("last reading: {figure} h", figure=ink.figure(figure, 2))


def _meter(meter: Meter, ink: Ink) -> str:
    words = ink.words
    if meter.new is None:
        return words("the meter stopped at {figure} h", figure=ink.figure(meter.old or 0, 2))
    if meter.old is None:
        return words("a meter fitted, at {figure} h", figure=ink.figure(meter.new, 2))
    return words(
        "another meter: {old} h on the old one, {new} h on the new one",
        old=ink.figure(meter.old, 2), new=ink.figure(meter.new, 2),
    )  # fmt: skip


def _place(boat: str | None, ink: Ink) -> str:
    words = ink.words
    return words("into store") if boat is None else words("mounted on {boat}", boat=boat)


def _season(mark: str, ink: Ink) -> str:
    words = ink.words
    return words("launched") if mark == "launch" else words("laid up")


def _put_off(item: Postponed, ink: Ink) -> str:
    return ink.words(
        "{job} put off to {day}: {because}",
        job=item.task, day=ink.day(item.until), because=item.because,
    )  # fmt: skip
