"""The sheet in words: every text that its page, its PDF and the terminal show, in one language."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from fleetcare.due.joints import OPENED_WITHIN, STUCK_MINUTES
from fleetcare.due.records import CLEAR, NO_RECORD, OVERDUE, Due
from fleetcare.fleet.figures import shown
from fleetcare.rules.rule import Rule
from fleetcare.rules.words import Condition
from fleetcare.show.sheet import DONE, GONE, UNRULED, LeftOut, Sheet, SheetJob, Step, Visit
from fleetcare.show.sheet_cautions import general_cautions
from fleetcare.show.values import percent
from fleetcare.show.words import ENGLISH, Words

_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")


@dataclass(frozen=True, slots=True)
class StepText:
    """An access step: its name and minutes, what it uses up, what to mind where the hand goes."""

    name: str
    minutes: str
    uses: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BoxText:
    """A box to tick: the condition word as it is typed back, its weight, whether it is counted."""

    word: str
    weight: str
    mark: str
    counted: bool


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
    minutes = words("{minutes} min", minutes=sheet.minutes)
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
        visit.number, visit.engine.name, where, weekday(sheet.on, words), work,
        _last_read(sheet, visit, words), visit.figure is not None, _holds(sheet, visit, words),
        ", ".join(counted(item, count) for item, count in visit.parts),
        tuple(_step(step, words) for step in visit.steps),
        words("Close up in the reverse order. Torque: the maker's handbook."),
        tuple(_job(job, sheet.as_of, words) for job in visit.jobs),
        tuple(_look(rule) for rule in visit.looks),
    )  # fmt: skip


def _last_read(sheet: Sheet, visit: Visit, words: Words) -> str:
    if visit.figure is None:
        return words("It has no hour meter: log its runs.")
    if visit.figure.value is None or visit.figure.day is None:
        return words("It was never read.")
    day = words.day(date.fromordinal(visit.figure.day), sheet.as_of)
    return words("It last read {hours} h, on {day}.", hours=shown(visit.figure.value), day=day)


def _holds(sheet: Sheet, visit: Visit, words: Words) -> tuple[HoldText, ...]:
    found = []
    for item in visit.standing:
        what = item.words(sheet.as_of)
        title = (
            words("Must not go out: {what}", what=what) if item.holds
            else words("Waiting: {what}", what=what)
        )  # fmt: skip
        lines = [words("Wanted: {tasks}", tasks=", ".join(item.wanted))] if item.wanted else []
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
        tuple(_why(job, as_of, words)),
        rule.part if job.conditions else "",
        tuple(_box(item, words) for item in job.conditions),
        tuple(_stops(job.conditions, words)),
        tuple(_follow_ups(job.conditions, words)),
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


# -- why it is due ---------------------------------------------------------------------------------


def _why(job: SheetJob, as_of: date, words: Words) -> list[str]:
    row = job.row
    lines = []
    if row is not None:
        lines = [_state(row, as_of, words), _last(row, as_of, words)]
        if row.put_off_times:
            lines.append(
                words.several("Put off {count} time.", "Put off {count} times.", row.put_off_times)
            )
    if job.rule.leads_to:
        lines.append(words("Skipping it leads to {harms}.", harms=", ".join(job.rule.leads_to)))
    return lines


def _state(row: Due, as_of: date, words: Words) -> str:
    said = _status(row, as_of, words)
    if row.opened and row.status != CLEAR:
        why = _ISO_DAY.sub(lambda hit: words.day(date.fromisoformat(hit[0]), as_of), row.opened)
        said = words("{status}: {why}", status=said, why=why)
    if row.life is not None:
        share = percent(row.life)
        said += ". "
        said += (
            words("{share} of its life is used.", share=share) if row.life_used is not None
            else words("At least {share} of its life is used.", share=share)
        )  # fmt: skip
    return said if said.endswith(".") else f"{said}."


def _status(row: Due, as_of: date, words: Words) -> str:
    def day(of: int) -> str:
        return words.day(date.fromordinal(of), as_of)

    if row.status == OVERDUE:
        since = row.overdue_since
        return words("Overdue since {day}", day=day(since)) if since else words("Overdue")
    if row.status == NO_RECORD:
        return words("No record")
    if row.raised_by_likely_hours:
        return words("Due by the hours it has probably run: take a reading")
    if row.due_on is None:
        return words("Clear") if row.status == CLEAR else words("Due")
    return words("Due {day}", day=day(row.due_on))


def _last(row: Due, as_of: date, words: Words) -> str:
    since = words(
        "{hours} h, {days} since then.", hours=shown(Fraction(row.hours_since), 1),
        days=words.several("{count} day", "{count} days", row.days_since),
    )  # fmt: skip
    if row.last_done_on is not None:
        day = words.day(date.fromordinal(row.last_done_on))
        last = (
            words("Last done {day}", day=day) if row.last_done_hours is None
            else words("Last done {day} at {hours} h", day=day, hours=shown(row.last_done_hours))
        )  # fmt: skip
        unseen = f" ({row.unseen})" if row.unseen else ""
        return f"{last}{unseen}; {since}"
    start = words.day(date.fromordinal(row.clock_start))
    if row.life_used is not None:
        return f"{words('New on {day}', day=start)}; {since}"
    return f"{words('Last done: not known. Here since {day}', day=start)}; {since}"


# -- what was found --------------------------------------------------------------------------------


def _box(item: Condition, words: Words) -> BoxText:
    marks = {"watch": words("watch"), "act": words("act"), "stop": words("STOP")}
    return BoxText(item.word, item.weight, marks.get(item.weight, ""), item.count)


def _stops(conditions: Sequence[Condition], words: Words) -> Iterable[str]:
    """What a word that says stop asks for; words that ask for the same share a line."""
    for (tasks, lifts), found in _alike(conditions, "stop").items():
        said = ", ".join(found)
        line = (
            words("STOP, must not go out: {found}. Wanted: {tasks}.", found=said,
                  tasks=", ".join(tasks))
            if tasks else words("STOP, must not go out: {found}.", found=said)
        )  # fmt: skip
        yield f"{line} {words('Until: {what}.', what=lifts)}" if lifts else line


def _follow_ups(conditions: Sequence[Condition], words: Words) -> Iterable[str]:
    """What the other words ask for."""
    for (tasks, _), found in _alike(conditions, "act").items():
        if tasks:
            yield words(
                "{found}: asks for {tasks}.", found=", ".join(found), tasks=", ".join(tasks)
            )
    undone = [item.word for item in conditions if item.undone]
    if undone:
        yield words("{found}: the job does not count as done.", found=", ".join(undone))
    for twice in dict.fromkeys(item.twice for item in conditions if item.twice is not None):
        yield words(
            "Found again within {days} days: STOP, must not go out. Wanted: {tasks}.",
            days=twice.days, tasks=", ".join(twice.follow_up),
        )  # fmt: skip


def _alike(
    conditions: Sequence[Condition], weight: str
) -> dict[tuple[tuple[str, ...], str], list[str]]:
    found: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for item in conditions:
        if item.weight == weight:
            found.setdefault((item.follow_up, item.lifts), []).append(item.word)
    return found


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
