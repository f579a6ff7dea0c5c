"""Why a job stands on a sheet, and what the words for what was found ask for, in one language."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fleetcare.due.records import CLEAR, NO_RECORD, OVERDUE, Due
from fleetcare.rules.words import Condition
from fleetcare.show.sheet import SheetJob
from fleetcare.show.words import Words

_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")


@dataclass(frozen=True, slots=True)
class BoxText:
    """A box to tick: the condition word as it is typed back, its weight, whether it is counted."""

    word: str
    weight: str
    mark: str
    counted: bool


def why_lines(job: SheetJob, as_of: date, words: Words) -> list[str]:
    """Its status, when it was last done, what skipping it leads to: a sentence each."""
    row = job.row
    lines = []
    if row is not None:
        lines = [_state(row, as_of, words), _last(row, as_of, words)]
        if row.put_off_times:
            lines.append(
                words.several("Put off {count} time.", "Put off {count} times.", row.put_off_times)
            )
    harms = [words(harm) for harm in job.rule.leads_to]
    if harms:
        lines.append(words("Skipping it leads to {harms}.", harms=words.all_of(harms)))
    return lines


def _state(row: Due, as_of: date, words: Words) -> str:
    said = _status(row, as_of, words)
    if row.opened and row.status != CLEAR:
        told = words.again(row.opened)
        why = _ISO_DAY.sub(lambda hit: words.day(date.fromisoformat(hit[0]), as_of), told)
        said = words("{status}: {why}", status=said, why=why)
    if row.life is not None:
        share = words.percent(row.life)
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
        "{hours} h, {days} since then.", hours=words.hours(row.hours_since),
        days=words.several("{count} day", "{count} days", row.days_since),
    )  # fmt: skip
    if row.last_done_on is not None:
        day = words.day(date.fromordinal(row.last_done_on))
        last = (
            words("Last done {day}", day=day) if row.last_done_hours is None
            else words(
                "Last done {day} at {hours} h", day=day,
                hours=words.hours(row.last_done_hours, 2),
            )
        )  # fmt: skip
        unseen = f" ({row.unseen})" if row.unseen else ""
        return f"{last}{unseen}; {since}"
    start = words.day(date.fromordinal(row.clock_start))
    if row.life_used is not None:
        return f"{words('New on {day}', day=start)}; {since}"
    return f"{words('Last done: not known. Here since {day}', day=start)}; {since}"


def box_of(item: Condition, words: Words) -> BoxText:
    """The box of a condition."""
    marks = {"watch": words("watch"), "act": words("act"), "stop": words("STOP")}
    return BoxText(item.word, item.weight, marks.get(item.weight, ""), item.count)


def stop_lines(conditions: Sequence[Condition], words: Words) -> Iterable[str]:
    """What a word that says stop asks for; words that ask for the same share a line."""
    for (tasks, lifts), found in _alike(conditions, "stop").items():
        said = ", ".join(found)
        line = (
            words("STOP, must not go out: {found}. Wanted: {tasks}.", found=said,
                  tasks=", ".join(tasks))
            if tasks else words("STOP, must not go out: {found}.", found=said)
        )  # fmt: skip
        yield f"{line} {words('Until: {what}.', what=lifts)}" if lifts else line


def follow_up_lines(conditions: Sequence[Condition], words: Words) -> Iterable[str]:
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
