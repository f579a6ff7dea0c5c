"""The sheet in words: every text that its page, its PDF and the terminal show, in one language."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcare.due.joints import OPENED_WITHIN, STUCK_MINUTES
from fleetcare.rules.rule import Rule
from fleetcare.show.sheet import DONE, GONE, UNRULED, LeftOut, Sheet, SheetJob, Step, Visit
from fleetcare.show.sheet_cautions import general_cautions
from fleetcare.show.sheet_why import BoxText, box_of, follow_up_lines, stop_lines, why_lines
from fleetcare.show.words import ENGLISH, Words


@dataclass(frozen=True, slots=True)
class StepText:
    """An access step: its name and minutes, what it uses up, what to mind where the hand goes."""

    name: str
    minutes: str
    uses: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JobText:
    """A job: what, who, how long, what to mind, why, and the boxes of what was found."""

    task: str
    title: str
    who: str
    level: str
    minutes: str
    cautions: tuple[str, ...]
    parts: str
    torque: str
    why: tuple[str, ...]
    part: str
    boxes: tuple[BoxText, ...]
    stops: tuple[str, ...]
    follow_ups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HoldText:
    """What waits on the engine: a heading and a line a fact."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VisitText:
    """One engine's sheet."""

    number: str
    engine: str
    place: str
    day: str
    work: str
    last_read: str
    metered: bool
    holds: tuple[HoldText, ...]
    parts: str
    steps: tuple[StepText, ...]
    closing: str
    jobs: tuple[JobText, ...]
    looks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetText:
    """The whole sheet."""

    title: str
    summary: str
    as_of: str
    cautions: tuple[str, ...]
    before_all: str
    visits: tuple[VisitText, ...]
    parts: tuple[str, ...]
    left_out: tuple[str, ...]


def sheet_view(sheet: Sheet, words: Words = ENGLISH) -> SheetText:
    """All texts of a sheet."""
    day = weekday(sheet.on, words)
    names = [visit.engine.name for visit in sheet.visits]
    title = (
        words("Work sheet: {engine}, {day}", engine=names[0], day=day)
        if len(names) == 1
        else words("Work sheets for {day}", day=day)
    )
    jobs = sum(len(visit.jobs) for visit in sheet.visits)
    count = words.several("{count} job", "{count} jobs", jobs)
    engines = words.several("{count} engine", "{count} engines", len(names))
    minutes = _with_risk(words("{minutes} min", minutes=sheet.minutes), sheet.risked, words)
    return SheetText(
        title,
        f"{engines}, {count}, {minutes}",
        words("Figures as of {day}.", day=words.day(sheet.as_of)),
        general_cautions(words),
        words(
            "The engine's own handbook, local codes and licensed practice come before everything "
            "on this sheet."
        ),
        tuple(_visit(sheet, visit, words) for visit in sheet.visits),
        tuple(counted(item, count) for item, count in sheet.parts),
        tuple(_left_out(item, words) for item in sheet.left_out),
    )


def weekday(on: date, words: Words) -> str:
    """The day with its weekday: Mon 20 Jul 2026."""
    names = (
        words("Mon"), words("Tue"), words("Wed"), words("Thu"), words("Fri"), words("Sat"),
        words("Sun"),
    )  # fmt: skip
    return f"{names[on.weekday()]} {words.day(on)}"


def counted(item: str, count: int) -> str:
    """So many of an item."""
    return f"{count}\u00a0×\u00a0{item}"


def _visit(sheet: Sheet, visit: Visit, words: Words) -> VisitText:
    where = (
        words("in store") if visit.boat is None
        else words("on {boat}", boat=visit.boat) if not visit.place
        else words("on {boat}, {place}", boat=visit.boat, place=visit.place)
    )  # fmt: skip
    if visit.laid_up:
        where = words("{where}; laid up", where=where)
    reach = sum(step.access.minutes for step in visit.steps)
    work = words("{minutes} min", minutes=visit.minutes)
    if reach:
        work = words(
            "{minutes} min, {reach} of them to reach it", minutes=visit.minutes, reach=reach
        )
    return VisitText(
        visit.number, visit.engine.name, where, weekday(sheet.on, words),
        _with_risk(work, visit.risked, words),
        _last_read(sheet, visit, words), visit.figure is not None, _holds(sheet, visit, words),
        ", ".join(counted(item, count) for item, count in visit.parts),
        tuple(_step(step, words) for step in visit.steps),
        words("Close up in the reverse order. Torque: the maker's handbook."),
        tuple(_job(job, sheet.as_of, words) for job in visit.jobs),
        tuple(_look(rule) for rule in visit.looks),
    )  # fmt: skip


def _with_risk(work: str, risked: int, words: Words) -> str:
    """The minutes, and what the plan allows beside, so that its figures can be found again."""
    if not risked:
        return work
    return words("{work}; {more} min more if it does not come apart", work=work, more=risked)


def _last_read(sheet: Sheet, visit: Visit, words: Words) -> str:
    if visit.figure is None:
        return words("It has no hour meter: log its runs.")
    if visit.figure.value is None or visit.figure.day is None:
        return words("It was never read.")
    day = words.day(date.fromordinal(visit.figure.day), sheet.as_of)
    return words(
        "It last read {hours} h, on {day}.", hours=words.hours(visit.figure.value, 2), day=day
    )


def _holds(sheet: Sheet, visit: Visit, words: Words) -> tuple[HoldText, ...]:
    found, here = [], {job.rule.name for job in visit.jobs}
    for item in visit.standing:
        day = words.day(date.fromordinal(item.day), sheet.as_of)
        what = words("{what}, {day}", what=words.again(item.what), day=day)
        title = (
            words("Must not go out: {what}", what=what) if item.holds
            else words("Waiting: {what}", what=what)
        )  # fmt: skip
        lines = [words("Wanted: {tasks}", tasks=", ".join(item.wanted))] if item.wanted else []
        missing = [task for task in item.wanted if task not in here]
        if missing:
            lines.append(words("Not on this sheet: {tasks}", tasks=", ".join(missing)))
        lines += [words("To be seen: {proof}", proof=item.proof)] if item.proof else []
        lines += [words("Until {what}", what=item.lifts)] if item.lifts else []
        incident = visit.incidents.get(item.incident)
        lines += [incident.caution] if incident is not None and incident.caution else []
        found.append(HoldText(title, tuple(lines)))
    return tuple(found)


def _step(step: Step, words: Words) -> StepText:
    access = step.access
    cautions = access.cautions
    if step.at_risk:
        cautions += (
            words(
                "Not known to have been opened within {months} months: it may not come apart. "
                "Never force it; allow {minutes} min more.",
                months=OPENED_WITHIN, minutes=STUCK_MINUTES,
            ),
        )  # fmt: skip
    uses = ", ".join(counted(part.item, part.count) for part in access.consumes)
    return StepText(
        access.name, words("{minutes} min", minutes=access.minutes),
        words("New: {parts}", parts=uses) if uses else "", cautions,
    )  # fmt: skip


def _job(job: SheetJob, as_of: date, words: Words) -> JobText:
    rule = job.rule
    parts = ", ".join(counted(part.item, part.count) for part in rule.parts)
    apart = bool(rule.access or rule.parts)
    return JobText(
        rule.name, rule.title, who_may(rule.who, words), rule.who,
        words("{minutes} min", minutes=rule.minutes),
        rule.cautions,
        words("Parts: {parts}", parts=parts) if parts else "",
        words("Torque: the maker's handbook") if apart else "",
        tuple(why_lines(job, as_of, words)),
        rule.part if job.conditions else "",
        tuple(box_of(item, words) for item in job.conditions),
        tuple(stop_lines(job.conditions, words)),
        tuple(follow_up_lines(job.conditions, words)),
    )  # fmt: skip


def who_may(who: str, words: Words) -> str:
    """Who may do it unsupervised."""
    known = {
        "anyone": words("Anyone may do it"),
        "trained": words("Trained people only"),
        "workshop": words("A workshop only"),
    }
    return known.get(who, who)


def _look(rule: Rule) -> str:
    return " ".join([f"{rule.title.rstrip('.')}.", *rule.cautions])


def _left_out(item: LeftOut, words: Words) -> str:
    named = f"{item.engine}: {item.task}"
    if item.why == DONE and item.day is not None:
        day = words.day(date.fromordinal(item.day))
        return words("{job}, done on {day} since it was planned", job=named, day=day)
    if item.why == GONE:
        return words("{job}, the engine is retired", job=named)
    if item.why == UNRULED:
        return words("{job}, no job of its rule set any more", job=named)
    return words("{job}, no such engine in the fleet", job=named)
